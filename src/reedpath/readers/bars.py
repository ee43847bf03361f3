"""Bars: a staff as a source writes it, before repeats, ties and chords are worked out.

What sources with bar lines (MusicXML, ABC) have in common; a reader makes bars, `build_phrase` a phrase.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct, field
from msgspec.structs import replace

from reedpath.errors import NOWHERE, Place
from reedpath.phrase import MOST_METRE_COUNT, Ornaments, Part


class Note(Struct, frozen=True):
    """One note head.

    onset : beats from the start of its bar; once bars are laid one after another, of the phrase.
    duration : beats, over 0.
    midi : MIDI number; for a bent string that of the fretted note.
    cents : deviation from it.
    fifths : how it and its grace notes are spelt, as `Event.fifths`.
    ornaments : all but bends, slides already as MIDI numbers.
    pre_bend : semitones by which the string is bent before it is struck.
    bends : semitones, in the order in which the string is bent (over 0) and let go (under 0).
    tied_on : whether the sound goes on in the next note of this voice and pitch.
    voice : ties are looked for in one voice.
    place : where the source has it, if that can be said nearer than by its bar.
    """

    onset: Fraction
    duration: Fraction
    midi: int
    cents: float = 0.0
    fifths: tuple[int, ...] = ()
    ornaments: Ornaments = Ornaments()
    pre_bend: Fraction = Fraction(0)
    bends: tuple[Fraction, ...] = ()
    tied_on: bool = False
    voice: str = ""
    place: Place = NOWHERE


class OrderSigns(Struct, frozen=True):
    """What a bar says about the order of playing.

    starts : a repeated section starts here.
    times : over 1 when a repeated section ends here: how often it is played in all.
    endings : numbers of the times at which this bar is played; empty for always.
    segno, coda : these signs stand at the start of the bar.
    da_capo, dal_segno, to_coda, fine : these stand at its end.
    """

    starts: bool = False
    times: int = 1
    endings: frozenset[int] = frozenset()
    segno: bool = False
    coda: bool = False
    da_capo: bool = False
    dal_segno: bool = False
    to_coda: bool = False
    fine: bool = False

    @property
    def jumps(self) -> bool:
        """Whether playing leaves this bar for another place than a repeat's start or the next bar."""
        return self.da_capo or self.dal_segno

    def with_sign(self, name: str) -> OrderSigns:
        """The same with one more sign, by the name of its field."""
        return replace(self, **{name: True})


class WrittenBar(Struct, frozen=True):
    """One bar.

    place : of the bar in the source.
    length : beats that its notes and rests take.
    notes : in any order.
    metre : count and unit in force; None where the music is free of metre.
    tempos : onsets in the bar and quarter notes a minute.
    labels : onsets in the bar and names of the parts that start there.
    signs : what it says about the order of playing.
    """

    place: Place
    length: Fraction
    notes: tuple[Note, ...] = ()
    metre: tuple[int, int] | None = None
    tempos: tuple[tuple[Fraction, float], ...] = ()
    labels: tuple[tuple[Fraction, str], ...] = ()
    signs: OrderSigns = field(default_factory=OrderSigns)

    @property
    def is_short(self) -> bool:
        """Whether it does not fill its metre."""
        return self.metre is not None and self.length < Fraction(4 * self.metre[0], self.metre[1])


def metre_of_length(length: Fraction, units: Iterable[int]) -> tuple[int, int] | None:
    """Count and unit of a bar of so many beats, in the first unit that can say it; None where none can."""
    for unit in units:
        count = length * unit / 4
        if count.denominator == 1 and 0 < count <= MOST_METRE_COUNT:
            return int(count), unit
    return None


def parts_between(labels: Sequence[tuple[Fraction, str]], end: Fraction) -> tuple[Part, ...]:
    """Parts from each label to the next, and from the last to an end, those without length left out."""
    ends = [*(onset for onset, _ in labels[1:]), end]
    spans = zip(labels, ends, strict=False)  # without labels there is one end too many
    return tuple(Part(label, onset, end) for (onset, label), end in spans if end > onset)
