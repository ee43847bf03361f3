"""The trade-off: routes none of which is beaten on effort and truth at once.

Each price of truth gives, by exact search, a route of least ``effort + price * lost truth``; a route found so for a
price above zero can't be beaten on both counts (the weighted-sum method of multi-objective optimisation). Sweeping
the price from cheap to dear, over the shifts that fit, gives the list; what another shift beats is then taken out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from reedpath.arrange.finding import find_route, shifts_of
from reedpath.arrange.pins import Pin
from reedpath.arrange.player import Player, Weights, load_player, load_weights
from reedpath.arrange.route import Route
from reedpath.arrange.settling import settle
from reedpath.harp import Harp
from reedpath.phrase import Phrase, performed

# the weights' own price of truth is taken times these; a geometric row, common practice in such sweeps
PRICE_FACTORS = (0.02, 0.05, 0.1, 0.2, 0.35, 0.6, 1.0, 2.0, 5.0, 25.0)
# routes of a list that a person takes in at a glance; common practice, no source
MOST_ROUTES = 6
# decimals to which two routes count as equal on effort and truth
DECIMALS = 6


def _counts(route: Route) -> tuple[float, float]:
    return round(route.effort.total, DECIMALS), round(1 - route.truth, DECIMALS)


def unbeaten(routes: Iterable[Route]) -> tuple[Route, ...]:
    """The routes that no other beats on effort and truth, the truest first; of equals, the first."""
    distinct: dict[tuple[float, float], Route] = {}
    for route in routes:
        distinct.setdefault(_counts(route), route)
    kept, least = [], float("inf")
    for (effort, _), route in sorted(distinct.items(), key=lambda item: (item[0][1], item[0][0])):
        if effort < least:
            kept.append(route)
            least = effort
    return tuple(kept)


def shortened(routes: tuple[Route, ...], most: int) -> tuple[Route, ...]:
    """So many of the routes at most: again and again, the one is left out that adds least to the choice.

    What a route adds is the area between its neighbours that only it covers (hypervolume, Zitzler & Thiele, IEEE
    Trans. Evolutionary Computation 3(4), 1999); the truest and the easiest stay.
    """
    kept = list(routes)
    while len(kept) > max(most, 2):
        added = [
            (before.effort.total - here.effort.total) * (here.truth - after.truth)
            for before, here, after in zip(kept, kept[1:], kept[2:], strict=False)
        ]
        del kept[1 + added.index(min(added))]
    return tuple(kept)


def trade_off(
    phrase: Phrase,
    harp: Harp,
    *,
    shifts: Sequence[int] = (0,),
    player: Player | None = None,
    weights: Weights | None = None,
    most: int = MOST_ROUTES,
    pins: Sequence[Pin] = (),
) -> tuple[Route, ...]:
    """The trade-off for a phrase on a harp, the truest route first; ``most`` of them at most (at least two).

    pins : what all of them keep.
    """
    player, weights = player or load_player(), weights or load_weights()
    within = shifts_of(performed(phrase), shifts)
    swept = (
        route
        for shift in within
        for route in price_sweep(phrase, harp, shift_semitones=shift, player=player, weights=weights, pins=pins)
    )
    return shortened(unbeaten(swept), most)


def price_sweep(
    phrase: Phrase,
    harp: Harp,
    *,
    shift_semitones: int = 0,
    player: Player | None = None,
    weights: Weights | None = None,
    pins: Sequence[Pin] = (),
) -> Iterator[Route]:
    """The best route at each of the prices of truth, the dearest first; parameters are those of `trade_off`."""
    player, weights = player or load_player(), weights or load_weights()
    price = weights.fit.price_points

    def best(price_points: float) -> Route:
        if pins:
            return settle(
                phrase, harp, shift_semitones=shift_semitones, player=player, weights=weights,
                price_points=price_points, pins=pins,
            ).route()  # fmt: skip
        return find_route(
            phrase, harp, shift_semitones=shift_semitones, player=player, weights=weights, price_points=price_points
        )

    yield from (best(price * factor) for factor in reversed(PRICE_FACTORS))
