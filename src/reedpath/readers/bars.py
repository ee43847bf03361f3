"""Bars: a staff as a source writes it, before repeats, ties and chords are worked out.

What sources with bar lines (MusicXML, ABC) have in common; a reader makes bars, `build_phrase` a phrase.
"""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct, field

from reedpath.errors import NOWHERE, Place
from reedpath.phrase import Ornaments

__all__ = ["PLAIN", "Note", "OrderSigns", "WrittenBar"]

# a note to which nothing is done
PLAIN = Ornaments()


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
    ornaments: Ornaments = PLAIN
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
