"""Slowing a recording down without changing its pitch.

By the signalsmith-stretch method of the python-stretch package (MIT): a spectral stretch that carries phases
along peaks. What starts suddenly is smeared by about 5 ms of the original, times the slowing.
"""

from __future__ import annotations

import numpy as np

from reedpath.errors import SoundError
from reedpath.signal.samples import Samples

# share of the full speed, a third as one writes it; slower the method is no longer clean (tried)
SLOWEST = 0.33
# share of the full speed; a student's tool slows down, and a little faster is all that is asked of it
FASTEST = 1.5
# seconds; a shorter sound is less than the method's own window
SHORTEST_SECONDS = 0.2


def slowed(samples: Samples, factor: float) -> Samples:
    """
    The sound at ``factor`` times its speed, its pitch as it was.

    factor : share of the full speed, 1/3 to 1.5; a length of n frames becomes round(n / factor).

    Raises `SoundError` for a factor outside these bounds.
    """
    if not SLOWEST <= factor <= FASTEST:
        raise SoundError("signal.speed", factor=factor, most=FASTEST)
    frames = round(samples.frames / factor)
    if factor == 1.0 or samples.frames == 0:
        return samples
    import python_stretch

    least = round(SHORTEST_SECONDS * samples.rate)
    padded = np.pad(samples.array, ((0, max(0, least - samples.frames)), (0, 0)))
    stretch = python_stretch.Signalsmith.Stretch()
    stretch.preset(samples.channels, float(samples.rate))
    stretch.setTimeFactor(factor)
    made = np.asarray(stretch.process(np.ascontiguousarray(padded.T, dtype=np.float32))).T[:frames]
    return Samples(np.pad(made, ((0, frames - len(made)), (0, 0))), samples.rate)
