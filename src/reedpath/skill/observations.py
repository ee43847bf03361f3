"""From an answer to what it says of a student's skill, event by event."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.listen import AnswerFile, PlayAnswer, Verdict
from reedpath.skill.demands import TECHNIQUES, SkillTechnique, demands_of

# shares of a tempo are told apart to so many decimals; finer is not played
_TEMPO_DECIMALS = 1


class SkillObservation(Struct, frozen=True):
    """One event as it was played once.

    technique : what it asks above all. points : of effort, for the reference level at the tempo that was played.
    right : whether nothing is wrong with it.
    cents, late_ms : how far off, None where it was not played or that can't be told.
    weight : of an event that was played several times in a take, less each time.
    """

    technique: SkillTechnique
    points: float
    right: bool
    cents: float | None = None
    late_ms: float | None = None
    weight: float = 1.0


def _agrees(answer: AnswerFile, route: Route) -> bool:
    events = route.events
    return all(
        one.event < len(events) and events[one.event].choice.move == one.move
        for play in answer.plays
        for one in play.events
    )


def route_answered(answer: AnswerFile, routes: Sequence[Route]) -> Route | None:
    """That of several routes which an answer is about; None where nothing was played, or the route is another now."""
    if not answer.plays:
        return None
    return next((one for one in routes if _agrees(answer, one)), None)


def _of_play(play: PlayAnswer, route: Route, times: Counter[int]) -> Iterator[SkillObservation]:
    demands = demands_of(route, max(0.1, round(play.tempo.factor, _TEMPO_DECIMALS)))
    asked = {
        int(event): (TECHNIQUES[technique], float(points))
        for event, technique, points in zip(demands.events, demands.technique, demands.points, strict=True)
    }
    for one in play.events:
        if one.event not in asked or one.covered:
            continue
        technique, points = asked[one.event]
        is_played = one.verdict is Verdict.PLAYED
        yield SkillObservation(
            technique,
            points,
            not one.faults,
            one.cents if is_played else None,
            None if one.late_seconds is None or not is_played else 1000.0 * one.late_seconds,
            # what was played again in the same breath says less that is new; ours
            times[one.event] ** -0.5,
        )


def observations_of(answer: AnswerFile, route: Route) -> tuple[SkillObservation, ...]:
    """What an answer to a take of a route says, play-through by play-through."""
    times = Counter(one.event for play in answer.plays for one in play.events)
    return tuple(seen for play in answer.plays for seen in _of_play(play, route, times))
