"""The next step after a take: one thing to do, at a tempo.

Below four notes in five as asked it is slower, or the place that failed by itself: three right runs in a row take 6.4
tries on average at a success rate of 0.7 and 4.8 at 0.8 (arithmetic), and what is left the next day goes with the
share of correct runs and the number of wrong ones, not with the number of all (Duke, Simmons & Cash, JRME 56(4),
2009); so it goes faster only from what is right. What is right at its tempo is
played again on another day: accuracy rises after a night (Simmons, JRME 59(4), 2012).
"""

from __future__ import annotations

from itertools import pairwise

from reedpath.arrange import Route
from reedpath.listen.advice import OF_AIR, OF_SWING, OF_TEMPO
from reedpath.listen.answer import NextStep, PlayAnswer
from reedpath.listen.answer_kinds import NextStepKind
from reedpath.listen.play_through import HarpHeard
from reedpath.phrase import timing_of

# share of the notes as asked below which it is slower, and from which on it is done with: faster, or the rest; ours
AIM, DONE = 0.8, 0.95
# share of the route that is a rest to be played; less is a note left out at an end; ours
LEAST_REST = 0.1
# share of the tempo that is full; ours
FULL = 0.95
# share of the tempo that was played at which a place is played apart, or the whole slower; and at which the eighths
# or the tempo are practised with the click; ours, like rungs of the ladder (`lesson`)
APART, WITH_CLICK = 0.7, 0.85
# share of the tempo by which it goes faster: a step of the ladder
STEP = 0.1


def _rest_of(play: PlayAnswer, route: Route) -> tuple[int, int] | None:
    """The first and the last event of what is not played: before the play-through, after it, or between parts."""
    if play.play.whole or play.play.cut_off:
        return None
    last = len(route.events) - 1
    played = [-1, *(one.event for one in play.play.events), last + 1]
    rest = max(((before + 1, after - 1) for before, after in pairwise(played)), key=lambda ends: ends[1] - ends[0])
    return rest if rest[1] - rest[0] + 1 >= LEAST_REST * (last + 1) else None


def is_in_part(play: PlayAnswer, route: Route) -> bool:
    """Whether a good part of the route is not played, though the recording goes on."""
    return _rest_of(play, route) is not None


def next_step_of(play: PlayAnswer, route: Route, harp_heard: HarpHeard | None = None) -> NextStep:
    """What comes next after a play-through.

    harp_heard : another harp or octave than the lesson's.
    """
    written, factor = timing_of(route.phrase).bpm_at(0), play.tempo.factor
    kinds = {thing.kind for thing in play.practise}
    if harp_heard is not None:
        return NextStep(NextStepKind.HARP)
    if play.right_share < AIM:
        slower = written * factor * APART
        if not play.spots:
            return NextStep(NextStepKind.SLOWER, slower)
        spot = max(play.spots, key=lambda one: one.last - one.first)
        return NextStep(NextStepKind.APART, slower, spot.first, spot.last)
    if kinds & OF_SWING:
        return NextStep(NextStepKind.SWING, written * factor * WITH_CLICK)
    if kinds & OF_TEMPO:
        return NextStep(NextStepKind.CLICK, written * factor * WITH_CLICK)
    if play.right_share < DONE:
        return NextStep(NextStepKind.AGAIN, written * factor)
    rest = _rest_of(play, route)
    if rest is not None:
        return NextStep(NextStepKind.REST, written * min(1.0, factor), *rest)
    if play.is_by_parts:
        return NextStep(NextStepKind.TOGETHER, written * min(1.0, factor))
    if factor < FULL:
        return NextStep(NextStepKind.FASTER, written * min(1.0, factor + STEP))
    if kinds - OF_AIR:
        return NextStep(NextStepKind.AGAIN, written * factor)
    return NextStep(NextStepKind.TOMORROW)
