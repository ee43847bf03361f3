"""Takes of chords, double stops and tongue-blocked octaves, glued reed by reed (see `glued_takes`).

Every reed of a take has a tuning of its own, a few cents off, as real ones have; in every event each of its reeds
has a level and, now and then, a tone of its own. A fault is a reed that does not sound, one that sounds in place of
another, or one too many: a neighbouring hole that leaks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.harp import Breath, Move
from support.glued_takes import Deed, Manner, Reed, perform

# cents; standard deviation of a reed's own tuning, and the most (common practice, no source: a harp fresh from a
# tuner stays within 2, a played one within 5 or so)
TUNING_CENTS, MOST_CENTS = 2.5, 6.0
# decibels by which the reeds of an event may lie under its strongest; a leak lies further down
SOFTER_DB, LEAK_DB = 5.0, (-12.0, -1.0)


class ReedKind(StrEnum):
    SILENT = "a reed silent"
    OTHER = "another reed"
    TOO_MANY = "a reed too many"
    LEAK = "a leak"


@dataclass(frozen=True)
class ReedFault:
    """A fault of one reed: the event, the hole that should sound (0 for none), the hole that does (0 for none)."""

    kind: ReedKind
    event: int
    asked: int = 0
    heard: int = 0


def _single(hole: int, breath: Breath) -> Move:
    return Move((hole,), breath)


def perform_reeds(route: Route, rng: np.random.Generator, *, manner: Manner) -> list[Deed]:
    """What is done to play a route, reed by reed."""
    tunings: dict[tuple[int, Breath], float] = {}

    def reed(hole: int, move: Move, softer: float) -> Reed:
        key = hole, move.breath
        if key not in tunings:
            tunings[key] = float(np.clip(rng.normal(0.0, TUNING_CENTS), -MOST_CENTS, MOST_CENTS))
        own = move if len(move.holes) == 1 else _single(hole, move.breath)
        return Reed(own, -softer, tunings[key])

    deeds = []
    for deed in perform(route, rng, manner=manner):
        softer = rng.uniform(0.0, SOFTER_DB, len(deed.move.holes)) if len(deed.move.holes) > 1 else [0.0]
        reeds = tuple(reed(hole, deed.move, float(db)) for hole, db in zip(deed.move.holes, softer, strict=True))
        deeds.append(replace(deed, reeds=reeds))
    return deeds


def _free(deed: Deed, holes: int) -> list[int]:
    """Holes next to those of a deed that it leaves out."""
    own = {hole for reed in deed.reeds for hole in reed.move.holes}
    near = {hole + step for hole in own for step in (-1, 1)}
    return sorted(hole for hole in near - own if 1 <= hole <= holes)


def drawn_reed_fault(route: Route, deed: Deed, rng: np.random.Generator) -> ReedFault | None:
    """A fault of a reed that can befall a deed."""
    free = _free(deed, route.harp.tuning.holes)
    heard = free[int(rng.integers(len(free)))]
    if len(deed.move.holes) == 1:
        return ReedFault(ReedKind.LEAK, deed.event, 0, heard)
    kind = (ReedKind.SILENT, ReedKind.SILENT, ReedKind.OTHER, ReedKind.TOO_MANY)[int(rng.integers(4))]
    asked = deed.move.holes[int(rng.integers(len(deed.move.holes)))]
    if kind is ReedKind.SILENT:
        return ReedFault(kind, deed.event, asked)
    if kind is ReedKind.OTHER:
        near = [hole for hole in free if abs(hole - asked) == 1]
        return ReedFault(kind, deed.event, asked, near[int(rng.integers(len(near)))]) if near else None
    return ReedFault(kind, deed.event, 0, heard)


def with_reed_fault(deeds: Sequence[Deed], fault: ReedFault, rng: np.random.Generator) -> list[Deed]:
    """The deeds with one fault of a reed put in."""

    def mended(deed: Deed) -> Deed:
        kept = [reed for reed in deed.reeds if reed.move.holes != (fault.asked,)]
        if fault.heard:
            other = _single(fault.heard, deed.move.breath)
            tuning = float(np.clip(rng.normal(0.0, TUNING_CENTS), -MOST_CENTS, MOST_CENTS))
            softer = -rng.uniform(0.0, SOFTER_DB) if fault.kind is ReedKind.OTHER else rng.uniform(*LEAK_DB)
            kept.append(Reed(other, float(softer), tuning))
        return replace(deed, reeds=tuple(kept))

    return [mended(deed) if deed.event == fault.event else deed for deed in deeds]
