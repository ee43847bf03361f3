"""A harp: a tuning in a key, tempered.

The customary octave of each key, G lowest to F# highest, is the trade's (Wikipedia, "Richter-tuned
harmonica"; "Low" variants an octave under, "High G" an octave over: common practice, no source).
"""

from __future__ import annotations

import re
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.data.numbers import Midi
from reedpath.errors import Place, Term, TuningError
from reedpath.harp.temperament import EQUAL, Temperament, load_temperament
from reedpath.harp.tuning import Tuning, load_tuning
from reedpath.pitch import NOTE_NAME, composed, parse_pitch_class, pitch_class_name

# MIDI number of the key note of the lowest harp of the normal family, the G harp (G3)
LOWEST_KEY_MIDI = 55
# customary octaves beside the normal one, in octaves
VARIANTS = {
    "low": -1, "grave": -1, "tief": -1, "tiefes": -1, "basso": -1, "": 0,
    "high": 1, "aigu": 1, "aiguë": 1, "hoch": 1, "hohes": 1, "agudo": 1, "aguda": 1, "acuto": 1, "acuta": 1,
    "alto": 1,
}  # fmt: skip
_BEFORE, _AFTER = "low|high|tiefes|tief|hohes|hoch", "grave|aiguë|aigu|agudo|aguda|acuto|acuta|basso|alto"

# hertz; wide enough for historical pitches, narrow enough to catch a slip; common practice, no source
A4_RANGE_HZ = (390.0, 490.0)
# cents per octave either way; common advice is 2 (Hansson, ohw.se/hca); the limit catches a slip, no source
MOST_STRETCH_CENTS = 50.0

# a note's name, beside it in brackets the letter that is stamped on the harp, and low or high before or after it
_NAME = re.compile(
    rf"(?:(?P<before>(?i:{_BEFORE}))[\s-]*)?(?P<note>{NOTE_NAME})(?![^\W\d_]|[#♯♭])"
    rf"(?:\s*\((?P<stamped>[A-G][#b♯♭]?)\))?"
    rf"(?:[\s(-]+(?P<after>(?i:{_AFTER}|(?:{_BEFORE})(?![\s-]+{NOTE_NAME}(?![^\W\d_]))))\b\)?)?"
)
# words round the name that say no more than that it is a harp's
_FILLER = re.compile(r"(?i:\b(?:harmonica|mundharmonika|armónica|armonica|harp)\b(?:\s+(?:en|in)\b)?)")
_BETWEEN_NAMES = re.compile(r"[,;/+&]|\b(?i:and|et|und|y)\b|\be\s+(?=(?i:do|re|mi|fa|sol|la|si)\b)")


class Harp(Struct, frozen=True):
    """A tuning in a key.

    tuning : the reeds.
    key_midi : MIDI number of the note that names the key.
    temperament : cents off equal temperament per step above the key note.
    a4_hz : reference pitch, hertz.
    stretch_cents : widening of each octave, cents.
    """

    tuning: Tuning
    key_midi: Midi
    temperament: Temperament = EQUAL
    a4_hz: Annotated[float, Meta(ge=A4_RANGE_HZ[0], le=A4_RANGE_HZ[1])] = 440.0
    stretch_cents: Annotated[float, Meta(ge=-MOST_STRETCH_CENTS, le=MOST_STRETCH_CENTS)] = 0.0

    @property
    def octaves(self) -> int:
        """Octaves above the customary one of its key: -1 for a low harp."""
        return (self.key_midi - LOWEST_KEY_MIDI) // 12

    @property
    def name(self) -> str:
        """The key as the trade says it: "A", "Low F", "High G"."""
        prefix = {-1: "Low ", 0: "", 1: "High "}.get(self.octaves, f"{self.octaves:+d} octaves ")
        return prefix + pitch_class_name(self.key_midi)


def harp_name_and_rest(text: str) -> tuple[str, str] | None:
    """
    The name of a harp at the start of a text, as the trade says it, and what follows; None for what names none.

    >>> harp_name_and_rest("la grave"), harp_name_and_rest("F low, country"), harp_name_and_rest("my best")
    (('Low A', ''), ('Low F', ', country'), None)
    """
    plain = composed(text).strip()
    match = _NAME.match(plain)
    if match is None:
        return None
    octaves = VARIANTS[(match["before"] or match["after"] or "").lower()]
    prefix = {-1: "Low ", 0: "", 1: "High "}[octaves]
    return prefix + pitch_class_name(parse_pitch_class(match["stamped"] or match["note"])), plain[match.end() :]


def harp_names(text: str) -> tuple[str, ...]:
    """
    The harps named in a row, parted by commas or blanks; what names none stands as it is.

    >>> harp_names("A, C Low F"), harp_names("la, si bémol et do grave"), harp_names("A, mine")
    (('A', 'C', 'Low F'), ('A', 'Bb', 'Low C'), ('A', 'mine'))
    """
    names: list[str] = []
    for piece in _BETWEEN_NAMES.split(text):
        rest = piece.strip()
        while rest:
            found = harp_name_and_rest(rest)
            name, rest = found if found is not None else (rest, "")
            names.append(name)
            rest = rest.strip()
    return tuple(names)


def make_harp(
    key: str,
    tuning: Tuning | str = "standard",
    *,
    temperament: Temperament | str = EQUAL,
    a4_hz: float = 440.0,
    stretch_cents: float = 0.0,
) -> Harp:
    """
    The harp of that key ("A", "Bb", "Low F", "High G", "la", "fa grave") and tuning.

    >>> make_harp("A").key_midi, make_harp("Low F").key_midi
    (57, 53)
    """
    found = harp_name_and_rest(_FILLER.sub(" ", key))
    if found is None or found[1].strip():
        raise TuningError("harp.unknown_harp", name=key)
    variant, _, letter = found[0].rpartition(" ")
    pitch_class = parse_pitch_class(letter)
    key_midi = LOWEST_KEY_MIDI + (pitch_class - LOWEST_KEY_MIDI) % 12 + 12 * VARIANTS[variant.lower()]
    chosen = load_tuning(tuning) if isinstance(tuning, str) else tuning
    _check_range(chosen, key_midi)
    _check_reference(a4_hz, stretch_cents)
    tempered = load_temperament(temperament) if isinstance(temperament, str) else temperament
    return Harp(chosen, key_midi, tempered, a4_hz, stretch_cents)


def _check_range(tuning: Tuning, key_midi: int) -> None:
    for breath, row in (("blow", tuning.blow), ("draw", tuning.draw)):
        for hole, semitones in enumerate(row, start=1):
            midi = key_midi + semitones
            if not 0 <= midi <= 127:
                raise TuningError("harp.reed_beyond_midi", where=Place(hole=hole), breath=Term(breath), midi=midi)


def _check_reference(a4_hz: float, stretch_cents: float) -> None:
    low, high = A4_RANGE_HZ
    if not low <= a4_hz <= high:
        raise TuningError("harp.reference_pitch", low=low, high=high, hertz=a4_hz)
    if not abs(stretch_cents) <= MOST_STRETCH_CENTS:
        raise TuningError("harp.octave_stretch", most=MOST_STRETCH_CENTS, cents=stretch_cents)


def position_between(harp_key: int, tonic: int) -> int:
    """Position 1-12 in which a harp of one pitch class plays music whose tonic is another.

    First position is the harp's own key; each next one lies a fifth higher (Harp-L archive, 15 Feb 2006).

    >>> position_between(9, 4)     # E on an A harp
    2
    """
    return 1 + 7 * (tonic - harp_key) % 12
