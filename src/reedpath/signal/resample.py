"""Resampling: the same sound at another rate, whole or block by block.

By the soxr library's bandlimited interpolation (its high quality: pass band to 0.91 of the lower Nyquist
frequency, 20 bits), which takes no part in pitch: a tone keeps its frequency.
"""

from __future__ import annotations

import numpy as np

from reedpath.signal.samples import FloatArray, Samples


def resampled(samples: Samples, rate: int) -> Samples:
    """The sound at another rate in hertz, its length kept to within a frame.

    >>> resampled(Samples(np.zeros(44100), 44100), 16000).frames
    16000
    """
    if rate == samples.rate or samples.frames == 0:
        return Samples(samples.array, rate)
    import soxr

    return Samples(soxr.resample(samples.array, samples.rate, rate), rate)


class BlockResampler:
    """Resamples a sound that comes in blocks; memory does not grow with length.

    Call `feed` with each block of one channel and `finish` once; what they return, put together, is the
    whole sound at the new rate, in time with the old one.
    """

    def __init__(self, rate_in: int, rate_out: int) -> None:
        self._stream = None
        if rate_in != rate_out:
            import soxr

            self._stream = soxr.ResampleStream(rate_in, rate_out, 1, dtype="float32")

    def feed(self, block: FloatArray) -> FloatArray:
        """The frames of the new rate that are ready after this block, shape (frames,)."""
        if self._stream is None:
            return block
        return np.asarray(self._stream.resample_chunk(block), dtype=np.float32)

    def finish(self) -> FloatArray:
        """The last frames, shape (frames,)."""
        empty = np.zeros(0, dtype=np.float32)
        if self._stream is None:
            return empty
        return np.asarray(self._stream.resample_chunk(empty, last=True), dtype=np.float32)
