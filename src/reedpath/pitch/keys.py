"""Keys: a tonic and a mode."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.errors import PitchError
from reedpath.pitch.names import NOTE_NAME, composed, parse_pitch_class, pitch_class_name

# sharps (flats, if negative) of each mode on C, major and minor first; by definition of the modes
MODE_FIFTHS = {"major": 0, "minor": -3, "mixolydian": -1, "dorian": -2, "lydian": 1, "phrygian": -4, "locrian": -5}
_MINOR_THIRD = frozenset({"minor", "dorian", "phrygian", "locrian"})
# signature with the most flats, by the mode's third; common practice, no source (F sharp major, but E flat minor)
MOST_FLATS = {"major": -5, "minor": -6}
# places on the line of fifths of the notes with one sign at most, from F flat to B sharp
FLATTEST, SHARPEST = -8, 12
# places from a signature's own to the middle of the notes that it leaves without an accidental: of C, from F to B
MIDDLE = 2


class Key(Struct, frozen=True, order=True):
    """A key of music (not of a harp).

    tonic : pitch class, 0 = C to 11 = B.
    mode : "major", "minor" or another of `MODE_FIFTHS`.
    """

    tonic: Annotated[int, Meta(ge=0, le=11)]
    mode: str = "major"

    def __post_init__(self) -> None:
        if not 0 <= self.tonic <= 11:
            raise PitchError("pitch.tonic", tonic=self.tonic)
        if self.mode not in MODE_FIFTHS:
            raise PitchError("pitch.mode", mode=self.mode)

    @property
    def third(self) -> str:
        """Whether its third is "major" or "minor", which says what it is most like."""
        return "minor" if self.mode in _MINOR_THIRD else "major"

    @property
    def plain(self) -> Key:
        """The major or minor key of its tonic that it is most like."""
        return Key(self.tonic, self.third)

    def moved(self, semitones: int) -> Key:
        """The key so many semitones higher."""
        return Key((self.tonic + semitones) % 12, self.mode)


def key_fifths(key: Key | None) -> int:
    """
    Sharps (positive) or flats (negative) of a key's signature; 0 for an unknown key.

    >>> key_fifths(Key(4)), key_fifths(Key(10)), key_fifths(Key(9, "minor")), key_fifths(Key(9, "mixolydian"))
    (4, -2, 0, 2)
    """
    if key is None:
        return 0
    lowest = MOST_FLATS[key.third]
    return lowest + (key.tonic * 7 + MODE_FIFTHS[key.mode] - lowest) % 12


def single_signs(fifths: Iterable[int]) -> tuple[int, ...]:
    """Those places on the line of fifths whose notes have one sharp or flat at most."""
    return tuple(one for one in fifths if FLATTEST <= one <= SHARPEST)


def near_signature(spelt: Iterable[tuple[int, ...]], key: Key | None) -> list[tuple[int, ...]]:
    """
    How events are spelt once their key is written with our signature: of G flat and F sharp we write one.

    >>> near_signature([(-6,), (-1, -5)], Key(6))
    [(6,), (11, 7)]
    """
    given = list(spelt)
    middle = key_fifths(key) + MIDDLE
    far = sum(one - middle for places in given for one in places)
    count = sum(map(len, given))
    turn = -12 * round(far / count / 12) if count else 0
    return [single_signs(one + turn for one in places) for places in given]


def key_name(key: Key) -> str:
    """
    Name of a key as musicians write it.

    >>> key_name(Key(4)), key_name(Key(9, "minor")), key_name(Key(9, "mixolydian"))
    ('E', 'Am', 'A mixolydian')
    """
    written = {"major": "", "minor": "m"}.get(key.mode, f" {key.mode}")
    return pitch_class_name(key.tonic) + written


_MAJOR = ("M", "maj", "major", "majeur", "dur", "mayor", "maggiore")
_MINOR = ("m", "min", "minor", "mineur", "moll", "menor", "minore")
# ends of German names of modes, with which B is B flat
_GERMAN_MODES = ("dur", "moll", "isch")
# the other modes by the beginnings of their names in English, French, German, Spanish and Italian
_OTHERS = {
    "mixolydian": "mi(?:xo|so)",
    "dorian": "d[oó]r",
    "lydian": "l[yi]d",
    "phrygian": "(?:ph|f)r[yi]g",
    "locrian": "lo[ck]r",
}
_KEY = re.compile(
    rf"\s*(?P<tonic>{NOTE_NAME})(?:[\s-]*(?:(?P<major>M|(?i:{'|'.join(_MAJOR[1:])}))|"
    rf"(?P<minor>m|(?i:{'|'.join(_MINOR[1:])}))|"
    + "|".join(rf"(?P<{mode}>(?i:{begins}[a-z]{{0,9}}))" for mode, begins in _OTHERS.items())
    + r"))?\s*"
)


def parse_key(text: str) -> Key:
    """
    Read a key: "E", "Bb", "Am", "F# minor", "la mineur", "fis-Moll", "la menor", "la minore", "A mixolydian".

    With Dur, Moll and other modes in German, B is B flat.

    >>> parse_key("F#m"), parse_key("H-Dur"), parse_key("b-Moll")
    (Key(tonic=6, mode='minor'), Key(tonic=11, mode='major'), Key(tonic=10, mode='minor'))
    """
    match = _KEY.fullmatch(composed(text))
    if match is None:
        raise PitchError("pitch.unknown_key", name=text)
    mode = next((name for name in ("major", "minor", *_OTHERS) if match[name]), "major")
    tonic, word = match["tonic"], (match[mode] or "").lower()
    if tonic.lower() == "b" and word.endswith(_GERMAN_MODES):
        tonic = "Bb"
    return Key(parse_pitch_class(tonic), mode)
