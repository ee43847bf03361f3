"""Lungs: the air a player has, as levels that every note moves.

The usable air is cut into levels of ``air.unit_litres``. A player starts half full. A blown note takes
flow times duration away, a drawn one adds it; a rest lets the level drift to the middle; a breath between two
notes puts it there at once, at a price that grows as the time shrinks. Outside the comfortable band every event
costs points by the litre; what the lungs cannot hold or give at all costs more.

Air in and out must balance over a phrase, so the search keeps the level in its state (`search`). The figures are
in weights.toml; Bouhuys 1964 (J. Appl. Physiol. 19) is the source for using nearly the whole vital capacity.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.pace import Pace
from reedpath.arrange.player import Player, Weights

__all__ = ["Air", "Levels", "air_of", "follow"]

Levels: TypeAlias = NDArray[np.intp]
Points: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Air:
    """The air of a player over a phrase of n events.

    top : highest level; levels run from 0 to top.
    middle : level after a breath, and at the start.
    unit_litres : litres of one level.
    drift : shape (n,), levels towards the middle before each event.
    breath_points : shape (n,), points of a breath before each event; infinite for the first.
    duration : shape (n,), seconds each event sounds.
    discomfort : shape (top + 1,), points for an event that ends at a level.
    beyond_points : points for each level that the lungs can't hold or give.
    """

    top: int
    middle: int
    unit_litres: float
    drift: Levels
    breath_points: Points
    duration: Points
    discomfort: Points
    beyond_points: float

    def change(self, flow: Points, index: int | NDArray[np.intp]) -> Levels:
        """Levels that events of that index add at such flows (litres a second), shape of ``flow``."""
        return np.rint(flow * self.duration[index] / self.unit_litres).astype(np.intp)

    def drifted(self, levels: Levels, index: int) -> Levels:
        """Levels after the rest before an event."""
        away = levels - self.middle
        result: Levels = self.middle + np.sign(away) * np.maximum(np.abs(away) - self.drift[index], 0)
        return result

    def after(self, levels: Levels, change: Levels | int) -> tuple[Levels, Points]:
        """Levels after a note that changes them so, and the points of the air it costs."""
        wanted = levels + change
        held = np.clip(wanted, 0, self.top)
        return held, self.discomfort[held] + self.beyond_points * np.abs(wanted - held)


def air_of(pace: Pace, weights: Weights, player: Player) -> Air:
    """The air of a player over events of that pace."""
    table = weights["air"]
    unit = float(table["unit_litres"])
    top = round(table["capacity_litres"] / unit)
    low, high = (share * top for share in table["comfort"])
    levels = np.arange(top + 1)
    outside = np.maximum(np.maximum(low - levels, levels - high), 0.0) * unit
    rest = np.where(np.isfinite(pace.gap), pace.gap, 0.0)
    need = table["breath_seconds"] * player.time_factor
    return Air(
        top=top,
        middle=top // 2,
        unit_litres=unit,
        drift=np.rint(rest * table["recovery_litres_per_second"] / unit).astype(np.intp),
        breath_points=np.where(
            np.isfinite(pace.have), table["breath_points"] * need / np.maximum(pace.have, 1e-9), np.inf
        ),
        duration=pace.duration,
        discomfort=outside * table["points_per_litre"],
        beyond_points=float(table["points_per_litre_beyond"]) * unit,
    )


def follow(air: Air, flow: Points, breathe: NDArray[np.bool_]) -> tuple[Levels, Points]:
    """Level after each event of a route, and the points its air costs.

    Parameters
    ----------
    flow : shape (n,), litres a second into the lungs for each event.
    breathe : shape (n,), whether a breath is taken before each event.
    """
    level = np.array(air.middle)
    levels, points = np.zeros(len(flow), dtype=np.intp), np.zeros(len(flow))
    changes = air.change(flow, np.arange(len(flow)))
    for index, change in enumerate(changes):
        level = np.array(air.middle) if breathe[index] else air.drifted(level, index)
        level, cost = air.after(level, change)
        levels[index] = level
        points[index] = cost + (air.breath_points[index] if breathe[index] else 0.0)
    return levels, points
