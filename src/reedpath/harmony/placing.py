"""Placing: how well a phrase sits at a bar of a form, from its notes, where it comes to rest, and the form's lines.

- A note counts by what it is over the chord that sounds with it (`chords`), its length and how strong its place in
  the bar is. One that is held while the chord changes counts under each chord; one struck up to half a beat before
  the change and held over it is an **anticipation** and belongs to the chord that comes ("Non chord tones",
  intromusictheory.com, lesson 12). One that rubs but goes on by step is a **passing** or **neighbour** note (the
  same).
- It comes to **rest** on its last note, and before every pause of a beat or more.
- Forms have **lines** of four bars, each a call of about two bars and an answer of two (AAB; "Twelve-bar blues",
  Wikipedia). A phrase sits where a line begins, or as the answer in its second half.

All is exact: per cent as fractions. Moving phrase and key together changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.data import read_toml
from reedpath.harmony.chords import Chord, NoteKind, OverChord, over_chord
from reedpath.harmony.forms import Form
from reedpath.phrase import Bar, Event, Phrase, bars, beat_of
from reedpath.pitch import Key

__all__ = [
    "FormPlace",
    "LinePlace",
    "NoteHeard",
    "Rating",
    "core_bars",
    "form_key",
    "form_places",
    "placed",
    "proposed_bars",
]

# bars of a line of a form ("Twelve-bar blues", Wikipedia: three lines of four bars)
LINE_BARS = 4
# bars of a turnaround, the last of a form; common practice, no source
TURNAROUND_BARS = 2
# beats (quarter notes): what is struck no longer before a chord and held over it anticipates it; a gap from which on
# a phrase comes to rest; the longest note that passes; common practice, no source
ANTICIPATED, PAUSE, PASSING = Fraction(1, 2), Fraction(1), Fraction(1)
# semitones of the widest step; definition
WIDEST_STEP = 2

PerCent = Annotated[int, Meta(ge=0, le=100)]


class PlacingNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """The numbers of `placing.toml`, per cent by name."""

    note: Mapping[str, PerCent]
    rest: Mapping[str, PerCent]
    strength: Mapping[str, PerCent]
    line: Mapping[str, PerCent]
    share: Mapping[str, PerCent]
    rating: Mapping[str, PerCent]


@cache
def _numbers() -> PlacingNumbers:
    file = "placing.toml"
    text = (files("reedpath.harmony") / file).read_text(encoding="utf-8")
    return read_toml(text, PlacingNumbers, file=file)


class LinePlace(StrEnum):
    """Where in the lines of its form a phrase begins."""

    START = "start"
    HALF = "half"
    INSIDE = "inside"
    ACROSS = "across"


class Rating(StrEnum):
    """How well a phrase sits somewhere, in a word."""

    GOOD = "good"
    FAIR = "fair"
    POOR = "poor"


@dataclass(frozen=True, slots=True)
class NoteHeard:
    """A note of a phrase over one chord.

    event : index of its event in the phrase. midi : MIDI number.
    bar : bar of the form, from 1. beats : where in the bar it is heard first, quarter notes from the bar line.
    beat : the same as counted, from 1; None off the beat.
    chord, over : the chord under it, and what it is there.
    strength : of its place in the bar, per cent. weight : strength times length in quarter notes.
    worth : per cent. rests : whether the phrase comes to rest on it.
    """

    event: int
    midi: int
    bar: int
    beats: Fraction
    beat: int | None
    chord: Chord
    over: OverChord
    strength: Fraction
    weight: Fraction
    worth: Fraction
    rests: bool


@dataclass(frozen=True, slots=True)
class FormPlace:
    """A phrase at a bar of a form.

    form : name. bar : of the form, from 1, in which the phrase's first whole bar falls.
    bars : how many bars it takes there (`core_bars`).
    chords : what sounds under it, in order, a chord that goes on told once.
    pickup_bar : bar of the form that its pickup falls in, None without one.
    notes : its notes over their chords.
    line : where in the form's lines it begins. is_turnaround : whether it takes the form's last two bars.
    notes_share, rest_share, total : per cent, the last over all.
    """

    form: str
    bar: int
    bars: int
    chords: tuple[Chord, ...]
    pickup_bar: int | None
    notes: tuple[NoteHeard, ...]
    line: LinePlace
    is_turnaround: bool
    notes_share: Fraction
    rest_share: Fraction
    total: Fraction

    @property
    def last_bar(self) -> int:
        """The last bar of the form that it takes; past the form's end where it goes round again."""
        return self.bar + self.bars - 1

    @property
    def rating(self) -> Rating:
        """How well the phrase sits here; never well where it ends on a note that rubs or runs into the next line."""
        bounds, last = _numbers().rating, self.rest
        ends_well = last is None or _rest_worth(last) >= _numbers().rest[NoteKind.TENSION]
        if self.total >= bounds[Rating.GOOD] and ends_well and self.line is not LinePlace.ACROSS:
            return Rating.GOOD
        return Rating.FAIR if self.total >= bounds[Rating.FAIR] else Rating.POOR

    @property
    def rest(self) -> NoteHeard | None:
        """The note that the phrase ends on, the highest of those struck together; None for an empty phrase."""
        return max((one for one in self.notes if one.rests), key=lambda one: (one.event, one.midi), default=None)

    @property
    def telling(self) -> NoteHeard | None:
        """The chord's note in the strongest place that tells more than the last note does; None for none."""
        last = self.rest
        known = None if last is None else (last.over, last.chord)
        strong = [
            one for one in self.notes
            if one.over.kind is NoteKind.CHORD and one.beat is not None and (one.over, one.chord) != known
        ]  # fmt: skip
        return max(strong, key=lambda one: (one.strength, one.weight, -one.event), default=None)

    @property
    def rubbing(self) -> NoteHeard | None:
        """The weightiest note that rubs and does not pass on; None where there is none."""
        limit = _numbers().note[NoteKind.BLUE_RUB]
        rubs = [one for one in self.notes if one.over.degree and one.worth <= limit]
        return max(rubs, key=lambda one: (one.weight, -one.event), default=None)


