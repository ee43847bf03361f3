"""Accidentals: which notes show one, given the signature and what the bar has shown before."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedpath.page.score.spelling import Spelled
from reedpath.pitch import LETTERS_BY_FIFTHS

__all__ = ["Accidentals", "signature_alters"]

# MusicXML's names by alteration in semitones (MusicXML 4.0, accidental-value)
NAMES = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


def signature_alters(fifths: int) -> dict[str, int]:
    """Alteration of each letter that a signature changes.

    >>> signature_alters(2), signature_alters(-1)
    ({'F': 1, 'C': 1}, {'B': -1})
    """
    return (
        dict.fromkeys(LETTERS_BY_FIFTHS[:fifths], 1) if fifths >= 0 else dict.fromkeys(LETTERS_BY_FIFTHS[fifths:], -1)
    )


@dataclass(slots=True)
class Accidentals:
    """The accidentals in force within one bar."""

    fifths: int
    shown: dict[tuple[str, int], int] = field(default_factory=dict)

    def show(self, pitch: Spelled) -> str | None:
        """The accidental to show before a note, None where the signature or the bar has said it."""
        place = (pitch.letter, pitch.octave)
        in_force = self.shown.get(place, signature_alters(self.fifths).get(pitch.letter, 0))
        self.shown[place] = pitch.alter
        return None if in_force == pitch.alter else NAMES[pitch.alter]
