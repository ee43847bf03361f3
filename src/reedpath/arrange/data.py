"""Routes and surveys as plain data, in the documented shape of ``--json`` (docs/json.md)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reedpath.arrange.route import Change, Choice, Effort, Route, RouteEvent, Spot
from reedpath.arrange.surveying import Ranked, Survey
from reedpath.harp import Harp, Move, move_as_data

__all__ = ["effort_as_data", "route_as_data", "survey_as_data"]

# decimals of points and shares in data; finer differences mean nothing to a player
DECIMALS = 4


def effort_as_data(effort: Effort) -> dict[str, Any]:
    """Points in all, and by term."""
    terms = {name: round(points, DECIMALS) for name, points in effort.terms.items()}
    return {"total": round(effort.total, DECIMALS), "terms": terms}


def _move(move: Move | None, harp: Harp) -> dict[str, Any] | None:
    return None if move is None else move_as_data(move, harp)


def _change(index: int, change: Change) -> dict[str, Any]:
    return {
        "event": index,
        "kind": change.kind.value,
        "asked_midi": list(change.asked_midi),
        "given_midi": list(change.given_midi),
        "loss": round(change.loss, DECIMALS),
    }


def _spot(spot: Spot) -> dict[str, Any]:
    return {
        "first_event": spot.first,
        "last_event": spot.last,
        "effort": round(spot.effort, DECIMALS),
        "reasons": list(spot.reasons),
    }


def _manner(choice: Choice, harp: Harp) -> dict[str, Any]:
    return {
        "move": _move(choice.move, harp),
        "attack_semitones": choice.attack_semitones,
        "fall_semitones": choice.fall_semitones,
        "lead_in": [_move(move, harp) for move in choice.lead_in],
        "lead_out": [_move(move, harp) for move in choice.lead_out],
    }


def _event(one: RouteEvent, harp: Harp) -> dict[str, Any]:
    return {
        "onset_beats": str(one.event.onset),
        "duration_beats": str(one.event.duration),
        "asked_midi": list(one.event.midi),
        **_manner(one.choice, harp),
        "grace": one.event.grace,
        "breathe_before": one.breathe_before,
        "air_litres": round(one.air_litres, DECIMALS),
        "effort": effort_as_data(one.effort),
    }


def route_as_data(route: Route) -> dict[str, Any]:
    """A route: harp, position, effort, truth, changes and every event."""
    return {
        "harp": route.harp.name,
        "tuning": route.harp.tuning.name,
        "temperament": route.harp.temperament.name,
        "position": route.position,
        "shift_semitones": route.shift_semitones,
        "level": route.level,
        "comfortable_tempo": round(route.comfortable, DECIMALS),
        "effort": effort_as_data(route.effort),
        "truth": round(route.truth, DECIMALS),
        "worst": _spot(route.worst) if route.worst else None,
        "spots": [_spot(spot) for spot in route.spots],
        "changes": [_change(index, change) for index, change in route.changes],
        "events": [_event(one, route.harp) for one in route.events],
    }


def _also(ways: Sequence[tuple[Harp, int]]) -> list[dict[str, Any]]:
    return [{"harp": harp.name, "shift_semitones": shift} for harp, shift in ways]


def _ranked(line: Ranked) -> dict[str, Any]:
    return {
        "harp": line.harp.name,
        "tuning": line.harp.tuning.name,
        "position": line.position,
        "shift_semitones": line.shift_semitones,
        "score": round(line.score, DECIMALS),
        "effort": effort_as_data(line.effort),
        "worst": round(line.worst, DECIMALS),
        "truth": round(line.truth, DECIMALS),
        "custom": round(line.custom, DECIMALS),
        "also": _also(line.also),
    }


def survey_as_data(found: Survey) -> dict[str, Any]:
    """A survey: its lines, best first, and how much was searched."""
    return {"ranked": [_ranked(line) for line in found.ranked], "cases": found.cases, "exact": found.exact}