@dataclass(frozen=True, slots=True)
class _ChordSpan:
    """A chord under a phrase, in its beats; ``whole`` is the onset of the whole bar that it stands in."""

    onset: Fraction
    end: Fraction
    chord: Chord
    bar: int
    of: Bar
    whole: Fraction


def form_key(form: Form, key: Key) -> Key:
    """The key in which a form is played for a phrase in a key: of the form's own mode, where it has one."""
    return key if form.mode == "any" else Key(key.tonic, form.mode)


def _spans(phrase: Phrase, form: Form, key: Key, first_bar: int) -> list[_ChordSpan]:
    spans = []
    for bar in bars(phrase):
        place = first_bar + bar.number - 2
        chords = form.chords_of_bar(place, key)
        whole = bar.end - bar.metre.bar if bar.number == 0 else bar.onset
        for index, chord in enumerate(chords):
            start = whole + bar.metre.bar * Fraction(index, len(chords))
            end = whole + bar.metre.bar * Fraction(index + 1, len(chords))
            start, end = max(start, bar.onset), min(end, bar.end)
            if end > start:
                spans.append(_ChordSpan(start, end, chord, place % len(form.bars) + 1, bar, whole))
    return spans


def _strength(beats: Fraction, bar: Bar) -> Fraction:
    """How strong a place in a bar is, per cent."""
    names, length, beat = _numbers().strength, bar.metre.bar, beat_of(bar.metre)
    if beats == 0:
        return Fraction(names["first"])
    if beats * 2 == length and (length / beat) % 2 == 0:
        return Fraction(names["middle"])
    return Fraction(names["beat" if beats % beat == 0 else "off"])


def _pieces(event: Event, spans: Sequence[_ChordSpan]) -> list[tuple[_ChordSpan, Fraction, Fraction]]:
    """The chords under an event, each from when on and for how many beats."""
    over = [
        (span, max(span.onset, event.onset), min(span.end, event.end) - max(span.onset, event.onset))
        for span in spans
        if span.onset < event.end and event.onset < span.end
    ]
    if len(over) > 1 and over[0][2] <= ANTICIPATED and over[0][2] < over[1][2]:
        early, (span, onset, beats) = over.pop(0), over[0]
        over[0] = (span, onset, beats + early[2])
    return over


def _rests(phrase: Phrase) -> frozenset[int]:
    """Indexes of the events that a phrase comes to rest on."""
    events = phrase.events
    before_pauses = {index for index, (one, then) in enumerate(pairwise(events)) if then.onset - one.end >= PAUSE}
    return frozenset(before_pauses | ({len(events) - 1} if events else set()))


def _passes(phrase: Phrase, index: int, spans: Sequence[_ChordSpan], key: Key) -> bool:
    """Whether an event goes on by step, without a pause, to a note that rubs on nothing."""
    if index + 1 >= len(phrase.events):
        return False
    event, then = phrase.events[index : index + 2]
    if event.duration > PASSING or then.onset - event.end >= PAUSE:
        return False
    chord = _pieces(then, spans)[0][0].chord
    settled = {NoteKind.CHORD, NoteKind.BLUE, NoteKind.TENSION}
    return (
        0 < abs(then.midi[-1] - event.midi[-1]) <= WIDEST_STEP
        and over_chord(then.midi[-1], chord, key).kind in settled
    )


