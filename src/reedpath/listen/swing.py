"""Swing: how the two notes that divide a beat are played, against how they are asked.

What divides a beat, and what is asked of it, is told by `beat_divisions`: eighths, even or swung, sixteenths, a
long note and a short one, dotted pairs. Swing moves the second note of a pair and leaves the beats where they are.
So a time map (see `time_map`) is laid through the notes on the beats alone, and says where in its pair each second
note falls: at 1/2 played evenly, at 2/3 in a shuffle. The median of these places is the player's swing. It may lie
off what is asked by as much as soloists' swing, 1.3 to 1 in the middle of 456 solos, lies off even eighths
(Corcoran & Frieler, Music Perception 38(4), 2021): five times what listeners notice, 2.5 % of an interval over 240
ms (Friberg & Sundberg, JASA 98(5), 1995). And nobody need swing more than drummers do at that tempo: 3.5 to 1 near
120 beats a minute, evenly at 300 (Friberg & Sundström, Music Perception 19(3), 2002).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.listen.answer import EventAnswer, SwingHeard
from reedpath.listen.answer_kinds import BeatDivision, FaultKind, Verdict
from reedpath.listen.beat_divisions import FEWEST_ON_BEATS, DivisionAsked, SwingGround
from reedpath.listen.expected import Score, score_of
from reedpath.listen.time_map import time_map

Float64 = npt.NDArray[np.float64]
# stretches of a play-through: places in the score of what was heard, and when it begins
Stretches: TypeAlias = Sequence[tuple[Sequence[int] | npt.NDArray[np.intp], Float64]]

# times that the first half is as long as the second in the solos of swinging players, in the middle (see above)
SOLOISTS = 1.3
# share of the second notes that must lie at least half as far off, on the same side: a habit, and not some notes
HABIT_SHARE = 0.75
# the ratio at which drummers swing is this many beats a minute through the tempo, less 1, and no more than so much
# (a line through the published points, see above)
DRUMMERS_BPM, DRUMMERS_MOST = 600.0, 3.5
# places in a pair that are a second note's at all
FIRST_PLACE, LAST_PLACE = 0.25, 0.9
# pairs to the nearest note on a beat, so that where the beats lie is known
NEAR_PAIRS = 1.01
# seconds that a second note may lie off what is asked however fast: players of jazz trios who were up to 19 ms apart
# were liked best (Journal of New Music Research 46(4), 2017)
LEAST_SECONDS = 0.02
# seconds by which the end of a note and the beginning of the next differ where they meet; rounding only
MEETS_SECONDS = 1e-6


def _place_of(ratio: float) -> float:
    """Where in its beat the second half begins, 0 to 1, where the first is so many times as long."""
    return ratio / (1.0 + ratio)


# shares of a pair that a second note may lie off what is asked: from even eighths to the soloists' swing
TOLERANCE = _place_of(SOLOISTS) - 0.5


def with_swing(route: Route, ratio: float) -> Route:
    """A route whose eighths swing otherwise."""
    swing = Fraction(ratio).limit_denominator(100)
    return replace(route, phrase=replace(route.phrase, swing=swing))


def score_as_played(route: Route, score: Score, grounds: Sequence[SwingGround], told: SwingHeard) -> Score:
    """The events where the swing that is played puts them, so that none is late or early for it."""
    if told.division is BeatDivision.EIGHTHS:
        return score_of(with_swing(route, told.heard))
    ground = next(one for one in grounds if one.division is told.division)
    start, end = score.array("start_seconds"), score.array("end_seconds")
    later = np.where(ground.goes_along, (_place_of(told.heard) - ground.asked.written) * ground.pair_seconds, 0.0)
    # what lasts until a second note begins ends with its beginning
    meets = np.abs(end[:-1] - start[1:]) < MEETS_SECONDS
    longer = np.append(np.where(meets, later[1:], 0.0), 0.0)
    moved = [
        dataclasses.replace(one, start_seconds=float(begins), end_seconds=float(ends))
        for one, begins, ends in zip(score.events, start + later, end + longer, strict=True)
    ]
    return dataclasses.replace(score, events=tuple(moved))


@dataclass(frozen=True, slots=True, eq=False)
class SecondNotes:
    """Second notes of pairs as they were played: arrays of shape (second notes,).

    events : of the route. places : where in its pair each begins, 0 to 1. pair_seconds : length of that pair.
    """

    events: npt.NDArray[np.intp]
    places: Float64
    pair_seconds: Float64


def second_notes(
    ground: SwingGround, heard: Sequence[int] | npt.NDArray[np.intp], heard_seconds: Float64
) -> SecondNotes:
    """
    Where the second notes of pairs were played.

    Parameters
    ----------
    heard : places in the score of the events that were heard, ascending.
    heard_seconds : when they begin.
    """
    nothing = SecondNotes(np.zeros(0, dtype=np.intp), np.zeros(0), np.zeros(0))
    places = np.asarray(heard, dtype=np.intp)
    on, second = ground.on_beat[places], ground.is_second[places]
    if on.sum() < FEWEST_ON_BEATS or not second.any():
        return nothing
    first, last = int(places[0]), int(places[-1])
    due = time_map(ground.even_seconds, ground.beat_seconds, places[on], heard_seconds[on], first=first, last=last)
    beats, at = ground.even_seconds[places[on]], ground.even_seconds[places[second]]
    near = np.abs(at[:, np.newaxis] - beats[np.newaxis, :]).min(axis=1) / ground.pair_seconds[places[second]]
    length = due.pace[places[second] - first] * ground.pair_seconds[places[second]]
    played = ground.asked.written + (heard_seconds[second] - due.due_seconds[places[second] - first]) / length
    kept = (near < NEAR_PAIRS) & (played > FIRST_PLACE) & (played < LAST_PLACE)
    return SecondNotes(ground.events[places[second]][kept], played[kept], length[kept])


def _kind(place: float, asked: DivisionAsked, pair_seconds: float, tolerance: float) -> FaultKind | None:
    """What is not as asked of second notes that lie at one place, in pairs of such a length."""
    drummers = min(max(DRUMMERS_BPM * pair_seconds / 60.0 - 1.0, 1.0), DRUMMERS_MOST)
    wanted = _place_of(asked.ratio)
    least = min(_place_of(asked.least), max(_place_of(drummers), 0.5)) - tolerance
    if place > wanted + tolerance:
        if asked.ratio < 1.0:
            return FaultKind.LONG_FIRST
        return FaultKind.SWUNG if asked.ratio == 1.0 else FaultKind.SWINGS_MORE
    if asked.ratio >= 1.0 and place < least:
        if asked.ratio == 1.0:
            return FaultKind.SHORT_FIRST
        return FaultKind.NOT_SWUNG if place < 0.5 + tolerance / 2 else FaultKind.SWINGS_LESS
    return None


def swing_heard(found: SecondNotes, ground: SwingGround) -> SwingHeard | None:
    """How the second notes of a division were played; None where there are too few of them."""
    asked = ground.asked
    if len(found.places) < asked.fewest:
        return None
    place, wanted, pair_seconds = (
        float(np.median(found.places)),
        _place_of(asked.ratio),
        np.median(found.pair_seconds),
    )
    tolerance = max(TOLERANCE, LEAST_SECONDS / float(pair_seconds))
    kind = _kind(place, asked, float(pair_seconds), tolerance)
    off = (found.places - wanted) * np.sign(place - wanted) > tolerance / 2
    if kind is not None and off.mean() < HABIT_SHARE:
        kind = None
    events = tuple(int(event) for event in found.events[off]) if kind is not None else ()
    return SwingHeard(asked.ratio, place / (1.0 - place), len(found.places), kind, events, ground.division)


def _played(ground: SwingGround, stretches: Stretches) -> SwingHeard | None:
    found = [second_notes(ground, places, seconds) for places, seconds in stretches if len(places)]
    if not found:
        return None
    together = SecondNotes(
        *(np.concatenate([getattr(one, name) for one in found]) for name in ("events", "places", "pair_seconds"))
    )
    return swing_heard(together, ground)


def swing_played(grounds: Sequence[SwingGround], stretches: Stretches) -> SwingHeard | None:
    """
    How the beats of a play-through are divided: of several divisions the one that is most often not as asked.

    Parameters
    ----------
    stretches : each played without going back: the places in the score of what was heard, and when it begins.
    """
    heard = [one for one in (_played(ground, stretches) for ground in grounds) if one is not None]
    return max(heard, key=lambda one: (len(one.events), one.pairs), default=None)


def swing_of_answers(grounds: Sequence[SwingGround], answers: Sequence[EventAnswer]) -> SwingHeard | None:
    """How the beats of a play-through are divided, from what became of its events."""
    if not grounds:
        return None
    place_of = {int(event): place for place, event in enumerate(grounds[0].events)}
    heard = [
        (place_of[one.event], one.start_seconds)
        for one in answers
        if one.verdict is not Verdict.MISSED and not one.covered
    ]
    stretches: list[list[tuple[int, float]]] = [[]]
    for before, one in pairwise([(-1, -np.inf), *heard]):
        if one[0] <= before[0] or one[1] <= before[1]:
            stretches.append([])
        stretches[-1].append(one)
    return swing_played(grounds, [([at for at, _ in one], np.array([s for _, s in one])) for one in stretches])
