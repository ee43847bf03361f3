"""The ribbon: our picture of a route over time, hole against beat.

`ribbon_of` gives it as plain shapes (`shapes`), wrapped into systems or as one strip; `format_ribbon_svg`
(in `svg`) writes them. The same shapes are drawn by films and pages; the language is told in
``docs/ribbon.md``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from reedpath.arrange import Route, RouteEvent
from reedpath.harp import Move, Notation, format_move, load_notation
from reedpath.page.drawing.drawing_data import Layout, Measures, box_of, load_layout, load_measures
from reedpath.page.drawing.shapes import CombHole, Curve, Shape
from reedpath.page.ribbon.grid import (
    BEYOND,
    NUMBER_LANE,
    PART_LANE,
    SILENT_LANE,
    SPOT_LANE,
    SpotSpan,
    SystemFrame,
    bars_of,
    comb_of,
    grid_of,
    parts_of,
    spots_of,
)
from reedpath.page.ribbon.line_breaks import SystemSpan, break_bars
from reedpath.page.ribbon.links import breath_before, path_between, with_asides
from reedpath.page.ribbon.notes import EventShapes, Pen, draw_event, least_rows
from reedpath.page.ribbon.repeats import RepeatedSpan, repeats_in
from reedpath.page.spans import SpanIndex
from reedpath.phrase import Bar, Part, PrintedBar, printed_bars

# rows; air between the comb and the first beat, right of the last one, and between systems
COMB_AIR, RIGHT_AIR, SYSTEM_AIR = 0.14, 0.12, 0.5
# rows; width that even the shortest note is given
NARROW_NOTE = 0.55
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
    frame: SystemFrame
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
class RibbonPlan:
    """All that the systems of one ribbon share."""

    route: Route
    pen: Pen
    spans: SpanIndex
    bars: tuple[tuple[Bar, PrintedBar], ...]
    bar_spans: SpanIndex
    parts: tuple[Part, ...]
    part_spans: SpanIndex
    spots: tuple[SpotSpan, ...]
    lowest: int
    highest: int
    course: Callable[[float], float] | None = None
    repeats: tuple[RepeatedSpan, ...] = ()


def ribbon_of(
    route: Route,
    *,
    layout: Layout | str = "sheet",
    notation: Notation | str = "sign",
    parts: Sequence[Part] | None = None,
    all_holes: bool = False,
    course: Callable[[float], float] | None = None,
    repeats: Sequence[RepeatedSpan] = (),
) -> RibbonShapes:
    """
    The ribbon of a route, as shapes.

    layout : how much room there is; see ``drawing.toml``. "strip" makes one system without end.
    notation : how the tab in the strips is written.
    parts : stretches to be labelled; the phrase's own when left out.
    all_holes : whether holes below and above those that the route uses have a cord too.
    course : for the layout "strip": how many rows from the start of the phrase each beat lies, never falling, so
        that the strip can run in time with a sound (swing, changes of tempo); evenly when left out.
    repeats : what is drawn once between repeat signs, though it is played several times in a row.
    """
    chosen = load_layout(layout) if isinstance(layout, str) else layout
    if course is not None and not math.isinf(chosen.width):
        raise ValueError(f"a course is for a strip without end, not for the layout {chosen.name!r}")
    measures = load_measures(chosen)
    plan = plan_ribbon(route, notation=notation, parts=parts, all_holes=all_holes, course=course, measures=measures)
    plan = replace(plan, repeats=tuple(repeats), spots=_where_drawn(plan.spots, repeats))
    return _stacked(plan, stretches_of(plan, chosen), chosen)


def plan_ribbon(
    route: Route,
    *,
    notation: Notation | str = "sign",
    parts: Sequence[Part] | None = None,
    all_holes: bool = False,
    course: Callable[[float], float] | None = None,
    measures: Measures | None = None,
) -> RibbonPlan:
    """What the systems of a route's ribbon share; parameters are those of `ribbon_of`, and its measures."""
    tab = load_notation(notation) if isinstance(notation, str) else notation
    measures = measures or load_measures()

    def write(move: Move) -> str:
        return format_move(move, tab)

    lowest, highest = (1, route.harp.tuning.holes) if all_holes else _holes_of(route)
    bars = bars_of(route.phrase)
    shown = _in_order(route.phrase.parts if parts is None else parts)
    return RibbonPlan(
        route=route,
        pen=Pen(measures, write),
        spans=SpanIndex((one.event.onset, one.event.end) for one in route.events),
        bars=tuple(zip(bars, printed_bars(route.phrase, bars), strict=True)),
        bar_spans=SpanIndex((bar.onset, bar.end) for bar in bars),
        parts=shown,
        part_spans=SpanIndex((part.onset, part.end) for part in shown),
        spots=_spots(route),
        lowest=lowest,
        highest=highest,
        course=course,
    )


