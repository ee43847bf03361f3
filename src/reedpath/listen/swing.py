"""Swing: how the two halves of a beat are played, against how they are asked.

Swing moves the second half of a beat and leaves the beats where they are. So a time map (see `time_map`) is laid
through the notes on the beats alone, and says where in its beat each note on a second half falls: at 1/2 played
evenly, at 2/3 in a shuffle. The median of these places is the player's swing. It may lie off what is asked by as much
as soloists' swing, 1.3 to 1 in the middle of 456 solos, lies off even eighths (Corcoran & Frieler, Music Perception
38(4), 2021): five times what listeners notice, 2.5 % of an interval over 240 ms (Friberg & Sundberg, JASA 98(5),
1995). And nobody need swing more than drummers do at that tempo: 3.5 to 1 near 120 beats a minute, evenly at 300
(Friberg & Sundström, Music Perception 19(3), 2002).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.listen.answer import EventAnswer, SwingHeard, Verdict
from reedpath.listen.answer_kinds import FaultKind
from reedpath.listen.expected import Score
from reedpath.listen.time_map import time_map
from reedpath.phrase import Phrase, metre_at, timing_of

__all__ = ["SwingGround", "swing_ground", "swing_of_answers", "swing_played", "with_swing"]

Float64 = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# second halves of beats, and notes on beats, that must be heard for anything to be told; common practice, no source
FEWEST_PAIRS, FEWEST_ON_BEATS = 5, 4
# times that the first half is as long as the second in the solos of swinging players, in the middle (see above)
SOLOISTS = 1.3
# share of the second halves that must lie at least half as far off, on the same side: a habit, and not some notes
HABIT_SHARE = 0.75
# the ratio at which drummers swing is this many beats a minute through the tempo, less 1, and no more than so much
# (a line through the published points, see above)
DRUMMERS_BPM, DRUMMERS_MOST = 600.0, 3.5
# places in a beat that are a second half at all
FIRST_PLACE, LAST_PLACE = 0.25, 0.9
# beats to the nearest note on a beat, so that where the beats lie is known
NEAR_BEATS = 1.01
# lower number of a metre up to which quarters have halves of their own; not those of 6/8 or 7/8
SHORTEST_UNIT = 4
HALF = Fraction(1, 2)


def _place_of(ratio: float) -> float:
    """Where in its beat the second half begins, 0 to 1, where the first is so many times as long."""
    return ratio / (1.0 + ratio)


# shares of a beat that a second half may lie off what is asked: from even eighths to the soloists' swing
TOLERANCE = _place_of(SOLOISTS) - 0.5


@dataclass(frozen=True, slots=True, eq=False)
class SwingGround:
    """What a route lets one ask of swing; arrays of shape (events of the score,).

    asked : times that the first half of a beat is as long as the second.
    even_seconds : onsets at the written tempo, all beats halved evenly. beat_seconds : length of a beat there.
    on_beat : which begin on a beat. on_half : which begin the second half of a beat that has no finer notes.
    events : their indexes in the route.
    """

    asked: float
    even_seconds: Float64
    beat_seconds: Float64
    on_beat: Bools
    on_half: Bools
    events: npt.NDArray[np.intp]


def _finer_beats(phrase: Phrase, phase: Fraction) -> set[int]:
    """Beats, counted from the phase, that hold other notes than those of their halves."""
    straight = timing_of(replace(phrase, swing=Fraction(2))).straight_beats
    onsets = (event.onset - phase for event in phrase.events if not event.grace)
    return set(straight) | {int(onset // 1) for onset in onsets if onset % 1 not in (0, HALF)}


def swing_ground(route: Route, score: Score) -> SwingGround | None:
    """What a route lets one ask of swing; None where too few of its beats are parted into halves."""
    phrase = route.phrase
    phase, even = phrase.pickup % 1, timing_of(replace(phrase, swing=Fraction(1)))
    finer = _finer_beats(phrase, phase)
    on_beat, on_half, seconds = [], [], []
    for expected in score.events:
        one = route.events[expected.index]
        metre, place = metre_at(phrase, one.event.onset), one.event.onset - phase
        plain = not (one.event.grace or one.choice.lead_in or one.choice.attack_semitones)
        on_beat.append(plain and place % 1 == 0)
        on_half.append(plain and metre.unit <= SHORTEST_UNIT and place % 1 == HALF and int(place // 1) not in finer)
        seconds.append(even.seconds_at(one.event.onset))
    ground = SwingGround(
        asked=float(phrase.swing),
        even_seconds=np.array(seconds),
        beat_seconds=score.array("beat_seconds"),
        on_beat=np.array(on_beat, dtype=np.bool_),
        on_half=np.array(on_half, dtype=np.bool_),
        events=np.array([one.index for one in score.events], dtype=np.intp),
    )
    enough = ground.on_half.sum() >= FEWEST_PAIRS and ground.on_beat.sum() >= FEWEST_ON_BEATS
    return ground if enough else None


def with_swing(route: Route, ratio: float) -> Route:
    """A route whose eighths swing otherwise."""
    swing = Fraction(ratio).limit_denominator(100)
    return replace(route, phrase=replace(route.phrase, swing=swing))


@dataclass(frozen=True, slots=True, eq=False)
class SecondHalves:
    """Second halves of beats as they were played: arrays of shape (second halves,).

    events : of the route. places : where in its beat each begins, 0 to 1. beat_seconds : length of that beat.
    """

    events: npt.NDArray[np.intp]
    places: Float64
    beat_seconds: Float64


def second_halves(
    ground: SwingGround, heard: Sequence[int] | npt.NDArray[np.intp], heard_seconds: Float64
) -> SecondHalves:
    """
    Where the second halves of beats were played.

    Parameters
    ----------
    heard : places in the score of the events that were heard, ascending.
    heard_seconds : when they begin.
    """
    nothing = SecondHalves(np.zeros(0, dtype=np.intp), np.zeros(0), np.zeros(0))
    places = np.asarray(heard, dtype=np.intp)
    on, half = ground.on_beat[places], ground.on_half[places]
    if on.sum() < FEWEST_ON_BEATS or not half.any():
        return nothing
    first, last = int(places[0]), int(places[-1])
    due = time_map(ground.even_seconds, ground.beat_seconds, places[on], heard_seconds[on], first=first, last=last)
    beats, at = ground.even_seconds[places[on]], ground.even_seconds[places[half]]
    near = np.abs(at[:, np.newaxis] - beats[np.newaxis, :]).min(axis=1) / ground.beat_seconds[places[half]]
    length = due.pace[places[half] - first] * ground.beat_seconds[places[half]]
    played = 0.5 + (heard_seconds[half] - due.due_seconds[places[half] - first]) / length
    kept = (near < NEAR_BEATS) & (played > FIRST_PLACE) & (played < LAST_PLACE)
    return SecondHalves(ground.events[places[half]][kept], played[kept], length[kept])


def _kind(place: float, asked: float, beat_seconds: float) -> FaultKind | None:
    """What is not as asked of second halves that lie at one place, in beats of such a length."""
    drummers = min(max(DRUMMERS_BPM * beat_seconds / 60.0 - 1.0, 1.0), DRUMMERS_MOST)
    wanted = _place_of(asked)
    least = min(wanted, max(_place_of(drummers), 0.5)) - TOLERANCE
    if place > wanted + TOLERANCE:
        if asked < 1.0:
            return FaultKind.LONG_FIRST
        return FaultKind.SWUNG if asked == 1.0 else FaultKind.SWINGS_MORE
    if asked >= 1.0 and place < least:
        if asked == 1.0:
            return FaultKind.SHORT_FIRST
        return FaultKind.NOT_SWUNG if place < 0.5 + TOLERANCE / 2 else FaultKind.SWINGS_LESS
    return None


def swing_heard(halves: SecondHalves, asked: float) -> SwingHeard | None:
    """How second halves were played; None where there are too few of them."""
    if len(halves.places) < FEWEST_PAIRS:
        return None
    place, wanted = float(np.median(halves.places)), _place_of(asked)
    kind = _kind(place, asked, float(np.median(halves.beat_seconds)))
    off = (halves.places - wanted) * np.sign(place - wanted) > TOLERANCE / 2
    if kind is not None and off.mean() < HABIT_SHARE:
        kind = None
    events = tuple(int(event) for event in halves.events[off]) if kind is not None else ()
    return SwingHeard(asked, place / (1.0 - place), len(halves.places), kind, events)


def swing_played(
    ground: SwingGround | None, stretches: Sequence[tuple[Sequence[int] | npt.NDArray[np.intp], Float64]]
) -> SwingHeard | None:
    """
    How the eighths of a play-through swing.

    Parameters
    ----------
    stretches : each played without going back: the places in the score of what was heard, and when it begins.
    """
    if ground is None:
        return None
    found = [second_halves(ground, places, seconds) for places, seconds in stretches if len(places)]
    if not found:
        return None
    together = SecondHalves(
        *(np.concatenate([getattr(one, name) for one in found]) for name in ("events", "places", "beat_seconds"))
    )
    return swing_heard(together, ground.asked)


def swing_of_answers(ground: SwingGround | None, answers: Sequence[EventAnswer]) -> SwingHeard | None:
    """How the eighths of a play-through swing, from what became of its events."""
    if ground is None:
        return None
    place_of = {int(event): place for place, event in enumerate(ground.events)}
    heard = [(place_of[one.event], one.start_seconds) for one in answers if one.verdict is not Verdict.MISSED]
    stretches: list[list[tuple[int, float]]] = [[]]
    for before, one in pairwise([(-1, -np.inf), *heard]):
        if one[0] <= before[0] or one[1] <= before[1]:
            stretches.append([])
        stretches[-1].append(one)
    return swing_played(ground, [([at for at, _ in one], np.array([s for _, s in one])) for one in stretches])
