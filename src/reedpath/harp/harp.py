"""A harp: a tuning in a key, tempered.

The customary octave of each key, G lowest to F# highest, is the trade's (Wikipedia, "Richter-tuned
harmonica"; "Low" variants an octave under, "High G" an octave over: common practice, no source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Annotated

from msgspec import Meta

from reedpath.data.numbers import Midi
from reedpath.errors import PitchError, Place, Term, TuningError
from reedpath.harp.temperament import EQUAL, Temperament, load_temperament
from reedpath.harp.tuning import Tuning, load_tuning
from reedpath.pitch import parse_pitch_class, pitch_class_name

__all__ = ["Harp", "make_harp", "position_between"]

# MIDI number of the key note of the lowest harp of the normal family, the G harp (G3)
LOWEST_KEY_MIDI = 55
# customary octaves beside the normal one, in octaves
VARIANTS = {"low": -1, "": 0, "high": 1}

# hertz; wide enough for historical pitches, narrow enough to catch a slip; common practice, no source
A4_RANGE_HZ = (390.0, 490.0)
# cents per octave either way; common advice is 2 (Hansson, ohw.se/hca); the limit catches a slip, no source
MOST_STRETCH_CENTS = 50.0

_NAME = re.compile(r"\s*(?:(low|high)\s+)?([A-Ga-g][#b♯♭]?)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Harp:
    """A tuning in a key.

    tuning : the reeds.
    key_midi : MIDI number of the note that names the key.
    temperament : cents off equal temperament per step above the key note.
    a4_hz : reference pitch, hertz.
    stretch_cents : widening of each octave, cents.
    """

    tuning: Tuning
    key_midi: Midi
    temperament: Temperament = field(default=EQUAL)
    a4_hz: Annotated[float, Meta(ge=A4_RANGE_HZ[0], le=A4_RANGE_HZ[1])] = 440.0
    stretch_cents: Annotated[float, Meta(ge=-MOST_STRETCH_CENTS, le=MOST_STRETCH_CENTS)] = 0.0

    @property
    def name(self) -> str:
        """The key as the trade says it: "A", "Low F", "High G"."""
        octaves = (self.key_midi - LOWEST_KEY_MIDI) // 12
        prefix = {-1: "Low ", 0: "", 1: "High "}.get(octaves, f"{octaves:+d} octaves ")
        return prefix + pitch_class_name(self.key_midi)


def make_harp(
    key: str,
    tuning: Tuning | str = "standard",
    *,
    temperament: Temperament | str = EQUAL,
    a4_hz: float = 440.0,
    stretch_cents: float = 0.0,
) -> Harp:
    """
    The harp of that key ("A", "Bb", "Low F", "High G") and tuning.

    >>> make_harp("A").key_midi, make_harp("Low F").key_midi
    (57, 53)
    """
    match = _NAME.fullmatch(key)
    if match is None:
        raise TuningError("harp.unknown_harp", name=key)
    variant, letter = (match.group(1) or "").lower(), match.group(2)
    try:
        pitch_class = parse_pitch_class(letter)
    except PitchError as error:
        raise TuningError.like(error) from error
    key_midi = LOWEST_KEY_MIDI + (pitch_class - LOWEST_KEY_MIDI) % 12 + 12 * VARIANTS[variant]
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