def _heard(phrase: Phrase, spans: Sequence[_ChordSpan], key: Key) -> Iterator[NoteHeard]:
    worths, resting = _numbers().note, _rests(phrase)
    for index, event in enumerate(phrase.events):
        passes = index not in resting and _passes(phrase, index, spans, key)
        pieces = _pieces(event, spans)
        longest = max(range(len(pieces)), key=lambda place: (pieces[place][2], -place))
        for place, (span, onset, beats) in enumerate(pieces):
            at = onset - span.whole
            strength, beat = _strength(at, span.of), beat_of(span.of.metre)
            for midi in event.midi:
                over = over_chord(midi, span.chord, key)
                worth = max(worths[over.kind], worths["passing"]) if passes else worths[over.kind]
                yield NoteHeard(
                    index, midi, span.bar, at, int(at / beat) + 1 if at % beat == 0 else None, span.chord, over,
                    strength, strength * beats / len(event.midi), Fraction(worth),
                    index in resting and place == longest,
                )  # fmt: skip


def _rest_worth(note: NoteHeard) -> Fraction:
    return Fraction(_numbers().rest[note.over.degree if note.over.kind is NoteKind.CHORD else note.over.kind])


def _mean(pairs: Sequence[tuple[Fraction, Fraction]]) -> Fraction:
    """Mean of worths by their weights; 100 for none."""
    whole = sum((weight for _, weight in pairs), Fraction(0))
    return sum((worth * weight for worth, weight in pairs), Fraction(0)) / whole if whole else Fraction(100)


def core_bars(phrase: Phrase) -> int:
    """Bars that a phrase takes, at least 1; a short last note that falls on the bar line after them is left out."""
    whole = [bar for bar in bars(phrase) if bar.number > 0]
    ends_on_line = bool(phrase.events) and phrase.events[-1].duration <= PAUSE
    reached = [bar for bar in whole if not (ends_on_line and bar.onset == phrase.events[-1].onset)]
    return max(1, len(reached))


def _line_place(form: Form, bar: int, count: int) -> LinePlace:
    length = LINE_BARS if len(form.bars) % LINE_BARS == 0 else len(form.bars)
    place = (bar - 1) % length
    if place == 0:
        return LinePlace.START
    if place + count > length:
        return LinePlace.ACROSS
    return LinePlace.HALF if place * 2 == length else LinePlace.INSIDE


def _told_once(chords: Sequence[Chord]) -> tuple[Chord, ...]:
    return tuple(one for place, one in enumerate(chords) if place == 0 or chords[place - 1] != one)


def placed(phrase: Phrase, form: Form, key: Key, bar: int) -> FormPlace:
    """
    A phrase at a bar of a form, from 1.

    Parameters
    ----------
    phrase : as it sounds (`performed`).
    key : of the music; the form is played in its own mode (`form_key`).
    """
    key, shares = form_key(form, key), _numbers().share
    spans, count = _spans(phrase, form, key, bar), core_bars(phrase)
    notes = tuple(_heard(phrase, spans, key))
    notes_share = _mean([(note.worth, note.weight) for note in notes])
    rest_share = _mean([(_rest_worth(note), Fraction(1)) for note in notes if note.rests])
    line = _line_place(form, bar, count)
    total = notes_share * shares["notes"] + rest_share * shares["rest"] + _numbers().line[line] * shares["line"]
    core = [span.chord for span in spans if 1 <= span.of.number <= count]
    length = len(form.bars)
    ends = bar + count - 1 == length and count <= TURNAROUND_BARS and length >= 2 * LINE_BARS
    return FormPlace(
        form.name, bar, count, _told_once(core), (bar - 2) % length + 1 if phrase.pickup else None, notes, line,
        ends and bar > length - TURNAROUND_BARS, notes_share, rest_share, total / 100,
    )  # fmt: skip


def form_places(phrase: Phrase, form: Form, key: Key) -> tuple[FormPlace, ...]:
    """A phrase at every bar of a form at which it ends with the form or before, best first, then the earliest.

    One that is longer than the form begins with it and goes round.
    """
    count = core_bars(phrase)
    found = [placed(phrase, form, key, bar) for bar in range(1, max(1, len(form.bars) - count + 1) + 1)]
    return tuple(sorted(found, key=lambda place: (-place.total, place.bar)))


def proposed_bars(places: Sequence[FormPlace]) -> tuple[FormPlace, ...]:
    """
    The places of one form at which a phrase is best played, in the order of the form, none overlapping another.

    All at which a line begins with it and it sits well; where there is none, the best place alone.

    Parameters
    ----------
    places : as `form_places` gives them.
    """
    starts = [one for one in places if one.line is LinePlace.START and one.rating is Rating.GOOD]
    kept: list[FormPlace] = []
    for one in sorted(starts, key=lambda place: place.bar):
        if not kept or kept[-1].last_bar < one.bar:
            kept.append(one)
    return tuple(kept) or tuple(places[:1])
