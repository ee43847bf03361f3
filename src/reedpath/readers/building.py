"""From bars to a phrase: repeats folded or unfolded, bar lines checked, labels made parts.

Plain repeats stay folded (`Phrase.repeats`); where there are endings, or jumps to a sign, the bars are written
out in the order in which they are played. A bar whose notes do not fill its metre keeps its notes' time and
gets a metre of its own, which the phrase's ``left_out`` says; a first short bar is a pickup, and two short bars
on the two sides of a repeat sign make one full bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import Place, ReadError
from reedpath.phrase import COMMON_TIME, MOST_METRE_COUNT, Metre, Part, Phrase, Repeat, Tempo
from reedpath.pitch import Key, near_signature
from reedpath.readers.bars import Note, WrittenBar, metre_of_length, parts_between
from reedpath.readers.limits import Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.playing_order import playing_order
from reedpath.readers.ties_and_bends import sounding_events

# the shortest note in which a metre is written; MusicXML and ABC know shorter ones, metres do not use them
_SHORTEST_UNIT = 64
# quarter notes: whole notes of the largest metre; a longer bar is a slip of the pen, and would be thousands of bars
_LONGEST_BAR = 4 * MOST_METRE_COUNT
# parts of a beat; ours: every mix of customary tuplets divides into fewer
_FINEST_DIVISION = 2**40


class Heading(Struct, frozen=True):
    """What a source says of the whole: see the fields of `Phrase`."""

    title: str = ""
    key: Key | None = None
    swing: Fraction = Fraction(1)


def _full(metre: tuple[int, int]) -> Fraction:
    return Fraction(4 * metre[0], metre[1])


class _Timeline:
    """Bars laid one after another, and what is read off them."""

    def __init__(self, bars: Sequence[WrittenBar], omissions: Omissions) -> None:
        self.bars = bars
        self.omissions = omissions
        self.starts: list[Fraction] = []
        onset = Fraction(0)
        for bar in bars:
            self.starts.append(onset)
            onset += bar.length
            if onset.denominator > _FINEST_DIVISION:
                raise ReadError("readers.no_common_division", where=bar.place)
        self.end = onset

    @property
    def pickup(self) -> Fraction:
        return self.bars[0].length if len(self.bars) > 1 and self.bars[0].is_short else Fraction(0)

    def notes(self) -> list[Note]:
        """All notes, with onsets from the beginning of the phrase."""
        return [
            replace(note, onset=start + note.onset, place=note.place or bar.place)
            for start, bar in zip(self.starts, self.bars, strict=True)
            for note in bar.notes
        ]

    def _is_whole(self, index: int) -> bool:
        """Whether a bar needs no metre of its own."""
        bar = self.bars[index]
        if bar.metre is None:
            return False
        full = _full(bar.metre)
        is_edge = index in (0, len(self.bars) - 1)
        return bar.length == full or (is_edge and bar.length < full)

    def _makes_one_with_next(self, index: int) -> bool:
        if index + 1 >= len(self.bars):
            return False
        one, two = self.bars[index], self.bars[index + 1]
        if one.metre is None or one.metre != two.metre:
            return False
        return one.length + two.length == _full(one.metre)

    def _ends_short(self, index: int, full: Fraction) -> bool:
        """Whether a bar, cut into bars of that length, leaves a short one."""
        length = self.bars[index].length
        return length > full and length % full != 0

    def _own_metre(self, index: int) -> tuple[int, int] | None:
        bar = self.bars[index]
        own = metre_of_length(bar.length, (bar.metre[1] if bar.metre else 4, 4, 8, 16, 32, _SHORTEST_UNIT))
        if bar.length > _LONGEST_BAR:
            raise ReadError("readers.bar_too_long", where=bar.place, beats=bar.length, most=_LONGEST_BAR)
        count, unit = bar.metre or COMMON_TIME.signature
        if own is None and bar.length * _SHORTEST_UNIT > 4 * MOST_METRE_COUNT:
            self.omissions.note("long-bar", bar.place, metre=f"{count}/{unit}", beats=str(bar.length))
            return count, unit
        if bar.metre:
            self.omissions.note("own-metre", bar.place, metre=f"{count}/{unit}", beats=str(bar.length))
        return own or bar.metre

    def metres(self) -> tuple[Metre, ...]:
        metres: list[Metre] = []
        index, is_cut = 0, False
        while index < len(self.bars):
            step = 1
            if self._is_whole(index):
                metre = self.bars[index].metre
            elif self._makes_one_with_next(index):
                metre, step = self.bars[index].metre, 2
            else:
                metre = self._own_metre(index)
            # after a bar that is cut into several, the last of them short, bars are counted anew
            if metre and (is_cut or not metres or metres[-1].signature != metre):
                metres.append(Metre(self.starts[index], *metre))
            is_cut = metre is not None and self._ends_short(index, _full(metre))
            index += step
        return tuple(metres)

    def tempos(self) -> tuple[Tempo, ...]:
        tempos: list[Tempo] = []
        for start, bar in zip(self.starts, self.bars, strict=True):
            for onset, bpm in sorted(bar.tempos):
                if tempos and tempos[-1].onset == start + onset:
                    tempos.pop()
                if not tempos or tempos[-1].bpm != bpm:
                    tempos.append(Tempo(start + onset, bpm))
        if tempos:  # the first one named holds before its place too
            tempos[0] = Tempo(Fraction(0), tempos[0].bpm)
        return tuple(tempos)

    def parts(self) -> tuple[Part, ...]:
        labels = [
            (start + onset, label)
            for start, bar in zip(self.starts, self.bars, strict=True)
            for onset, label in sorted(bar.labels, key=lambda each: each[0])
        ]
        return parts_between(labels, self.end)

    def repeats(self) -> tuple[Repeat, ...]:
        repeats: list[Repeat] = []
        since = Fraction(0)
        for start, bar in zip(self.starts, self.bars, strict=True):
            if bar.signs.starts:
                since = start
            if bar.signs.times > 1:
                end = start + bar.length
                if end > since:
                    repeats.append(Repeat(since, end, bar.signs.times))
                since = end
        return tuple(repeats)


def _with_state(bars: Sequence[WrittenBar]) -> list[WrittenBar]:
    """Bars that say the tempo in force at their start, so that they may be played in any order."""
    stated, bpm = [], None
    for bar in bars:
        tempos = bar.tempos
        if bpm is not None and not any(onset == 0 for onset, _ in tempos):
            tempos = ((Fraction(0), bpm), *tempos)
        if tempos:
            bpm = max(tempos)[1]
        stated.append(replace(bar, tempos=tempos))
    return stated


def _with_numbers(bars: Sequence[WrittenBar]) -> list[WrittenBar]:
    """Bars whose notes know the number of their bar, so that it is known in whatever order they are played."""
    has_pickup = len(bars) > 1 and bars[0].is_short
    numbered = []
    for number, bar in enumerate(bars, start=0 if has_pickup else 1):
        place = bar.place if bar.place.bar is not None else bar.place.inside(Place(bar=number))
        notes = tuple(replace(note, place=(note.place or place).inside(Place(bar=place.bar))) for note in bar.notes)
        numbered.append(replace(bar, place=place, notes=notes))
    return numbered


def _must_unfold(bars: Sequence[WrittenBar]) -> bool:
    """Whether repeats alone would not say how the bars are played."""
    return any(bar.signs.endings or bar.signs.jumps for bar in bars)


def build_phrase(
    bars: Sequence[WrittenBar],
    heading: Heading,
    *,
    limits: Limits,
    omissions: Omissions,
    order: Sequence[int] | None = None,
) -> Phrase:
    """The phrase that bars make; a phrase without events when they hold none.

    order : indexes of the bars as they are played, where the source says it otherwise than by signs.
    """
    limits.check("bars", len(bars), what="bars")
    if order is None and _must_unfold(bars):
        order = playing_order([bar.signs for bar in bars], limits=limits)
    if order is None:
        line = _Timeline(bars, omissions)
    else:
        stated = _with_numbers(_with_state(bars))
        line = _Timeline([stated[index] for index in order], omissions)
    if line.end > 4 * limits.bars:
        raise ReadError("readers.too_long", beats=round(line.end), most=4 * limits.bars)
    notes = line.notes()
    limits.check("events", len(notes), what="notes-with-repeats")
    events = sounding_events(notes, omissions)
    spelt = near_signature([event.fifths for event in events], heading.key)
    events = tuple(replace(event, fifths=fifths) for event, fifths in zip(events, spelt, strict=True))
    return Phrase(
        events=events,
        title=heading.title,
        metres=line.metres(),
        tempos=line.tempos(),
        key=heading.key,
        swing=heading.swing,
        pickup=line.pickup if line.bars else Fraction(0),
        parts=line.parts(),
        repeats=line.repeats() if order is None else (),
        left_out=omissions.left_out(),
    )
