"""Rounding a route to what its data keep, so that a lesson written and read back is the same lesson."""

from __future__ import annotations

from msgspec.structs import replace

from reedpath.arrange import Effort, Route, RouteEvent, Spot

__all__ = ["DECIMALS", "rounded"]

# decimals of points, shares and litres in data; finer differences mean nothing to a player
DECIMALS = 4


def _event(one: RouteEvent) -> RouteEvent:
    changes = tuple(replace(change, loss=round(change.loss, DECIMALS)) for change in one.choice.changes)
    return replace(
        one,
        choice=replace(one.choice, changes=changes) if changes else one.choice,
        effort=Effort({name: round(points, DECIMALS) for name, points in one.effort.terms.items()}),
        air_litres=round(one.air_litres, DECIMALS),
    )


def _spot(spot: Spot) -> Spot:
    return replace(spot, effort=round(spot.effort, DECIMALS))


def rounded(route: Route) -> Route:
    """The route with its points, shares and litres rounded to four decimals."""
    return replace(
        route,
        events=tuple(map(_event, route.events)),
        truth=round(route.truth, DECIMALS),
        comfortable=round(route.comfortable, DECIMALS),
        worst=_spot(route.worst) if route.worst else None,
        spots=tuple(map(_spot, route.spots)),
    )
