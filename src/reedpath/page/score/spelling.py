"""Spelling: which letter and accidental a pitch takes in a key.

Pitches are placed on the line of fifths (F = -1, C = 0, G = 1, ...). A key uses the twelve places around its
tonic, from the lowered second up to the raised fourth in major, and a place lower in minor, whose lowered
fifth is the usual one; the tritone itself is raised where the line goes on up and lowered where it falls. Where
that asks for a double accidental, or for a white key under another name that is not in the key (the leading note of
minor apart), the plain name is kept (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from reedpath.pitch import LETTER_SEMITONES, LETTERS_BY_FIFTHS, Key

__all__ = ["Accidentals", "Spelled", "key_fifths", "major_tonic", "signature_alters", "spell", "tonic_name"]

# places on the line of fifths from a minor tonic down to the tonic of its relative major
RELATIVE = 3
# signature with the most flats, by mode; common practice, no source (F sharp major, but E flat minor)
MOST_FLATS = {"major": -5, "minor": -6}
# places on the line of fifths, from its tonic, of the leading note
LEADING = 5
# MusicXML's names by alteration in semitones (MusicXML 4.0, accidental-value)
NAMES = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


@dataclass(frozen=True, slots=True)
class Spelled:
    """A written pitch: letter, alteration in semitones, octave (4 begins at middle C)."""

    letter: str
    alter: int
    octave: int


def _line_place(pitch_class: int, lowest: int) -> int:
    """The place on the line of fifths, from ``lowest`` up, that sounds a pitch class."""
    return lowest + (pitch_class * 7 - lowest) % 12


def major_tonic(key: Key) -> int:
    """Pitch class of the major key with the same signature."""
    return (key.tonic + (RELATIVE if key.mode == "minor" else 0)) % 12


def key_fifths(key: Key | None) -> int:
    """
    Sharps (positive) or flats (negative) of a key's signature; 0 for an unknown key.

    >>> key_fifths(Key(4)), key_fifths(Key(10)), key_fifths(Key(9, "minor"))
    (4, -2, 0)
    """
    if key is None:
        return 0
    return _line_place(major_tonic(key), MOST_FLATS[key.mode])


def _tonic_place(key: Key | None) -> int:
    is_minor = key is not None and key.mode == "minor"
    return key_fifths(key) + (RELATIVE if is_minor else 0)


def _letter_and_alter(place: int) -> tuple[str, int]:
    octave_of_letters, index = divmod(place + 1, len(LETTERS_BY_FIFTHS))
    return LETTERS_BY_FIFTHS[index], octave_of_letters


def _plain_place(place: int, key: Key | None) -> int:
    """The place, or its plainer neighbour of the same sound."""
    fifths = key_fifths(key)
    is_leading = key is not None and key.mode == "minor" and place == _tonic_place(key) + LEADING
    alter = _letter_and_alter(place)[1]
    is_in_key = fifths - 1 <= place <= fifths + 5
    plain = place - 12 if alter > 0 else place + 12
    is_white = _letter_and_alter(plain)[1] == 0
    return plain if abs(alter) > 1 or (alter and is_white and not is_in_key and not is_leading) else place


def tonic_name(key: Key) -> str:
    """
    Name of the tonic as its signature spells it, with typographic accidentals.

    >>> tonic_name(Key(1, "minor")), tonic_name(Key(10))
    ('C♯', 'B♭')
    """
    letter, alter = _letter_and_alter(_tonic_place(key))
    return letter + ("♯" * alter if alter > 0 else "♭" * -alter)


def spell(midi: int, key: Key | None, *, goes_up: bool) -> Spelled:
    """
    The written pitch of a MIDI number.

    goes_up : whether the next note is higher (it decides the tritone of the key).

    >>> spell(70, Key(4), goes_up=False), spell(70, Key(4), goes_up=True)
    (Spelled(letter='B', alter=-1, octave=4), Spelled(letter='A', alter=1, octave=4))
    """
    tonic = _tonic_place(key)
    lowest = tonic - (5 if goes_up else 6)
    place = _plain_place(_line_place(midi % 12, lowest), key)
    letter, alter = _letter_and_alter(place)
    octave = (midi - alter - LETTER_SEMITONES[letter]) // 12 - 1
    return Spelled(letter, alter, octave)


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
