"""The click: a small wooden knock for each counted beat, higher and louder on the first of a bar."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

__all__ = ["Click", "render_clicks"]

# hertz and relative strength of the knock's modes, a plain beat's; our choice
MODES = ((1180.0, 1.0), (1930.0, 0.5), (3270.0, 0.3))
# ratio of a first beat's pitch to a plain one's; our choice
FIRST_RATIO = 1.5
# seconds for the knock to fall to a third, and its whole length; our choice
FALL_SECONDS, LENGTH_SECONDS = 0.011, 0.09
# decibels full scale of a knock's peak: first beat, plain beat; our choice
FIRST_DB, PLAIN_DB = -14.0, -18.0


@dataclass(frozen=True, slots=True)
class Click:
    """One knock.

    seconds : when.
    first : whether it is the first beat of a bar.
    """

    seconds: float
    first: bool


@lru_cache(maxsize=8)
def _knock(rate: int, *, first: bool) -> npt.NDArray[np.float32]:
    times = np.arange(round(LENGTH_SECONDS * rate)) / rate
    ratio = FIRST_RATIO if first else 1.0
    sound = sum(
        strength * np.sin(2.0 * np.pi * hz * ratio * times) * np.exp(-times * (hz / MODES[0][0]) / FALL_SECONDS)
        for hz, strength in MODES
    )
    fade = np.minimum(1.0, (len(times) - 1 - np.arange(len(times))) / (0.005 * rate))
    sound = np.asarray(sound) * np.minimum(fade, 1.0)
    level = 10.0 ** ((FIRST_DB if first else PLAIN_DB) / 20.0)
    return np.asarray(sound * (level / np.abs(sound).max()), dtype=np.float32)


def render_clicks(clicks: Iterable[Click], *, seconds: float, rate: int) -> npt.NDArray[np.float32]:
    """The knocks, shape (round(seconds * rate),), float32; each starts on the nearest sample."""
    out = np.zeros(round(seconds * rate), dtype=np.float32)
    for click in clicks:
        knock, at = _knock(rate, first=click.first), round(click.seconds * rate)
        end = min(at + len(knock), len(out))
        if 0 <= at < end:
            out[at:end] += knock[: end - at]
    return out
