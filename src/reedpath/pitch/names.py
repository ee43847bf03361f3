"""Names of pitches: the twelve pitch classes and notes with their octave.

We write flats for Db, Eb, Ab and Bb and the sharp for F#, as the trade does on harps; every common spelling is read:
letters and the syllables of Romance languages (do, ré, mi ...), with ASCII or typographic signs, or signs in words;
names that are German and nothing else: H, Fis, Es, As. B is B natural here; readers know where it is not
(`wording.plain_names`, the readers of tabs).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from reedpath.errors import PitchError

# trade custom (common practice, no source): names of the twelve keys of harp
PITCH_CLASS_NAMES = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")

# semitones from C up to each letter
LETTER_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
# letters a fifth apart: the order in which signatures sharpen them, and flatten them from the end; common practice,
# no source
LETTERS_BY_FIFTHS = "FCGDAEB"

# syllables of Romance languages and their letters (common practice, no source)
_SYLLABLES = {"do": "C", "ut": "C", "re": "D", "mi": "E", "fa": "F", "sol": "G", "la": "A", "si": "B"}
# names that are no letters from A to G, and theirs
_LETTERS = {**_SYLLABLES, "h": "B"}
# the octave of middle C where notes are syllables, as France counts: its la3 is A4 (common practice, no source)
_SYLLABLE_OCTAVES = 1
_SHARPS = ("#", "♯", "sharp", "dièse", "diese", "sostenido", "diesis")
_FLATS = ("b", "♭", "flat", "bémol", "bemol", "bemolle")

_WORDS = "|".join(word for word in (*_SHARPS, *_FLATS) if len(word) > 1)
# German names with their endings for sharp and flat, once or twice (common practice, no source)
_GERMAN = "[cdefgah]is(?:is)?|[cdfg]es(?:es)?|es(?:es)?|as(?:as|es)?|h(?![#b♯♭])"
# a note's name without its octave, in composed characters: the name, then its signs or the word for them
NOTE_NAME = rf"(?i:{_GERMAN}|(?:do|ut|r[ée]|mi|fa|sol|la|si|[a-g])(?:[\s-]*(?:{_WORDS})\b|[#b♯♭]{{0,2}}))"
_PIECES = re.compile(rf"(?i:(do|ut|r[ée]|mi|fa|sol|la|si|[a-g])([\s-]*(?:{_WORDS})|[#b♯♭]{{0,2}}))")
_GERMAN_NAME = re.compile(f"(?i:{_GERMAN})")
# the octave by its number, or by strokes after the name as German books have it: c' is middle C (common practice, no
# source)
_NOTE = re.compile(rf"(?P<name>{NOTE_NAME})(?:(?P<octave>-?\d{{1,2}})|(?P<strokes>['’′]{{1,6}}))")
_OCTAVE_WITHOUT_STROKES = 3


# letters that patterns take for i and s where case does not matter (CaseFolding of Unicode 15), and what they are
# read as
_LOOKALIKES = str.maketrans("İıſ", "Iis")


def composed(text: str) -> str:
    """
    A text in composed characters, its letters those of the names of notes.

    >>> composed("re\u0301, sİ, mı")
    'ré, sI, mi'
    """
    return unicodedata.normalize("NFC", text).translate(_LOOKALIKES)


def is_german(name: str) -> bool:
    """
    Whether a note's name is German and nothing else.

    >>> [is_german(name) for name in ("Fis", "es", "H", "B", "la")]
    [True, True, True, False, False]
    """
    return _GERMAN_NAME.fullmatch(name) is not None


def _name_and_signs(name: str) -> tuple[str, int] | None:
    """Lower case name and semitones of its signs; None for what names no note."""
    plain = composed(name.strip())
    if is_german(plain):
        letter, ending = plain[0].lower(), plain[1:].lower()
        return letter, ending.count("is") if "is" in ending else -ending.count("s")
    match = _PIECES.fullmatch(plain)
    if match is None:
        return None
    word = match[2].strip(" -\t\u00a0\u202f").lower()
    signs = [word] if word in (*_SHARPS, *_FLATS) else list(word)
    return match[1].lower().replace("é", "e"), sum(1 if sign in _SHARPS else -1 for sign in signs)


def _semitones(name: str, signs: int) -> int:
    return LETTER_SEMITONES[_LETTERS.get(name, name.upper())] + signs


def parse_pitch_class(name: str) -> int:
    """Pitch class 0-11 (C = 0) of a note name without octave.

    >>> [parse_pitch_class(name) for name in ("C", "Bb", "F♯", "Cb", "la", "Si bémol", "Fis", "As", "H")]
    [0, 10, 6, 11, 9, 10, 6, 8, 11]
    """
    pieces = _name_and_signs(name)
    if pieces is None:
        raise PitchError("pitch.unknown_pitch_class", name=name)
    return _semitones(*pieces) % 12


def fifths_of(letter: str, alter: int) -> int:
    """
    Place of a written note on the line of fifths, where C is 0, G 1 and F -1.

    alter : semitones, 1 for a sharp.

    >>> fifths_of("C", 0), fifths_of("C", 1), fifths_of("B", -1)
    (0, 7, -2)
    """
    return LETTERS_BY_FIFTHS.index(letter) - 1 + len(LETTERS_BY_FIFTHS) * alter


def written_fifths(midi: int, written: Iterable[int]) -> int | None:
    """
    The first of some places on the line of fifths that sounds as a MIDI number or pitch class; None where none does.

    >>> written_fifths(61, (0, 7, -5)), written_fifths(61, (0, 2))
    (7, None)
    """
    return next((fifths for fifths in written if (7 * fifths - midi) % 12 == 0), None)


def letter_and_sign(fifths: int) -> tuple[str, int]:
    """
    The written note at a place on the line of fifths: its letter, and how many sharps (flats, if negative) it has.

    >>> letter_and_sign(7), letter_and_sign(-2)
    (('C', 1), ('B', -1))
    """
    sign, index = divmod(fifths + 1, len(LETTERS_BY_FIFTHS))
    return LETTERS_BY_FIFTHS[index], sign


def nearest_fifths(semitones: int) -> int:
    """How far a move by semitones shifts the spelling along the line of fifths, by the simpler of two ways.

    >>> [nearest_fifths(each) for each in (0, 12, 2, -2, 1)]
    [0, 0, 2, -2, -5]
    """
    return (7 * semitones + 6) % 12 - 6


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
    letter, sign = letter_and_sign(fifths)
    return LETTER_SEMITONES[letter], sign


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
    """MIDI number of a note name with its octave; middle C, 60, is C4, do3 as France counts, or c' as Germany writes.

    >>> parse_midi("A4"), parse_midi("Cb4"), parse_midi("la3"), parse_midi("fis''")
    (69, 59, 69, 78)
    """
    match = _NOTE.fullmatch(composed(name.strip()))
    pieces = _name_and_signs(match["name"]) if match else None
    # German names count their octaves by strokes, and syllables by numbers
    numbers = match is not None and match["octave"] is not None
    if match is None or pieces is None or (is_german(match["name"]) if numbers else pieces[0] in _SYLLABLES):
        raise PitchError("pitch.unknown_note", name=name)
    if numbers:
        octave = int(match["octave"]) + (_SYLLABLE_OCTAVES if pieces[0] in _SYLLABLES else 0)
    else:
        octave = _OCTAVE_WITHOUT_STROKES + len(match["strokes"])
    midi = _semitones(*pieces) + 12 * (octave + 1)
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
