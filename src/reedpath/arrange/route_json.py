"""Routes and surveys as plain data, in the documented shape of ``--json`` (docs/json.md).

A route is written by its type `Route`, with what follows from the rest beside: sums of effort, the harp's name, what
each move sounds. None of that is read back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from msgspec.structs import replace

from reedpath.arrange.route import IN_JSON as ROUTE_NAMES
from reedpath.arrange.route import Effort, Route, RouteEvent, Spot
from reedpath.arrange.surveying import Ranked, Survey
from reedpath.data import as_plain, extended, replace_inside
from reedpath.data.numbers import Points
from reedpath.harp import Harp, Move, SoundingMove, sounding_move

# decimals of points, shares and litres in data; finer differences mean nothing to a player
DECIMALS = 4


class WrittenEffort(Effort, frozen=True):
    """An effort as it is written.

    total : sum of all terms, points.
    """

    total: Points = 0.0


class NamedHarp(Harp, frozen=True):
    """A harp as it is written.

    key : as the trade says it: "A", "Low F".
    """

    key: str = ""


class WrittenRoute(Route, frozen=True, rename=ROUTE_NAMES | {"total_effort": "effort"}):
    """A route as it is written.

    total_effort : what the whole route costs.
    """

    total_effort: Effort = Effort()


# kinds within a route that are written with more than they hold
ROUTE_AS_WRITTEN: Mapping[type, type] = {
    Move: SoundingMove,
    Effort: WrittenEffort,
    Harp: NamedHarp,
    Route: WrittenRoute,
}


def _rounded_effort(effort: Effort) -> Effort:
    return Effort({name: round(points, DECIMALS) for name, points in effort.terms.items()})


def _rounded_event(one: RouteEvent) -> RouteEvent:
    changes = tuple(replace(change, loss=round(change.loss, DECIMALS)) for change in one.choice.changes)
    return replace(
        one,
        choice=replace(one.choice, changes=changes) if changes else one.choice,
        effort=_rounded_effort(one.effort),
        air_litres=round(one.air_litres, DECIMALS),
    )


def _rounded_spot(spot: Spot) -> Spot:
    return replace(spot, effort=round(spot.effort, DECIMALS))


def rounded(route: Route) -> Route:
    """The route with its points, shares and litres rounded to what data keep, so that it comes back the same."""
    return replace(
        route,
        events=tuple(map(_rounded_event, route.events)),
        truth=round(route.truth, DECIMALS),
        comfortable=round(route.comfortable, DECIMALS),
        unlike=tuple(replace(one, adds=round(one.adds, DECIMALS)) for one in route.unlike),
        worst=_rounded_spot(route.worst) if route.worst else None,
        spots=tuple(map(_rounded_spot, route.spots)),
    )


def _written_effort(effort: Effort) -> WrittenEffort:
    return extended(effort, WrittenEffort, total=round(effort.total, DECIMALS))


def written_route(route: Route) -> WrittenRoute:
    """A route as it is written: rounded, with what follows from it."""
    route = rounded(route)
    harp = route.harp
    makers: dict[type, Callable[[Any], Any]] = {
        Effort: _written_effort,
        Move: lambda move: sounding_move(move, harp),
        Harp: lambda harp: extended(harp, NamedHarp, key=harp.name),
    }
    total = _written_effort(_rounded_effort(route.effort))
    return extended(replace_inside(route, makers), WrittenRoute, total_effort=total)


def effort_as_data(effort: Effort) -> dict[str, Any]:
    """Points in all, and by term."""
    data: dict[str, Any] = as_plain(_written_effort(_rounded_effort(effort)))
    return data


def route_as_data(route: Route) -> dict[str, Any]:
    """A route as plain data: its phrase, harp, position, effort, truth and every event with its choice."""
    data: dict[str, Any] = as_plain(written_route(route))
    return data


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
        "held_back": {name: round(points, DECIMALS) for name, points in line.held_back.items()},
        "also": [{"harp": harp.name, "shift_semitones": shift} for harp, shift in line.also],
    }


def survey_as_data(found: Survey, typed: Ranked | None = None) -> dict[str, Any]:
    """A survey: its lines, best first, and how much was searched.

    typed : the line of a tab as it is typed, where there is one.
    """
    data = {"ranked": [_ranked(line) for line in found.ranked], "cases": found.cases, "exact": found.exact}
    return data if typed is None else data | {"typed": _ranked(typed)}
