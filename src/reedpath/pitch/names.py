"""Names of pitches: the twelve pitch classes and notes with their octave.

We write flats for Db, Eb, Ab and Bb and the sharp for F#, as the trade does on harps; every common
spelling is read, with ASCII or typographic accidentals.
"""

from __future__ import annotations

import re

from reedpath.errors import PitchError

__all__ = [
    "LETTERS_BY_FIFTHS",
    "LETTER_SEMITONES",
    "PITCH_CLASS_NAMES",
    "midi_name",
    "parse_midi",
    "parse_pitch_class",
    "pitch_class_name",
    "spelling_of",
]

# trade custom (common practice, no source): names of the twelve keys of harp
PITCH_CLASS_NAMES = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")

# semitones from C up to each letter
LETTER_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
# letters a fifth apart: the order in which signatures sharpen them, and flatten them from the end; common practice,
# no source
LETTERS_BY_FIFTHS = "FCGDAEB"

_NAME = re.compile(r"([A-Ga-g])([#b♯♭]{0,2})")
_NOTE = re.compile(r"([A-Ga-g])([#b♯♭]{0,2})(-?\d{1,2})")


def _letter_and_accidentals(letter: str, accidentals: str) -> int:
    alter = sum(1 if sign in "#♯" else -1 for sign in accidentals)
    return LETTER_SEMITONES[letter.upper()] + alter


def parse_pitch_class(name: str) -> int:
    """Pitch class 0-11 (C = 0) of a note name without octave.

    >>> [parse_pitch_class(name) for name in ("C", "Bb", "F♯", "Cb")]
    [0, 10, 6, 11]
    """
    match = _NAME.fullmatch(name.strip())
    if match is None:
        raise PitchError("pitch.unknown_pitch_class", name=name)
    return _letter_and_accidentals(*match.groups()) % 12


def spelling_of(pitch_class: int, tonic: int) -> tuple[int, int]:
    """
    How a note is spelt where a tonic reigns: pitch class of its letter, and 1 for a sharp, -1 for a flat, 0 for none.

    The twelve notes lie in a row of fifths, from five below the tonic (its flat second) to six above it (its sharp
    fourth), moved where needed so that no double sign and no Cb, Fb, E# or B# comes up (common practice, no source).

    >>> spelling_of(1, 2), spelling_of(1, 5)     # C# in D, Db in F
    ((0, 1), (2, -1))
    """
    tonic_fifths = (tonic * 7 + 5) % 12 - 5
    lowest = min(max(tonic_fifths - 5, -6), -1)
    fifths = lowest + (pitch_class * 7 - lowest) % 12
    return LETTER_SEMITONES[LETTERS_BY_FIFTHS[(fifths + 1) % 7]], (fifths + 1) // 7


def pitch_class_name(pitch_class: int, *, tonic: int | None = None) -> str:
    """The name of a pitch class: the trade's, flats but for F#, or as a tonic asks for it.

    >>> pitch_class_name(70), pitch_class_name(61, tonic=2)
    ('Bb', 'C#')
    """
    if tonic is None:
        return PITCH_CLASS_NAMES[pitch_class % 12]
    letter, sign = spelling_of(pitch_class, tonic)
    return PITCH_CLASS_NAMES[letter] + ("", "#", "b")[sign]


def parse_midi(name: str) -> int:
    """MIDI number of a note name with its octave; C4 is middle C, 60.

    >>> parse_midi("A4"), parse_midi("Cb4")
    (69, 59)
    """
    match = _NOTE.fullmatch(name.strip())
    if match is None:
        raise PitchError("pitch.unknown_note", name=name)
    letter, accidentals, octave = match.groups()
    midi = _letter_and_accidentals(letter, accidentals) + 12 * (int(octave) + 1)
    if not 0 <= midi <= 127:
        raise PitchError("pitch.beyond_midi", name=name)
    return midi


def midi_name(midi: int, *, tonic: int | None = None) -> str:
    """Name with octave of a MIDI number, spelt as `pitch_class_name` spells it.

    >>> midi_name(70)
    'Bb4'
    """
    letter, sign = spelling_of(midi, 0 if tonic is None else tonic)
    return f"{PITCH_CLASS_NAMES[letter]}{('', '#', 'b')[sign]}{(midi - sign) // 12 - 1}"
