"""The ribbon: our picture of a route over time, hole against beat.

`ribbon_of` gives it as plain shapes (`shapes`), wrapped into systems or as one strip; `format_ribbon_svg`
(in `ribbon_svg`) writes them. The same shapes are drawn by films and pages; the language is told in
``docs/ribbon.md``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from reedpath.arrange import Route
from reedpath.harp import Move, Notation, format_move, load_notation
from reedpath.page.ribbon_bars import Bar, bars_of
from reedpath.page.ribbon_breaks import Stretch, break_bars
from reedpath.page.ribbon_frame import Frame
from reedpath.page.ribbon_grid import (
    BEYOND,
    NUMBER_LANE,
    PART_LANE,
    SILENT_LANE,
    SPOT_LANE,
    CombHole,
    SpotSpan,
    comb_of,
    grid_of,
    parts_of,
    spots_of,
)
from reedpath.page.ribbon_links import breath_before, path_between, with_asides
from reedpath.page.ribbon_notes import EventShapes, Pen, draw_event, least_rows
from reedpath.page.shapes import Curve, Label, Shape, bounds_of
from reedpath.page.shapes_measures import Layout, Measures, box_of, load_layout, load_measures
from reedpath.phrase import Part

__all__ = ["RibbonShapes", "System", "ribbon_of"]

# rows; air between the comb and the first beat, right of the last one, and between systems
COMB_AIR, RIGHT_AIR, SYSTEM_AIR = 0.14, 0.12, 0.5
# cords shown at least, so that a phrase on one hole still looks like a harp
FEWEST_CORDS = 3


@dataclass(frozen=True, slots=True)
class System:
    """One line of the ribbon; coordinates are rows from its own upper left corner.

    top : y of that corner in the whole picture.
    height : rows.
    frame : where beats and holes lie.
    under : shading, cords, beats, bars, comb, numbers, part labels.
    comb : the holes of the comb, to be lit.
    links : the path of the mouth.
    events : the pieces of events that lie in this system, in order.
    over : breath marks and the brackets of spots.
    """

    top: float
    height: float
    frame: Frame
    under: tuple[Shape, ...]
    comb: tuple[CombHole, ...]
    links: tuple[Shape, ...]
    events: tuple[EventShapes, ...]
    over: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class RibbonShapes:
    """A whole ribbon as shapes.

    width, height : rows.
    row_px : CSS pixels to a row that the layout is made for.
    systems : from top to bottom; one alone for the layout "strip".
    measures : the drawing's measures.
    """

    width: float
    height: float
    row_px: float
    systems: tuple[System, ...]
    measures: Measures


@dataclass(frozen=True, slots=True)
class _Plan:
    """All that the systems of one ribbon share."""

    route: Route
    pen: Pen
    bars: tuple[Bar, ...]
    parts: tuple[Part, ...]
    spots: tuple[SpotSpan, ...]
    lowest: int
    highest: int

    @property
    def silent(self) -> bool:
        return any(one.choice.move is None for one in self.route.events)


def ribbon_of(
    route: Route,
    *,
    layout: Layout | str = "sheet",
    notation: Notation | str = "sign",
    parts: Sequence[Part] | None = None,
    all_holes: bool = False,
) -> RibbonShapes:
    """
    The ribbon of a route, as shapes.

    Parameters
    ----------
    layout : how much room there is; see ``drawing.toml``. "strip" makes one system without end.
    notation : how the tab in the strips is written.
    parts : stretches to be labelled; the phrase's own when left out.
    all_holes : whether holes below and above those that the route uses have a cord too.
    """
    chosen = load_layout(layout) if isinstance(layout, str) else layout
    tab = load_notation(notation) if isinstance(notation, str) else notation
    measures = load_measures()

    def write(move: Move) -> str:
        return format_move(move, tab)

    lowest, highest = (1, route.harp.tuning.holes) if all_holes else _holes_of(route)
    plan = _Plan(
        route=route,
        pen=Pen(measures, write),
        bars=bars_of(route.phrase),
        parts=tuple(route.phrase.parts if parts is None else parts),
        spots=_spots(route),
        lowest=lowest,
        highest=highest,
    )
    stretches = _stretches(plan, chosen)
    return _stacked(plan, stretches, chosen)


def _holes_of(route: Route) -> tuple[int, int]:
    """Lowest and highest hole to show."""
    used = [
        hole
        for one in route.events
        for move in (one.choice.move, *one.choice.lead_in, *one.choice.lead_out)
        if move is not None
        for hole in move.holes
    ]
    lowest, highest = min(used, default=1), max(used, default=route.harp.tuning.holes)
    while highest - lowest + 1 < min(FEWEST_CORDS, route.harp.tuning.holes):
        lowest, highest = max(1, lowest - 1), min(route.harp.tuning.holes, highest + 1)
    return lowest, highest


def _spots(route: Route) -> tuple[SpotSpan, ...]:
    events = route.events
    return tuple(
        SpotSpan(number, events[spot.first].event.onset, events[spot.last].event.end)
        for number, spot in enumerate(route.spots, start=1)
    )


def _stretches(plan: _Plan, layout: Layout) -> tuple[Stretch, ...]:
    asks = [
        (one.event.onset, min(least_rows(one, plan.pen) / float(one.event.duration), layout.most_beat))
        for one in plan.route.events
    ]

    def need(onset: Fraction, end: Fraction) -> float:
        return max((rows for at, rows in asks if onset <= at < end), default=layout.beat)

    width = layout.width - plan.pen.measures.comb - COMB_AIR - RIGHT_AIR
    return break_bars(plan.bars, width=width, most=layout.most_beat, need=lambda a, b: max(layout.beat, need(a, b)))


def _events_in(plan: _Plan, frame: Frame) -> list[EventShapes]:
    pieces = [
        draw_event(one, index, frame, plan.pen)
        for index, one in enumerate(plan.route.events)
        if one.event.onset < frame.end and one.event.end > frame.onset
    ]
    return with_asides(pieces, plan.pen.measures)


def _links_in(pieces: Sequence[EventShapes]) -> tuple[Shape, ...]:
    return tuple(shape for before, after in pairwise(pieces) for shape in path_between(before, after))


def _breaths_in(plan: _Plan, frame: Frame, pieces: Sequence[EventShapes]) -> list[Curve]:
    breaths = []
    for before, after in pairwise([None, *pieces]):
        if after is not None and after.first and plan.route.events[after.index].breathe_before:
            breaths.append(breath_before(frame.x_of(after.onset), before, after, plan.pen.measures))
    return breaths


def _sky_and_depth(plan: _Plan, stretches: Sequence[Stretch]) -> tuple[float, float]:
    """How far the drawing reaches above the highest cord and below the lowest, rows, over all systems."""
    sky, depth = BEYOND, BEYOND
    for stretch in stretches:
        frame = _frame(plan, stretch, top=0.0, silent_y=0.0)
        pieces = _events_in(plan, frame)
        shapes = [shape for piece in pieces if piece.strips for shape in piece.shapes]
        for shape in (*shapes, *_breaths_in(plan, frame, pieces)):
            box = box_of(shape) if isinstance(shape, Label) else bounds_of([shape])
            sky, depth = max(sky, -box.top), max(depth, box.bottom - frame.bottom)
    return sky + 0.06, depth + 0.06


def _frame(plan: _Plan, stretch: Stretch, *, top: float, silent_y: float) -> Frame:
    m = plan.pen.measures
    return Frame(
        onset=stretch.onset,
        end=stretch.end,
        left=m.comb + COMB_AIR,
        rows_per_beat=stretch.rows_per_beat,
        lowest=plan.lowest,
        highest=plan.highest,
        top=top,
        step=m.step,
        silent_y=silent_y,
    )


def _stacked(plan: _Plan, stretches: Sequence[Stretch], layout: Layout) -> RibbonShapes:
    sky, depth = _sky_and_depth(plan, stretches)
    above = (PART_LANE if plan.parts else 0.0) + NUMBER_LANE
    silent = SILENT_LANE if plan.silent else 0.0
    top = above + silent + sky
    height = top + (plan.highest - plan.lowest) + depth + (SPOT_LANE if plan.spots else 0.0)
    # number_y() counts from here, whether the lane is used or not
    silent_y = above + SILENT_LANE / 2
    systems = []
    for index, stretch in enumerate(stretches):
        frame = _frame(plan, stretch, top=top, silent_y=silent_y)
        y = index * (height + SYSTEM_AIR)
        systems.append(_system(plan, frame, y, height, last=index == len(stretches) - 1))
    width = max(system.frame.right for system in systems) + RIGHT_AIR
    whole = width if math.isinf(layout.width) else layout.width
    total = len(systems) * (height + SYSTEM_AIR) - SYSTEM_AIR
    return RibbonShapes(whole, total, layout.row_px, tuple(systems), plan.pen.measures)


def _system(plan: _Plan, frame: Frame, y: float, height: float, *, last: bool) -> System:
    m = plan.pen.measures
    pieces = _events_in(plan, frame)
    body, comb = comb_of(frame, plan.route.harp.tuning.holes, m)
    shades, brackets = spots_of(frame, plan.spots, m)
    under = (*shades, *grid_of(frame, plan.bars, m, last=last), *body, *parts_of(frame, plan.parts, m))
    return System(
        top=y,
        height=height,
        frame=frame,
        under=under,
        comb=comb,
        links=_links_in(pieces),
        events=tuple(pieces),
        over=(*_breaths_in(plan, frame, pieces), *brackets),
    )
