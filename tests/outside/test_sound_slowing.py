"""Recorded harmonica notes slowed to a third keep their pitch, by Praat's tracker (praat-parselmouth).

The notes are those of FluidR3_GM.sf2 (MIT; Debian's fluid-soundfont-gm), read where it is installed.
"""

from __future__ import annotations

import numpy as np
import parselmouth
import pytest

from reedpath.pitch import midi_to_hz
from reedpath.signal import Samples, slowed
from support.sample_bank import FLUID_BANK, read_harmonica

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="Debian's fluid-soundfont-gm is not installed"),
]


def median_hz(samples: np.ndarray, rate: int) -> float:
    middle = samples[int(0.3 * len(samples)) : int(0.9 * len(samples))]
    pitch = parselmouth.Sound(middle.astype(np.float64), rate).to_pitch_ac(
        time_step=0.005, pitch_floor=110.0, pitch_ceiling=3000.0
    )
    hz = pitch.selected_array["frequency"]
    return float(np.median(hz[hz > 0]))


def test_a_recording_at_a_third_of_its_speed_keeps_its_pitch() -> None:
    off = []
    for note in read_harmonica():
        slow = slowed(Samples(note.samples.astype(np.float32), note.rate), 1 / 3)
        assert slow.frames == 3 * len(note.samples)
        before, after = median_hz(note.samples, note.rate), median_hz(slow.array[:, 0], note.rate)
        assert abs(1200 * np.log2(before / midi_to_hz(note.midi))) < 5.0
        off.append(1200 * np.log2(after / before))
    assert np.max(np.abs(off)) < 3.0, off
