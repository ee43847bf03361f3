"""The numbers of the reed voice, from `voice.toml`, where each one's unit and source stand."""

from __future__ import annotations

from functools import cache
from typing import Annotated

import numpy as np
import numpy.typing as npt
from msgspec import Meta, Struct, field

from reedpath.data import read_toml, shipped_text
from reedpath.errors import Place, SettingsError

# bounds that no voice reaches; they keep out what is no number
Number = Annotated[float, Meta(ge=-1e5, le=1e5)]
Positive = Annotated[float, Meta(gt=0, le=1e5)]
Share = Annotated[float, Meta(ge=0, le=1)]


class SpectrumNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """How the spectrum of a note follows force, breath and bend."""

    recorded_force: Share
    brightness_per_force: Number
    draw_brightness: Number
    bend_dulling: Number
    overbend_brightness: Number
    rolloff_hz: Positive
    rolloff_db: Number
    onset_dulling: Positive
    level_per_force: Number


class AttackNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """How a reed starts to speak."""

    rise_seconds: Positive
    rise_ratio_per_octave: Positive
    tongued: Positive
    turned: Positive
    slurred: Positive
    slapped: Positive
    brightness_lag: Number
    scoop_cents: Number
    scoop_rises: Positive
    draw_scoop: Number
    overshoot_db: Number
    overshoot_seconds: Positive


class ReleaseNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """How a reed falls silent."""

    fall_seconds: Positive
    fall_ratio_per_octave: Positive


class BreathNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """The noise of the breath."""

    blow_db: Number
    draw_db: Number
    puff_db: Number
    puff_seconds: Positive
    blow_hz: Positive
    draw_hz: Positive
    width_octaves: Positive
    chopped: Share


class UnsteadyNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """How a held note wanders."""

    cents: Number
    level_db: Number
    rate_hz: Number


class ShakeNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """A vibrato."""

    rate_hz: Positive
    cents: Number
    level_db: Number
    brightness_db: Number
    wait_seconds: Number
    grow_seconds: Positive


class VibratoNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """Each kind of vibrato."""

    throat: ShakeNumbers
    hand: ShakeNumbers


class NoteLevels(Struct, frozen=True, forbid_unknown_fields=True):
    """Levels of a recorded note's harmonics, decibels below the note's power, from the fundamental up."""

    midi: Number
    levels_db: Annotated[tuple[Number, ...], Meta(min_length=1)]


class VoiceData(Struct, frozen=True, forbid_unknown_fields=True, eq=False):
    """All numbers of the voice.

    notes : in ascending order of pitch.
    source : where the notes were recorded.
    """

    notes: Annotated[tuple[NoteLevels, ...], Meta(min_length=1)] = field(name="note")
    spectrum: SpectrumNumbers
    attack: AttackNumbers
    release: ReleaseNumbers
    breath: BreathNumbers
    unsteady: UnsteadyNumbers
    vibrato: VibratoNumbers
    source: str = ""

    @property
    def midi(self) -> npt.NDArray[np.float64]:
        """MIDI numbers of the recorded notes, shape (notes,)."""
        return np.array([note.midi for note in self.notes])


def parse_voice(text: str) -> VoiceData:
    """Read the numbers of a voice; errors name file, key and value."""
    data = read_toml(text, VoiceData, file="voice.toml")
    pitches = [note.midi for note in data.notes]
    if pitches != sorted(set(pitches)):
        raise SettingsError("sound.notes_ascend", where=Place(file="voice.toml", field="note"))
    return data


@cache
def load_voice() -> VoiceData:
    """The voice that ships with the program."""
    return parse_voice(shipped_text("reedpath.sound", "voice.toml"))
