"""The sound bank: where the band's instruments are, and how a part is sounded with it.

FluidR3 (MIT; Debian's fluid-soundfont-gm) is used where it is installed, else the bank inside the pretty_midi
wheel (TimGM6mb, GPL-2), whose bass, drums, guitars and piano are good enough to practise with.
"""

from __future__ import annotations

import importlib.util
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from reedpath.errors import SoundError
from reedpath.sound.band.playing import BandPart
from reedpath.sound.band.sampler import sample_note
from reedpath.sound.band.soundfont import open_bank
from reedpath.sound.loudness import SILENT_LUFS, loudness_lufs

__all__ = ["bank_path", "sound_part"]

# where Debian puts FluidR3, and the wheel's own bank
INSTALLED_BANKS = (Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"),)
WHEEL, WHEEL_BANK = "pretty_midi", "TimGM6mb.sf2"
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


def sound_part(part: BandPart, *, seconds: float, rate: int, a4_hz: float = 440.0, bank: Path | None = None) -> Sound:
    """
    A band's part at its own loudness, shape (round(seconds * rate), 2).

    Each note is moved so that it is heard when it should be, whatever its sample's own delay.

    Parameters
    ----------
    a4_hz : reference pitch of all but drums.
    bank : a SoundFont 2 file; None for the one that is installed.
    """
    opened = open_bank(bank or bank_path())
    frames = round(seconds * rate)
    out = np.zeros((frames, 2), dtype=np.float32)
    for note in part.notes:
        held_ms = max(1, round(note.seconds * 1000))
        made = sample_note(
            opened, part.program, note.midi, note.velocity, held_ms, drums=part.drums, rate=rate, a4_hz=a4_hz
        )
        start = round((note.start_seconds - made.delay_seconds) * rate)
        first, last = max(start, 0), min(start + len(made.sound), frames)
        if first < last:
            out[first:last] += made.sound[first - start : last - start]
    loudness = loudness_lufs(out[: round(MEASURED_SECONDS * rate)], rate=rate)
    if loudness > SILENT_LUFS:
        out *= np.float32(10.0 ** ((part.loudness - loudness) / 20.0))
    return out
