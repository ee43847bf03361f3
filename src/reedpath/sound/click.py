"""The click: a small wooden knock for each counted beat, higher and louder on the first of a bar.

Where a band plays, a bell counts the student in: it is heard through the band, and is no click that goes on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

# hertz and relative strength of the knock's modes, a plain beat's; our choice
MODES = ((1180.0, 1.0), (1930.0, 0.5), (3270.0, 0.3))
# ratio of a first beat's pitch to a plain one's; our choice
FIRST_RATIO = 1.5
# seconds for the knock to fall to a third, and its whole length; our choice
FALL_SECONDS, LENGTH_SECONDS = 0.011, 0.09
# decibels full scale of a knock's peak: first beat, plain beat; our choice
FIRST_DB, PLAIN_DB = -14.0, -18.0
# the same of a bell: its modes as 1 to 2.7 to 5.2, about those of a bar that is struck free (Fletcher & Rossing, "The
# Physics of Musical Instruments", 1998, section 2.18, from memory), over what a harmonica's reeds sound; our choice
BELL_MODES = ((2300.0, 1.0), (6200.0, 0.4), (11960.0, 0.15))
BELL_FALL_SECONDS, BELL_LENGTH_SECONDS = 0.07, 0.4
BELL_FIRST_DB, BELL_PLAIN_DB = -11.0, -14.0
# seconds within which a click is at a moment, not before it: more than sums are rounded by, less than can be heard
SAME_MOMENT = 1e-6


@dataclass(frozen=True, slots=True)
class Click:
    """One knock.

    seconds : when.
    first : whether it is the first beat of a bar.
    """

    seconds: float
    first: bool


def counted_in(clicks: Iterable[Click], until: float) -> Iterator[tuple[Click, int]]:
    """The clicks before a moment, each with its number in the bar, as they are counted aloud."""
    number = 0
    for click in clicks:
        if click.seconds < until - SAME_MOMENT:
            number = 1 if click.first else number + 1
            yield click, number


@dataclass(frozen=True, slots=True)
class _Percussion:
    """What is struck: its modes, how fast it falls silent, and how loud it is."""

    modes: tuple[tuple[float, float], ...]
    fall_seconds: float
    length_seconds: float
    first_db: float
    plain_db: float


_KNOCK = _Percussion(MODES, FALL_SECONDS, LENGTH_SECONDS, FIRST_DB, PLAIN_DB)
_BELL = _Percussion(BELL_MODES, BELL_FALL_SECONDS, BELL_LENGTH_SECONDS, BELL_FIRST_DB, BELL_PLAIN_DB)


@lru_cache(maxsize=8)
def _stroke(what: _Percussion, rate: int, *, first: bool) -> npt.NDArray[np.float32]:
    times = np.arange(round(what.length_seconds * rate)) / rate
    ratio = FIRST_RATIO if first else 1.0
    lowest = what.modes[0][0]
    sound = sum(
        strength * np.sin(2.0 * np.pi * hz * ratio * times) * np.exp(-times * (hz / lowest) / what.fall_seconds)
        for hz, strength in what.modes
        if hz * ratio < rate / 2
    )
    fade = np.minimum(1.0, (len(times) - 1 - np.arange(len(times))) / (0.005 * rate))
    sound = np.asarray(sound) * np.minimum(fade, 1.0)
    level = 10.0 ** ((what.first_db if first else what.plain_db) / 20.0)
    return np.asarray(sound * (level / np.abs(sound).max()), dtype=np.float32)


def _rendered(what: _Percussion, clicks: Iterable[Click], seconds: float, rate: int) -> npt.NDArray[np.float32]:
    out = np.zeros(round(seconds * rate), dtype=np.float32)
    for click in clicks:
        stroke, at = _stroke(what, rate, first=click.first), round(click.seconds * rate)
        end = min(at + len(stroke), len(out))
        if 0 <= at < end:
            out[at:end] += stroke[: end - at]
    return out


def render_clicks(clicks: Iterable[Click], *, seconds: float, rate: int) -> npt.NDArray[np.float32]:
    """The knocks, shape (round(seconds * rate),), float32; each starts on the nearest sample."""
    return _rendered(_KNOCK, clicks, seconds, rate)


def render_bells(clicks: Iterable[Click], *, seconds: float, rate: int) -> npt.NDArray[np.float32]:
    """The same beats struck on a bell."""
    return _rendered(_BELL, clicks, seconds, rate)
