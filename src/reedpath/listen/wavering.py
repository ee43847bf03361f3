"""Wavering: whether a player holds notes with a vibrato, whose dips of level are no strikes.

Throat and hand make a reed louder and softer several times a second; in a room such a dip is as deep as that of a
tongued reed. But the tongue stops a reed at once and lets it go at once, a vibrato does neither; and a vibrato comes
round again and again, in one note and in the next. So a dip is of a vibrato if it comes and goes slowly, and if the
note has several evenly apart, or the player's other notes have.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from reedpath.hear.peaks import prominent_peaks
from reedpath.listen.own_partials import HOP_SECONDS, OwnLevel

# decibels that a dip is deep at least
LEAST_DB = 3.0
# values of level over which its fall and rise are taken (24 ms), before and after a dip within which they lie
# (0.13 s), and decibels from which they are a tongue's. Glued takes (tuning half): the slower of the two is over
# 8.3 dB for 95 of 100 strikes in a room, over 21 elsewhere, and under 7.8 for 95 of 100 dips of a vibrato of 12 dB
STEEP_STEPS, NEAR_STEPS, STEEP_DB = 3, 16, 8.5
# seconds from one dip to the next: vibratos have 2.5 to 9 a second (common practice, no source); share by which these
# may vary, and in how many of them they vary no more
APART_SECONDS, VARIES, STEADY = (0.11, 0.4), 0.3, 0.6
# steps from dip to dip that make a vibrato: in one note, and in all notes of a play-through
STEPS_OF_NOTE, STEPS_OF_PLAY = 2, 4
# seconds before and after a strike within which its dip lies: it is told a little after it
BEFORE_STRIKE, AFTER_STRIKE = 0.09, 0.04
# decibels by which a level rises in those 24 ms at a strike, whoever plays (6.6 for 99 of 100 in a room), and of a
# dip that is deep enough without: breath that stops and comes again
RISES_DB, DEEP_DB = 5.0, 12.0


def _steepest(level: np.ndarray) -> float:
    """Decibels of the steepest rise in a stretch of level."""
    return float((level[STEEP_STEPS:] - level[:-STEEP_STEPS]).max()) if len(level) > STEEP_STEPS else 0.0


def _dips(level: OwnLevel, start_seconds: float, end_seconds: float) -> tuple[list[float], list[float]]:
    """Seconds of the dips between two times: those that come or go slowly, and those of a tongue."""
    inside = level.between(start_seconds, end_seconds).astype(np.float64)
    if len(inside) < 2 * STEEP_STEPS:
        return [], []
    places, _ = prominent_peaks(-inside, prominence=LEAST_DB)
    begins = max(level.start_seconds, start_seconds)
    slow: list[float] = []
    steep: list[float] = []
    for place in places:
        fall = _steepest(inside[max(0, place - NEAR_STEPS) : place + 1][::-1])
        rise = _steepest(inside[place : place + NEAR_STEPS])
        (steep if min(fall, rise) > STEEP_DB else slow).append(begins + float(place) * HOP_SECONDS)
    return slow, steep


def slow_dips(level: OwnLevel, start_seconds: float, end_seconds: float) -> list[float]:
    """
    Seconds at which a level dips between two times, and comes or goes slowly.

    >>> at = np.arange(0.0, 1.0, HOP_SECONDS)
    >>> swinging = OwnLevel(0.0, (-20.0 + 4.0 * np.cos(2 * np.pi * 5.0 * at)).astype(np.float32))
    >>> [round(dip, 1) for dip in slow_dips(swinging, 0.0, 1.0)]
    [0.1, 0.3, 0.5, 0.7, 0.9]
    """
    return _dips(level, start_seconds, end_seconds)[0]


def _steps(dips: Sequence[float]) -> list[float]:
    """Seconds from each dip to the next, where dips too near for two of a vibrato are one: a room parts them."""
    whole: list[list[float]] = []
    for dip in dips:
        if whole and dip - whole[-1][0] < APART_SECONDS[0]:
            whole[-1].append(dip)
        else:
            whole.append([dip])
    return [float(step) for step in np.diff([np.mean(one) for one in whole])]


def _is_regular(steps: Sequence[float], least: int) -> bool:
    """Whether so many steps from dip to dip are those of a vibrato."""
    if len(steps) < least:
        return False
    usual = float(np.median(steps))
    near = np.abs(np.array(steps) - usual) < VARIES * usual
    return APART_SECONDS[0] < usual < APART_SECONDS[1] and float(near.mean()) >= STEADY


class Waver:
    """What is known of the vibrato of a play-through.

    in_play : whether the player's notes waver, taken together: then a single slow dip is of it too.
    """

    def __init__(self, *, in_play: bool) -> None:
        self.in_play = in_play

    def without_its_dips(
        self, strikes: Sequence[float], level: OwnLevel, start_seconds: float, end_seconds: float
    ) -> list[float]:
        """
        The strikes that are none of a vibrato's dips.

        Parameters
        ----------
        strikes : seconds. level : of the event's own partials.
        start_seconds, end_seconds : of the event, or of what is held of it.
        """
        if not strikes:
            return []
        strikes = [at for at in strikes if _rises(level, at)]
        slow, steep = _dips(level, start_seconds, end_seconds)
        if not (self.in_play or _is_regular(_steps(slow), STEPS_OF_NOTE)):
            return list(strikes)
        return [at for at in strikes if _near(steep, at) or not _near(slow, at)]


def _rises(level: OwnLevel, at_seconds: float) -> bool:
    """Whether a level rises at a strike as it does where something is struck, and not as hands open."""
    near = level.between(at_seconds - BEFORE_STRIKE, at_seconds + BEFORE_STRIKE).astype(np.float64)
    deep = float(near.max() - near.min()) if len(near) else np.inf
    return deep > DEEP_DB or _steepest(near) > RISES_DB


def _near(dips: Iterable[float], at_seconds: float) -> bool:
    return any(at_seconds - BEFORE_STRIKE < dip < at_seconds + AFTER_STRIKE for dip in dips)


def waver_of(levels: Iterable[tuple[OwnLevel, float, float]]) -> Waver:
    """The vibrato of a play-through, from the level of each of its events and the times between which it is held."""
    steps = [step for level, start, end in levels for step in _steps(slow_dips(level, start, end))]
    return Waver(in_play=_is_regular(steps, STEPS_OF_PLAY))
