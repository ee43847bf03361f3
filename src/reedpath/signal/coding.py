"""Coding: a sound through an encoder of the av library into its file.

Every frame is given its time: without it some formats start late.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from reedpath.signal.samples import Samples

__all__ = ["code_sound"]

# frames handed to the encoder at a time
BLOCK_FRAMES = 16_384


def code_sound(file: Any, stream: Any, sound: Samples, *, form: str, bits_per_second: int) -> None:
    """Write a sound of one or two channels to its end.

    Parameters
    ----------
    file, stream : av's container, open for writing, and the stream added to it for the sound's rate.
    form : av's name of the sample form that the encoder takes.
    """
    import av

    layout = "stereo" if sound.channels == 2 else "mono"
    stream.bit_rate, stream.layout = bits_per_second, layout
    converter = av.AudioResampler(format=form, layout=layout, rate=sound.rate)
    for start in range(0, sound.frames, BLOCK_FRAMES):
        block = np.ascontiguousarray(np.clip(sound.array[start : start + BLOCK_FRAMES].T, -1.0, 1.0))
        frame = av.AudioFrame.from_ndarray(block, format="fltp", layout=layout)
        frame.sample_rate, frame.pts, frame.time_base = sound.rate, start, Fraction(1, sound.rate)
        for made in converter.resample(frame):
            file.mux(stream.encode(made))
    for made in converter.resample(None):
        file.mux(stream.encode(made))
    file.mux(stream.encode(None))
