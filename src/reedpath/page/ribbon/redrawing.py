"""A ribbon drawn again after a change: each system is a picture of its own, and only those that changed are drawn.

The harp is shown whole, so that a note that moves to another hole does not move the picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.page.drawing.drawing_data import load_layout
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.svg import FONTS, SvgWriter
from reedpath.page.ribbon.line_breaks import SystemSpan
from reedpath.page.ribbon.notes import EventShapes
from reedpath.page.ribbon.svg import event_group, event_words
from reedpath.page.ribbon.systems import (
    PlacedEvents,
    RibbonPlan,
    place_events,
    plan_ribbon,
    stands_as,
    stretches_of,
    system_of,
    what_stands_in,
    with_route,
)
from reedpath.phrase import NumberedBars, Part, numbered_bars
from reedpath.wording import Catalogue


class DrawnSystem(Struct, frozen=True):
    """One system as a picture.

    shows : all that it shows, by which it is known again; its spots last.
    svg : the picture; events are groups with ``data-event``.
    placed, events : its events where they stand, and as they are drawn: the same while nothing but spots changes.
    """

    shows: tuple[object, ...]
    svg: str
    placed: PlacedEvents
    events: tuple[str, ...]


class DrawnRibbon(Struct, frozen=True):
    """A ribbon in systems.

    look : layout, notation and language.
    plan : of its route.
    numbered : the bars of its phrase.
    times : onset and duration of each event, beats.
    stretches : what each system holds.
    """

    look: tuple[str, str, str]
    plan: RibbonPlan
    numbered: NumberedBars
    times: tuple[tuple[Fraction, Fraction], ...]
    stretches: tuple[SystemSpan, ...]
    systems: tuple[DrawnSystem, ...]


def draw_ribbon(
    route: Route,
    catalogue: Catalogue,
    *,
    layout: str = "sheet",
    notation: str = "sign",
    parts: Sequence[Part] | None = None,
    before: DrawnRibbon | None = None,
) -> DrawnRibbon:
    """The ribbon of a route in systems.

    parts : stretches to be labelled; the phrase's own when left out.
    before : the ribbon before a change. Where its notes lie as those of the route, the lines are broken as they were,
        and a system that shows the same is taken over as it is.
    """
    look = (layout, notation, catalogue.name)
    if before is not None and before.look != look:
        before = None
    shown = route.phrase.parts if parts is None else parts
    if before is not None and stands_as(before.plan, route, shown):
        plan, numbered, times = with_route(before.plan, route), before.numbered, before.times
    else:
        plan = plan_ribbon(route, notation=notation, parts=shown, all_holes=True)
        numbered = numbered_bars(route.phrase)
        times = tuple((one.event.onset, one.event.duration) for one in route.events)
    chosen = load_layout(layout)
    keeps = before is not None and before.times == times and before.stretches[-1].end >= route.phrase.end
    stretches = before.stretches if before is not None and keeps else stretches_of(plan, chosen)
    pen = _SystemPen(plan, SvgWriter(load_palette("paper"), chosen.row_px), catalogue, numbered)
    systems = []
    for number, stretch in enumerate(stretches):
        is_last = number == len(stretches) - 1
        shows = (is_last, *what_stands_in(plan, stretch))
        was = _shown_before(before, number, shows)
        if was is None or was.shows != shows:
            was = pen.draw(stretch, chosen.width, shows, was)
        systems.append(was)
    return DrawnRibbon(look, plan, numbered, times, tuple(stretches), tuple(systems))


def _shown_before(before: DrawnRibbon | None, number: int, shows: tuple[object, ...]) -> DrawnSystem | None:
    """The system that showed the same before the change, but for its spots; it may have stood elsewhere."""
    if before is None:
        return None
    if number < len(before.systems) and before.systems[number].shows[:-1] == shows[:-1]:
        return before.systems[number]
    return next((one for one in before.systems if one.shows[:-1] == shows[:-1]), None)


@dataclass(frozen=True, slots=True)
class _SystemPen:
    """What systems are drawn with."""

    plan: RibbonPlan
    writer: SvgWriter
    words: Catalogue
    numbered: NumberedBars

    def draw(
        self, stretch: SystemSpan, width: float, shows: tuple[object, ...], was: DrawnSystem | None
    ) -> DrawnSystem:
        """A system as a picture, ``width`` rows wide; ``was``: before its spots changed."""
        writer, placed = self.writer, was.placed if was else place_events(self.plan, stretch)
        system = system_of(self.plan, stretch, 0.0, last=bool(shows[0]), placed=placed)
        events = was.events if was else tuple(map(self._event, system.events))
        under = (writer.shapes(system.under), writer.holes(system.comb), writer.shapes(system.links))
        sections = (*under, *events, writer.shapes(system.over))
        body = "\n".join(section for section in sections if section)
        box = f"0 0 {writer.length(width)} {writer.length(system.height)}"
        # the names of a system's groups would come again in the next one, where a note goes on
        body = body.replace(' id="event-', ' data-name="event-')
        svg = (
            f'<svg class="ribbon-system" viewBox="{box}" role="group" font-family="{FONTS}" '
            f'stroke-linejoin="round">\n{body}\n</svg>'
        )
        return DrawnSystem(shows, svg, placed, events)

    def _event(self, piece: EventShapes) -> str:
        one = self.plan.route.events[piece.index]
        label = event_words(one, self.words, self.numbered.at(one.event.onset))
        return event_group(piece, 1, label, self.writer, lightable=True)
