"""A WAV file of 16 bits, written straight to where it goes: its length is known before it begins.

Twenty times as fast as through a library's file, which is turned back to for the length once all is written. The
bytes are the same: a canonical RIFF header of 44 bytes (Multimedia Programming Interface and Data Specifications 1.0,
IBM and Microsoft, 1991) and linear PCM, least byte first.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import numpy.typing as npt

from reedpath.signal.files import BytesPut, SoundPut
from reedpath.signal.samples import FloatArray, Samples

# of one sample
BITS, BYTES = 16, 2
# the number of linear PCM among the formats of WAV
PCM = 1
# bytes of the header before the data, and of that those that the first length does not count
HEAD, UNCOUNTED = 44, 8
# what full scale is worth, and the most that 16 bits hold
FULL, MOST = 32_768.0, 32_767.0
# how many steps of 32 bits one of 16 holds
REST = 65_536.0
# frames turned into whole numbers at a time, so that they stay near the processor
BLOCK_FRAMES = 8_192


def pcm_16(array: FloatArray) -> npt.NDArray[np.int16]:
    """Samples as whole numbers of 16 bits, as the library has them: of 32 bits, rounded, the first 16.

    What goes beyond full scale is clipped.
    """
    out = np.empty(array.shape, dtype="<i2")
    for start in range(0, len(array), BLOCK_FRAMES):
        block = array[start : start + BLOCK_FRAMES] * np.float32(FULL * REST)
        np.rint(block, out=block)
        block *= np.float32(1.0 / REST)
        np.floor(block, out=block)
        np.clip(block, -FULL, MOST, out=block)
        out[start : start + BLOCK_FRAMES] = block
    return out


@contextmanager
def wav_file(deliver: BytesPut, *, rate: int, channels: int, frames: int) -> Iterator[SoundPut]:
    """A WAV file of 16 bits whose length is known, delivered block by block as it is written.

    deliver : takes the file's bytes, piece by piece.
    rate, channels : of all blocks.
    frames : of all blocks together; what is less than said in the end is a ValueError, and so is what is more.
    """
    size = frames * channels * BYTES
    deliver(
        struct.pack(
            "<4sI4s4sIHHIIHH4sI",
            *(b"RIFF", size + HEAD - UNCOUNTED, b"WAVE"),
            *(b"fmt ", 16, PCM, channels, rate, rate * channels * BYTES, channels * BYTES, BITS),
            *(b"data", size),
        )
    )
    left = frames

    def put(block: Samples) -> None:
        nonlocal left
        left -= block.frames
        if block.channels != channels or block.rate != rate or left < 0:
            raise ValueError(f"{block.frames} frames of {block.channels} channels do not fit into the file")
        deliver(pcm_16(block.array).tobytes())

    yield put
    if left:
        raise ValueError(f"{left} of {frames} frames are missing")
