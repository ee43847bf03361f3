"""Chords by their place in a key, as blues players say them: "I7", "IV7", "bVIm7"."""

from __future__ import annotations

import re
from dataclasses import dataclass

from reedpath.errors import SettingsError
from reedpath.pitch import Key

__all__ = ["Chord", "parse_chord"]

# semitones above the tonic of each numeral of the major scale
NUMERALS = {"I": 0, "II": 2, "III": 4, "IV": 5, "V": 7, "VI": 9, "VII": 11}
# semitones above the root of each kind of chord (any handbook of harmony)
KINDS = {
    "": (0, 4, 7),
    "6": (0, 4, 7, 9),
    "7": (0, 4, 7, 10),
    "9": (0, 4, 7, 10, 14),
    "m": (0, 3, 7),
    "m7": (0, 3, 7, 10),
}
# the kind that "*" stands for: a blues chord of the key's own mode; common practice, no source
OWN_KIND = {"major": "7", "minor": "m7"}
_CHORD = re.compile(r"(b|#)?(VII|VI|IV|V|III|II|I)(\*|m7|m|6|7|9|)")


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord in a key.

    root : pitch class, 0 = C to 11 = B.
    steps : semitones above the root, ascending from 0.
    """

    root: int
    steps: tuple[int, ...]

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Pitch classes of all its notes."""
        return frozenset((self.root + step) % 12 for step in self.steps)

    @property
    def third(self) -> int:
        """Semitones of its third."""
        return self.steps[1]

    @property
    def seventh(self) -> int:
        """Semitones of its seventh, or the minor one where it has none."""
        return self.steps[3] if len(self.steps) > 3 and self.steps[3] > 9 else 10


def parse_chord(text: str, key: Key) -> Chord:
    """
    Read a chord in a key; "*" is the blues chord of the key's own mode.

    >>> parse_chord("IV7", Key(4)).root, parse_chord("I*", Key(9, "minor")).steps
    (9, (0, 3, 7, 10))
    """
    match = _CHORD.fullmatch(text)
    if match is None:
        raise SettingsError(
            f"no chord is named {text!r}", hint=f"write a numeral I to VII, then one of {', '.join(KINDS)} or *"
        )
    sign, numeral, kind = match.groups()
    shift = {"b": -1, "#": 1, None: 0}[sign]
    steps = KINDS[OWN_KIND[key.mode] if kind == "*" else kind]
    return Chord((key.tonic + NUMERALS[numeral] + shift) % 12, steps)
