"""The numbers of the reed voice, from `voice.toml`, where each one's unit and source stand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from reedpath.errors import SettingsError
from reedpath.sound._data import data_text, numbers_of, parse_toml, table_of

__all__ = ["AttackNumbers", "NoteLevels", "ShakeNumbers", "VoiceData", "load_voice", "parse_voice"]


@dataclass(frozen=True, slots=True)
class SpectrumNumbers:
    """How the spectrum of a note follows force, breath and bend."""

    recorded_force: float
    brightness_per_force: float
    draw_brightness: float
    bend_dulling: float
    overbend_brightness: float
    rolloff_hz: float
    rolloff_db: float
    onset_dulling: float
    level_per_force: float


@dataclass(frozen=True, slots=True)
class AttackNumbers:
    """How a reed starts to speak."""

    rise_seconds: float
    rise_ratio_per_octave: float
    tongued: float
    turned: float
    slurred: float
    slapped: float
    brightness_lag: float
    scoop_cents: float
    scoop_rises: float
    draw_scoop: float
    overshoot_db: float
    overshoot_seconds: float


@dataclass(frozen=True, slots=True)
class ReleaseNumbers:
    """How a reed falls silent."""

    fall_seconds: float
    fall_ratio_per_octave: float


@dataclass(frozen=True, slots=True)
class BreathNumbers:
    """The noise of the breath."""

    blow_db: float
    draw_db: float
    puff_db: float
    puff_seconds: float
    blow_hz: float
    draw_hz: float
    width_octaves: float
    chopped: float


@dataclass(frozen=True, slots=True)
class UnsteadyNumbers:
    """How a held note wanders."""

    cents: float
    level_db: float
    rate_hz: float


@dataclass(frozen=True, slots=True)
class ShakeNumbers:
    """A vibrato."""

    rate_hz: float
    cents: float
    level_db: float
    brightness_db: float
    wait_seconds: float
    grow_seconds: float


@dataclass(frozen=True, slots=True)
class NoteLevels:
    """Levels of a recorded note's harmonics, decibels below the note's power, from the fundamental up."""

    midi: float
    levels_db: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class VoiceData:
    """All numbers of the voice.

    notes : in ascending order of pitch, at least one.
    vibratos : by the name of the kind.
    """

    notes: tuple[NoteLevels, ...]
    spectrum: SpectrumNumbers
    attack: AttackNumbers
    release: ReleaseNumbers
    breath: BreathNumbers
    unsteady: UnsteadyNumbers
    vibratos: dict[str, ShakeNumbers]

    @property
    def midi(self) -> npt.NDArray[np.float64]:
        """MIDI numbers of the recorded notes, shape (notes,)."""
        return np.array([note.midi for note in self.notes])


def _notes(data: dict[str, Any], file: str) -> tuple[NoteLevels, ...]:
    tables = data.get("note")
    if not isinstance(tables, list) or not tables:
        raise SettingsError("at least one [[note]] is needed", where=file)
    notes = []
    for number, table in enumerate(tables, start=1):
        levels, midi = table.get("levels_db"), table.get("midi")
        numeric = isinstance(levels, list) and levels and all(isinstance(one, int | float) for one in levels)
        if not numeric or not isinstance(midi, int | float):
            raise SettingsError(
                f"[[note]] {number} needs midi, a number, and levels_db, a list of numbers", where=file
            )
        notes.append(NoteLevels(float(midi), tuple(float(one) for one in levels)))
    if [note.midi for note in notes] != sorted({note.midi for note in notes}):
        raise SettingsError("the notes stand in ascending order of midi, each once", where=file)
    return tuple(notes)


def parse_voice(text: str, *, file: str = "voice.toml") -> VoiceData:
    """Read the numbers of a voice; errors name file, key and value."""
    data = parse_toml(text, file=file)
    vibratos = table_of(data, "vibrato", file=file)
    return VoiceData(
        notes=_notes(data, file),
        spectrum=numbers_of(SpectrumNumbers, table_of(data, "spectrum", file=file), file=file, key="spectrum"),
        attack=numbers_of(AttackNumbers, table_of(data, "attack", file=file), file=file, key="attack"),
        release=numbers_of(ReleaseNumbers, table_of(data, "release", file=file), file=file, key="release"),
        breath=numbers_of(BreathNumbers, table_of(data, "breath", file=file), file=file, key="breath"),
        unsteady=numbers_of(UnsteadyNumbers, table_of(data, "unsteady", file=file), file=file, key="unsteady"),
        vibratos={
            name: numbers_of(ShakeNumbers, table_of(vibratos, name, file=file), file=file, key=f"vibrato.{name}")
            for name in ("throat", "hand")
        },
    )


@cache
def load_voice() -> VoiceData:
    """The voice that ships with the program."""
    return parse_voice(data_text("voice.toml"))