def stands_as(plan: RibbonPlan, route: Route, parts: Sequence[Part]) -> bool:
    """Whether a route's events, bars and parts stand where those of a plan do, on the same harp."""
    same = route.phrase == plan.route.phrase and route.harp == plan.route.harp
    return same and plan.parts == _in_order(parts)


def with_route(plan: RibbonPlan, route: Route) -> RibbonPlan:
    """The plan of another route of which `stands_as` holds."""
    return replace(plan, route=route, spots=_spots(route))


def _in_order(parts: Sequence[Part]) -> tuple[Part, ...]:
    return tuple(sorted(parts, key=lambda part: part.onset))


def _where_drawn(spots: Sequence[SpotSpan], repeats: Sequence[RepeatedSpan]) -> tuple[SpotSpan, ...]:
    """Spots where they are drawn: what is played again is drawn where it is played first."""
    back = [sum((one.back_to_first(spot.onset) for one in repeats), Fraction(0)) for spot in spots]
    return tuple(SpotSpan(one.number, one.onset - by, one.end - by) for one, by in zip(spots, back, strict=True))


def _holes_of(route: Route) -> tuple[int, int]:
    """Lowest and highest hole to show."""
    used = [hole for one in route.events for move in one.choice.moves for hole in move.holes]
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


def _asked(one: RouteEvent, pen: Pen, layout: Layout) -> float:
    """The width of a beat that an event asks for, rows; beyond the layout's limit only to be seen at all."""
    duration = float(one.event.duration)
    return min(least_rows(one, pen) / duration, max(layout.dense_beat, NARROW_NOTE / duration))


def stretches_of(plan: RibbonPlan, layout: Layout) -> tuple[SystemSpan, ...]:
    """How a ribbon is broken into systems."""
    asks = [_asked(one, plan.pen, layout) for one in plan.route.events]

    def need(onset: Fraction, end: Fraction) -> float:
        return max((asks[index] for index in plan.spans.starting(onset, end)), default=layout.beat)

    width = layout.width - plan.pen.measures.comb - COMB_AIR - RIGHT_AIR
    shown = [bar for bar, _ in plan.bars if not any(one.end <= bar.onset < one.until for one in plan.repeats)]
    stretches: tuple[SystemSpan, ...] = ()
    for bars in _without_gaps(shown):
        stretches += break_bars(bars, width=width, need=lambda a, b: max(layout.beat, need(a, b)))
    # the end of a last bar that is cut may hold nothing: no line is drawn for it
    end = plan.route.phrase.end
    return tuple(stretch for stretch in stretches if stretch.onset < end) or stretches[:1]


def _without_gaps(bars: Sequence[Bar]) -> list[list[Bar]]:
    """Bars in stretches, each of bars that follow one another."""
    stretches: list[list[Bar]] = []
    for bar in bars:
        if stretches and stretches[-1][-1].end == bar.onset:
            stretches[-1].append(bar)
        else:
            stretches.append([bar])
    return stretches


def _events_in(plan: RibbonPlan, frame: SystemFrame) -> list[EventShapes]:
    events = plan.route.events
    pieces = [
        draw_event(events[index], index, frame, plan.pen)
        for index in plan.spans.near(frame.onset, frame.end)
        if events[index].event.end > frame.onset
    ]
    return with_asides(pieces, frame)


def _links_in(pieces: Sequence[EventShapes]) -> tuple[Shape, ...]:
    return tuple(shape for before, after in pairwise(pieces) for shape in path_between(before, after))


def _breaths_in(plan: RibbonPlan, frame: SystemFrame, pieces: Sequence[EventShapes]) -> list[Curve]:
    breaths = []
    for before, after in pairwise([None, *pieces]):
        if after is not None and after.first and plan.route.events[after.index].breathe_before:
            breaths.append(breath_before(frame.x_of(after.onset), before, after))
    return breaths


def _reach_of(plan: RibbonPlan, frame: SystemFrame, pieces: Sequence[EventShapes]) -> tuple[float, float]:
    """How far a system's events reach above its highest cord and below its lowest, rows."""
    shapes = [shape for piece in pieces if piece.strips for shape in piece.shapes]
    boxes = [
        box_of(shape) for shape in (*shapes, *_breaths_in(plan, frame, [piece for piece in pieces if piece.strips]))
    ]
    sky = max([BEYOND, *(frame.top - box.top for box in boxes)])
    depth = max([BEYOND, *(box.bottom - frame.bottom for box in boxes)])
    return sky + 0.06, depth + 0.06


