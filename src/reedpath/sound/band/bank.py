"""The sound bank: where the band's instruments are, and how a part is sounded with it.

FluidR3 (MIT; Debian's fluid-soundfont-gm) is used where it is installed, else the bank inside the pretty_midi
wheel (TimGM6mb, GPL-2), whose bass, drums, guitars and piano are good enough to practise with.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from reedpath.errors import SoundError
from reedpath.sound.band.playing import BandNote, BandPart
from reedpath.sound.loudness import SILENT_LUFS, loudness_lufs
from reedpath.sound.midi_score import MidiNote, MidiScore, MidiTempo, MidiTrack, render_score

__all__ = ["bank_path", "sound_part"]

# where Debian puts FluidR3, and the wheel's own bank
INSTALLED_BANKS = (Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"),)
WHEEL, WHEEL_BANK = "pretty_midi", "TimGM6mb.sf2"
# ticks a second: half a second a quarter note at 120 a minute, cut as finely as a file may hold
TICKS_PER_BEAT, BPM = 25_000, 120.0
TICKS_PER_SECOND = TICKS_PER_BEAT * BPM / 60.0
# hertz at which banks are tuned
BANK_A4_HZ = 440.0
# seconds of silence put before a probing note and before a part, since its notes are played early by their delay
PROBE_SECONDS, ROOM_SECONDS = 0.1, 0.1
# share of the peak of its first tenth of a second at which a note is heard to start; longest delay believed, seconds
HEARD_SHARE, MOST_DELAY_SECONDS = 0.3, 0.06
# semitones within which notes of an instrument are taken to start alike (banks change their samples about so often)
PROBE_STEP = 6
# seconds of a part that are measured for its loudness; no more is needed for a pattern that goes round
MEASURED_SECONDS = 30.0

Sound = npt.NDArray[np.float32]


@lru_cache(maxsize=1)
def bank_path() -> Path:
    """The sound bank to use; an error says what to install where there is none."""
    wheel = importlib.util.find_spec(WHEEL)
    inside = [Path(place) / WHEEL_BANK for place in (wheel.submodule_search_locations or ())] if wheel else []
    for path in (*INSTALLED_BANKS, *inside):
        if path.is_file():
            return path
    raise SoundError(
        "the band needs a General MIDI sound bank, and none is installed",
        hint="pip install pretty_midi, or apt install fluid-soundfont-gm",
    )


def _render(notes: Sequence[BandNote], part: BandPart, bank: Path, rate: int, speed: float) -> Sound:
    """Notes as the bank sounds them, shape (frames, 2), the clock's 0 at ``ROOM_SECONDS``."""
    made = tuple(
        MidiNote(
            max(0, round((note.start_seconds + ROOM_SECONDS) * speed * TICKS_PER_SECOND)),
            max(1, round(note.seconds * speed * TICKS_PER_SECOND)),
            note.midi,
            note.velocity,
        )
        for note in notes
    )
    track = MidiTrack(part.name, part.program, made, drums=part.drums)
    return render_score(MidiScore(TICKS_PER_BEAT, (track,), (MidiTempo(0, BPM),)), bank=bank, rate=rate)


@lru_cache(maxsize=256)
def _delay_seconds(bank: Path, program: int, midi: int, rate: int, *, drums: bool) -> float:
    """How long after its tick a bank's note is heard to start."""
    part = BandPart("probe", program, 0.0, (), drums=drums)
    sound = _render([BandNote(PROBE_SECONDS, 0.3, midi, 100)], part, bank, rate, 1.0)
    start = round((PROBE_SECONDS + ROOM_SECONDS) * rate)
    early = np.abs(sound[start : start + rate // 10]).max(axis=1, initial=0.0)
    if not len(early) or early.max() < 1e-4:
        return 0.0
    return min(MOST_DELAY_SECONDS, float(np.argmax(early > HEARD_SHARE * early.max())) / rate)


def _early(note: BandNote, part: BandPart, bank: Path, rate: int) -> BandNote:
    """The note moved so that it is heard when it should be."""
    probe = note.midi if part.drums else PROBE_STEP * round(note.midi / PROBE_STEP)
    delay = _delay_seconds(bank, part.program, probe, rate, drums=part.drums)
    return BandNote(note.start_seconds - delay, note.seconds, note.midi, note.velocity)


def sound_part(
    part: BandPart, *, seconds: float, rate: int, a4_hz: float = BANK_A4_HZ, bank: Path | None = None
) -> Sound:
    """
    A band's part at its own loudness, shape (round(seconds * rate), 2).

    The bank's delay before each note is heard is taken off. Another reference pitch is reached by rendering at
    a slightly other rate and as much slower or faster, so that places and tempo stay.
    """
    path = bank or bank_path()
    frames = round(seconds * rate)
    if not part.notes:
        return np.zeros((frames, 2), dtype=np.float32)
    rendered_rate = round(rate * BANK_A4_HZ / a4_hz)
    speed = rate / rendered_rate
    notes = [_early(note, part, path, rate) for note in part.notes]
    sound = _render(notes, part, path, rendered_rate, speed)[round(ROOM_SECONDS * rate) :][:frames]
    loudness = loudness_lufs(sound[: round(MEASURED_SECONDS * rate)], rate=rate)
    gain = 0.0 if loudness <= SILENT_LUFS else 10.0 ** ((part.loudness - loudness) / 20.0)
    out = np.zeros((frames, 2), dtype=np.float32)
    out[: len(sound)] = sound * np.float32(gain)
    return out
