"""Placing: how well a phrase sits at a bar of a form, from its notes, where it comes to rest, and the form's lines.

- A note counts by what it is over the chord that sounds with it (`chords`), its length and how strong its place in
  the bar is (`bar_pieces`). One that is held while the chord changes counts under each chord. One that rubs but goes
  on by step is a **passing** or **neighbour** note ("Non chord tones", intromusictheory.com, lesson 12).
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
from functools import cache, lru_cache
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.data import read_toml, shipped_text
from reedpath.harmony.bar_pieces import PAUSE, BarPiece, bar_pieces
from reedpath.harmony.chords import Chord, NoteKind, OverChord, over_chord
from reedpath.harmony.forms import Form
from reedpath.phrase import Phrase, bars
from reedpath.pitch import Key

# bars of a line of a form ("Twelve-bar blues", Wikipedia: three lines of four bars)
LINE_BARS = 4
# bars of a turnaround, the last of a form; common practice, no source
TURNAROUND_BARS = 2
# kinds of notes that rub on nothing
SETTLED = frozenset({NoteKind.CHORD, NoteKind.BLUE, NoteKind.TENSION})

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
    text = shipped_text("reedpath.harmony", file)
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
    bar : bar of the form, from 1; past its end where the phrase goes round again.
    beats : where in the bar it is heard first, quarter notes from the bar line.
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


def form_key(form: Form, key: Key) -> Key:
    """The key in which a form is played for a phrase in a key: of the form's own mode, where it has one."""
    return key if form.mode == "any" else Key(key.tonic, form.mode)


@cache
def _chords(form: Form, key: Key) -> tuple[tuple[Chord, ...], ...]:
    """The chords of each bar of a form."""
    return tuple(form.chords_of_bar(bar, key) for bar in range(len(form.bars)))


@lru_cache(maxsize=4096)
def _over(midi: int, chord: Chord, key: Key) -> OverChord:
    return over_chord(midi, chord, key)


def _heard(
    pieces: Sequence[BarPiece], chords: Sequence[Sequence[Chord]], key: Key, first_bar: int
) -> Iterator[NoteHeard]:
    """The notes of pieces over the chords of a form, the first whole bar of the phrase in a bar of it."""
    worths, length = _numbers().note, len(chords)

    def chord_of(piece: BarPiece) -> Chord:
        return chords[(first_bar + piece.bar - 2) % length][piece.part]

    for piece in pieces:
        chord, passes, bar = chord_of(piece), False, first_bar + piece.bar - 1
        if piece.goes_to is not None:
            then = pieces[piece.goes_to]
            passes = _over(then.midi[-1] % 12, chord_of(then), key).kind in SETTLED
        for midi in piece.midi:
            over = _over(midi % 12, chord, key)
            worth = max(worths[over.kind], worths["passing"]) if passes else worths[over.kind]
            yield NoteHeard(
                piece.event, midi, bar if bar > 0 else bar + length, piece.beats, piece.beat, chord, over,
                piece.strength, piece.weight, Fraction(worth), piece.rests,
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


class _PhraseInBars:
    """A phrase laid out in bars: its pieces for each way in which its bars are shared by chords, made once."""

    def __init__(self, phrase: Phrase) -> None:
        self.phrase, self.count = phrase, core_bars(phrase)
        self.numbers = [bar.number for bar in bars(phrase)]
        self._pieces: dict[tuple[int, ...], tuple[BarPiece, ...]] = {}

    def placed(self, form: Form, key: Key, bar: int) -> FormPlace:
        """The phrase at a bar of a form, in the key that the form is played in."""
        chords, length, count = _chords(form, key), len(form.bars), self.count
        under = [chords[(bar + number - 2) % length] for number in self.numbers]
        parts = tuple(len(one) for one in under)
        if parts not in self._pieces:
            self._pieces[parts] = bar_pieces(self.phrase, parts, _numbers().strength)
        notes = tuple(_heard(self._pieces[parts], chords, key, bar))
        shares, line = _numbers().share, _line_place(form, bar, count)
        notes_share = _mean([(note.worth, note.weight) for note in notes])
        rest_share = _mean([(_rest_worth(note), Fraction(1)) for note in notes if note.rests])
        total = notes_share * shares["notes"] + rest_share * shares["rest"] + _numbers().line[line] * shares["line"]
        core = [
            chord for number, one in zip(self.numbers, under, strict=True) for chord in one if 1 <= number <= count
        ]
        ends = bar + count - 1 == length and count <= TURNAROUND_BARS and length >= 2 * LINE_BARS
        return FormPlace(
            form.name, bar, count, _told_once(core), (bar - 2) % length + 1 if self.phrase.pickup else None, notes,
            line, ends and bar > length - TURNAROUND_BARS, notes_share, rest_share, total / 100,
        )  # fmt: skip


def placed(phrase: Phrase, form: Form, key: Key, bar: int) -> FormPlace:
    """
    A phrase at a bar of a form, from 1.

    phrase : as it sounds (`performed`).
    key : of the music; the form is played in its own mode (`form_key`).
    """
    return _PhraseInBars(phrase).placed(form, form_key(form, key), bar)


def form_places(phrase: Phrase, form: Form, key: Key) -> tuple[FormPlace, ...]:
    """A phrase at every bar of a form at which it ends with the form or before, best first, then the earliest.

    One that is longer than the form begins with it and goes round.
    """
    laid, own = _PhraseInBars(phrase), form_key(form, key)
    last = max(1, len(form.bars) - laid.count + 1)
    found = [laid.placed(form, own, bar) for bar in range(1, last + 1)]
    return tuple(sorted(found, key=lambda place: (-place.total, place.bar)))


def proposed_bars(places: Sequence[FormPlace]) -> tuple[FormPlace, ...]:
    """
    The places of one form at which a phrase is best played, in the order of the form, none overlapping another.

    All at which a line begins with it and it sits well; where there is none, the best place alone.

    places : as `form_places` gives them.
    """
    starts = [one for one in places if one.line is LinePlace.START and one.rating is Rating.GOOD]
    kept: list[FormPlace] = []
    for one in sorted(starts, key=lambda place: place.bar):
        if not kept or kept[-1].last_bar < one.bar:
            kept.append(one)
    return tuple(kept) or tuple(places[:1])
