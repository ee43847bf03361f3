"""Lungs: the air a player has, as levels that every note moves.

The usable air is cut into levels of ``air.unit_litres``. A player starts half full, or breathes out or in first. A
blown note takes flow times duration away, a drawn one adds it; a rest lets the level drift to the middle; a breath
between two notes puts it there at once, at a price that grows as the time shrinks and is lower at a rest, a bar line
or a beat than within one. Outside the comfortable band every event
costs points by the litre; what the lungs cannot hold or give at all costs more.

Air in and out must balance over a phrase, so the search keeps the level in its state (`search`). The figures are
in weights.toml; Bouhuys 1964 (J. Appl. Physiol. 19) is the source for using nearly the whole vital capacity.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from reedpath.arrange.demands import Pace
from reedpath.arrange.player import Player, Weights

Points: TypeAlias = NDArray[np.float64]


class Air(Struct, frozen=True):
    """The air of a player over a phrase of n events, as plain numbers: the search walks them one by one.

    top : highest level; levels run from 0 to top.
    middle : level after a breath, and before the first note where nothing is done first.
    unit_litres : litres of one level.
    drift : n levels towards the middle, before each event.
    breath_points : n points of a breath before each event; infinite for the first.
    duration : n seconds that each event sounds.
    discomfort : points for an event that ends at a level, 0 to top.
    beyond_points : points for each level that the lungs can't hold or give.
    prepared : levels to which a player may breathe before the first note, each with its points.
    """

    top: int
    middle: int
    unit_litres: float
    drift: Sequence[int]
    breath_points: Sequence[float]
    duration: Sequence[float]
    discomfort: Sequence[float]
    beyond_points: float
    prepared: Sequence[tuple[int, float]] = ()

    @property
    def starts(self) -> tuple[tuple[int, float], ...]:
        """Levels at which the first note may find the player, each with its points."""
        return ((self.middle, 0.0), *self.prepared)

    def change(self, flow: float, index: int) -> int:
        """Levels that an event adds at a flow in litres a second."""
        return round(flow * self.duration[index] / self.unit_litres)

    def drifted(self, level: int, index: int) -> int:
        """Level after the rest before an event."""
        away = level - self.middle
        if away >= 0:
            return self.middle + max(away - self.drift[index], 0)
        return self.middle + min(away + self.drift[index], 0)

    def after(self, level: int, change: int) -> tuple[int, float]:
        """Level after a note that changes it so, and the points of the air it costs."""
        wanted = level + change
        held = min(max(wanted, 0), self.top)
        return held, self.discomfort[held] + self.beyond_points * abs(wanted - held)


def air_of(pace: Pace, weights: Weights, player: Player) -> Air:
    """The air of a player over events of that pace."""
    table = weights.air
    unit = table.unit_litres
    top = round(table.capacity_litres / unit)
    low, high = (share * top for share in table.comfort)
    levels = np.arange(top + 1)
    outside = np.maximum(np.maximum(low - levels, levels - high), 0.0) * unit
    rest = np.where(np.isfinite(pace.gap), pace.gap, 0.0)
    need = table.breath_seconds * player.time_factor
    at = np.array([0.0, table.breath_at_bar, table.breath_at_beat, table.breath_within])[pace.seam]
    crowded = np.where(np.isfinite(pace.have), table.breath_points * need / pace.have + at, np.inf)
    return Air(
        top=top,
        middle=top // 2,
        unit_litres=unit,
        drift=np.rint(rest * table.recovery_litres_per_second / unit).astype(int).tolist(),
        breath_points=crowded.tolist(),
        duration=pace.duration.tolist(),
        discomfort=(outside * table.points_per_litre).tolist(),
        beyond_points=table.points_per_litre_beyond * unit,
        prepared=((ceil(low), table.prepared_points), (floor(high), table.prepared_points)),
    )


def follow(air: Air, flow: Sequence[float], breathe: Sequence[bool], start: int) -> tuple[list[int], Points]:
    """Level after each event of a route, and the points its air costs.

    flow : litres a second into the lungs, for each event.
    breathe : whether a breath is taken before each event.
    start : level before the first.
    """
    level = start
    levels, points = [], np.zeros(len(flow))
    for index, (rate, breath) in enumerate(zip(flow, breathe, strict=True)):
        level = air.middle if breath else air.drifted(level, index)
        level, cost = air.after(level, air.change(rate, index))
        levels.append(level)
        points[index] = cost + (air.breath_points[index] if breath else 0.0)
    points[:1] += dict(air.starts)[start]
    return levels, points
