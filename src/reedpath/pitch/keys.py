"""Keys: a tonic and a mode."""

from __future__ import annotations

import re
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.errors import PitchError
from reedpath.pitch.names import NOTE_NAME, composed, parse_pitch_class, pitch_class_name

__all__ = ["Key", "key_name", "parse_key"]


class Key(Struct, frozen=True, order=True):
    """A key of music (not of a harp).

    tonic : pitch class, 0 = C to 11 = B.
    mode : "major" or "minor".
    """

    tonic: Annotated[int, Meta(ge=0, le=11)]
    mode: str = "major"

    def __post_init__(self) -> None:
        if not 0 <= self.tonic <= 11:
            raise PitchError("pitch.tonic", tonic=self.tonic)
        if self.mode not in ("major", "minor"):
            raise PitchError("pitch.mode", mode=self.mode)

    def moved(self, semitones: int) -> Key:
        """The key so many semitones higher."""
        return Key((self.tonic + semitones) % 12, self.mode)


def key_name(key: Key) -> str:
    """
    Name of a key as musicians write it.

    >>> key_name(Key(4)), key_name(Key(9, "minor"))
    ('E', 'Am')
    """
    return pitch_class_name(key.tonic) + ("m" if key.mode == "minor" else "")


_MAJOR = ("M", "maj", "major", "majeur", "dur", "mayor", "maggiore")
_MINOR = ("m", "min", "minor", "mineur", "moll", "menor", "minore")
_GERMAN_MODES = ("dur", "moll")
_KEY = re.compile(
    rf"\s*(?P<tonic>{NOTE_NAME})(?:[\s-]*(?:(?P<major>M|(?i:{'|'.join(_MAJOR[1:])}))|"
    rf"(?P<minor>m|(?i:{'|'.join(_MINOR[1:])}))))?\s*"
)


def parse_key(text: str) -> Key:
    """
    Read a key: "E", "Bb", "Am", "F# minor", "la mineur", "fis-Moll", "la menor", "la minore".

    With Dur and Moll, B is B flat, as in German.

    >>> parse_key("F#m"), parse_key("H-Dur"), parse_key("b-Moll")
    (Key(tonic=6, mode='minor'), Key(tonic=11, mode='major'), Key(tonic=10, mode='minor'))
    """
    match = _KEY.fullmatch(composed(text))
    if match is None:
        raise PitchError("pitch.unknown_key", name=text)
    tonic, mode = match["tonic"], (match["minor"] or match["major"] or "").lower()
    if tonic.lower() == "b" and mode in _GERMAN_MODES:
        tonic = "Bb"
    return Key(parse_pitch_class(tonic), "minor" if match["minor"] else "major")