def _frame(plan: RibbonPlan, stretch: SystemSpan, *, top: float, silent_y: float) -> SystemFrame:
    m = plan.pen.measures
    return SystemFrame(
        onset=stretch.onset,
        end=stretch.end,
        left=m.comb + COMB_AIR,
        rows_per_beat=stretch.rows_per_beat,
        lowest=plan.lowest,
        highest=plan.highest,
        top=top,
        step=m.step,
        silent_y=silent_y,
        course=plan.course,
    )


def _stacked(plan: RibbonPlan, stretches: Sequence[SystemSpan], layout: Layout) -> RibbonShapes:
    systems: list[System] = []
    y = 0.0
    for index, stretch in enumerate(stretches):
        system = system_of(plan, stretch, y, last=index == len(stretches) - 1)
        systems.append(system)
        y += system.height + SYSTEM_AIR
    width = max(system.frame.right for system in systems) + RIGHT_AIR
    whole = width if math.isinf(layout.width) else layout.width
    return RibbonShapes(whole, y - SYSTEM_AIR, layout.row_px, tuple(systems), plan.pen.measures)


def _parts_in(plan: RibbonPlan, stretch: SystemSpan) -> list[Part]:
    """The parts that may reach into a system."""
    return [plan.parts[index] for index in plan.part_spans.near(stretch.onset, stretch.end)]


def _meets(span: Part | SpotSpan, stretch: SystemSpan) -> bool:
    return span.onset < stretch.end and span.end > stretch.onset


def what_stands_in(plan: RibbonPlan, stretch: SystemSpan) -> tuple[object, ...]:
    """All that a system of a plan shows, its spots last: where two plans agree on it, so do their pictures."""
    there = plan.spans.near(stretch.onset, stretch.end)
    bars = plan.bar_spans.near(stretch.onset, stretch.end)
    return (
        stretch,
        (plan.lowest, plan.highest, plan.route.harp.tuning.holes),
        plan.bars[max(0, bars.start - 1) : bars.stop],
        tuple((index, *_seen(plan.route.events[index])) for index in there),
        tuple(_parts_in(plan, stretch)),
        tuple(one for one in plan.spots if _meets(one, stretch)),
    )


def _seen(one: RouteEvent) -> tuple[object, ...]:
    """What of an event is drawn."""
    event = one.event
    return event.onset, event.duration, event.midi, event.ornaments, event.grace, one.choice, one.breathe_before


@dataclass(frozen=True, slots=True)
class PlacedEvents:
    """The events of a system where they fit, which does not depend on its spots.

    depth : how far they reach below the lowest cord, rows.
    """

    frame: SystemFrame
    pieces: tuple[EventShapes, ...]
    depth: float


def place_events(plan: RibbonPlan, stretch: SystemSpan) -> PlacedEvents:
    """The events of a system: drawn once to see how far they reach, then where they fit."""
    trial = _frame(plan, stretch, top=0.0, silent_y=0.0)
    pieces = _events_in(plan, trial)
    sky, depth = _reach_of(plan, trial, pieces)
    above = NUMBER_LANE + (PART_LANE if any(_meets(part, stretch) for part in _parts_in(plan, stretch)) else 0.0)
    silent = SILENT_LANE if any(not piece.strips for piece in pieces) else 0.0
    # number_y() counts from the silent lane, whether the lane is used or not
    frame = _frame(plan, stretch, top=above + silent + sky, silent_y=above + SILENT_LANE / 2)
    return PlacedEvents(frame, tuple(_events_in(plan, frame)), depth)


def system_of(
    plan: RibbonPlan, stretch: SystemSpan, y: float, *, last: bool, placed: PlacedEvents | None = None
) -> System:
    """One system; ``placed``: its events, where they are known."""
    m = plan.pen.measures
    placed = placed or place_events(plan, stretch)
    frame, pieces, depth = placed.frame, placed.pieces, placed.depth
    below = SPOT_LANE if any(_meets(spot, stretch) for spot in plan.spots) else 0.0
    body, comb = comb_of(frame, plan.route.harp.tuning.holes, m)
    near = plan.bar_spans.near(frame.onset, frame.end)
    # the bar before tells whether the metre changes
    bars = plan.bars[max(0, near.start - 1) : near.stop]
    shades, brackets = spots_of(frame, plan.spots, m, depth=depth)
    return System(
        top=y,
        height=frame.top + (plan.highest - plan.lowest) + depth + below,
        frame=frame,
        under=(
            *shades,
            *grid_of(frame, bars, m, last=last),
            *body,
            *parts_of(frame, _parts_in(plan, stretch), m),
            *repeats_in(frame, plan.repeats, m),
        ),
        comb=comb,
        links=_links_in(pieces),
        events=pieces,
        over=(*_breaths_in(plan, frame, pieces), *brackets),
    )
