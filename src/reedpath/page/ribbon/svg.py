"""Writing a ribbon as an SVG picture, with heading, legend and words for those who do not see it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple
from xml.sax.saxutils import escape, quoteattr

from reedpath.arrange import Choice, Route, RouteEvent
from reedpath.page.drawing.drawing_data import Layout, load_layout, load_measures
from reedpath.page.drawing.legend import heading_of
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.shapes import Shape
from reedpath.page.drawing.svg import SvgWriter
from reedpath.page.ribbon.legend import legend_of, signs_of
from reedpath.page.ribbon.notes import EventShapes
from reedpath.page.ribbon.repeats import RepeatedSpan
from reedpath.page.ribbon.systems import RibbonShapes, ribbon_of
from reedpath.phrase import Part, PrintedBar, numbered_bars
from reedpath.wording import Catalogue, bars_words, capital, harp_words, load_catalogue, move_words, position_words

# rows; the room that the heading takes, and the air above the legend
HEADING, LEGEND_AIR = 2.1, 0.7
# rows of air at the bottom
BOTTOM = 0.3
# rows; air above and below a legend that stands alone
LEGEND_EDGE = 0.3


@dataclass(frozen=True, slots=True)
class RibbonLook:
    """How a ribbon is to look.

    layout : "sheet", "phone", "wide", "upright" or "strip", see ``drawing.toml``; or one made otherwise.
    palette : "paper" in colour, "ink" in black alone, "night" on a dark ground.
    notation : the tab in the strips.
    all_holes : whether holes that the route does not use have a cord too.
    heading, legend : whether to write these above and below.
    in_print : whether the legend's entries run on, in as little room as can be.
    lightable : for a page that lights notes as they sound: halos that can be shown (class "halo"), and every
        note to be read aloud by itself rather than the picture as a whole.
    """

    layout: str | Layout = "sheet"
    palette: str = "paper"
    notation: str = "sign"
    all_holes: bool = False
    heading: bool = True
    legend: bool = True
    in_print: bool = False
    lightable: bool = False


class _DrawnRibbon(NamedTuple):
    """A ribbon in SVG, its pieces yet to be put together.

    heading : empty for none. blocks : each system, and the legend last where there is one: its top in rows, its SVG.
    """

    writer: SvgWriter
    heading: str
    blocks: list[tuple[float, str]]
    width: float
    height: float


def _drawn(
    route: Route, look: RibbonLook, words: Catalogue, parts: Sequence[Part] | None, repeats: Sequence[RepeatedSpan]
) -> _DrawnRibbon:
    holes, tab = look.all_holes, look.notation
    ribbon = ribbon_of(route, layout=look.layout, notation=tab, parts=parts, all_holes=holes, repeats=repeats)
    writer = SvgWriter(load_palette(look.palette), ribbon.row_px)
    top = HEADING if look.heading else 0.0
    blocks = _systems(route, ribbon, writer, words, top=top, lightable=look.lightable)
    height = top + ribbon.height
    if look.legend:
        signs, measures = signs_of(route), ribbon.measures
        legend = legend_of(signs, words, width=ribbon.width, measures=measures, in_print=look.in_print)
        blocks.append((height + LEGEND_AIR, writer.group("legend", height + LEGEND_AIR, legend.shapes)))
        height += LEGEND_AIR + legend.height
    heading = writer.shapes(_heading(route, words, ribbon.width)) if look.heading else ""
    return _DrawnRibbon(writer, heading, blocks, ribbon.width, height + BOTTOM)


def _picture(
    route: Route,
    look: RibbonLook,
    words: Catalogue,
    drawn: _DrawnRibbon,
    body: str,
    cut: tuple[float, float] | None = None,
) -> str:
    harp = harp_words(route.harp, words)
    return drawn.writer.picture(
        body,
        width=drawn.width,
        height=drawn.height,
        title=words.say("ribbon.title", title=_title(route, words)),
        description=words.say("ribbon.describes", harp=harp, count=len(route.events)),
        role="group" if look.lightable else "img",
        cut=cut,
    )


def format_ribbon_svg(
    route: Route,
    *,
    look: RibbonLook | None = None,
    parts: Sequence[Part] | None = None,
    catalogue: Catalogue | None = None,
    repeats: Sequence[RepeatedSpan] = (),
) -> str:
    """
    The ribbon of a route as an SVG file's text.

    Every event is a group with the id ``event-N`` (N its index in the route; a note that goes on in further
    systems has ``event-N-2`` and so on there, all with ``data-event="N"``), and every hole of a system's comb a
    group with ``data-hole``.

    parts : stretches to be labelled; the phrase's own when left out.
    catalogue : the language of heading, legend and descriptions; English when left out.
    repeats : what is drawn once between repeat signs.
    """
    look, words = look or RibbonLook(), catalogue or load_catalogue("en")
    drawn = _drawn(route, look, words, parts, repeats)
    body = "\n".join(filter(None, [drawn.heading, *(block for _, block in drawn.blocks)]))
    return _picture(route, look, words, drawn, body)


def ribbon_strips(
    route: Route, *, look: RibbonLook, parts: Sequence[Part], catalogue: Catalogue, repeats: Sequence[RepeatedSpan]
) -> list[str]:
    """The ribbon without its heading in strips, SVG files' texts: one for each system, and last one for the legend.

    Its arguments are those of `format_ribbon_svg`.
    """
    drawn = _drawn(route, look, catalogue, parts, repeats)
    bottoms = [*(top for top, _ in drawn.blocks[1:]), drawn.height]
    return [
        _picture(route, look, catalogue, drawn, block, (top, bottom))
        for (top, block), bottom in zip(drawn.blocks, bottoms, strict=True)
    ]


def format_signs_svg(routes: Sequence[Route], *, catalogue: Catalogue, layout: Layout | None = None) -> str:
    """One legend for the ribbons of several routes, as an SVG file's text, as wide as they are on a sheet."""
    layout = layout or load_layout("sheet")
    measures = load_measures(layout)
    legend = legend_of(signs_of(*routes), catalogue, width=layout.width, measures=measures, in_print=True)
    title = catalogue.say("sheet.legend")
    writer = SvgWriter(load_palette("paper"), layout.row_px)
    body, height = writer.group("legend", LEGEND_EDGE, legend.shapes), legend.height + 2 * LEGEND_EDGE
    return writer.picture(body, width=layout.width, height=height, title=title, description=title)


def _title(route: Route, words: Catalogue) -> str:
    return route.phrase.title or words.say("sheet.ribbon")


def _heading(route: Route, words: Catalogue, width: float) -> list[Shape]:
    about = [harp_words(route.harp, words)]
    if route.position is not None:
        about.append(position_words(route.position, words))
    if not route.events:
        about.append(words.say("part.empty"))
    line = " · ".join(capital(one) for one in about)
    return heading_of(_title(route, words), line, width=width)


def choice_words(choice: Choice, words: Catalogue, *, vibrato: bool = False) -> str:
    """A move in words, and how its pitch goes: "3 draw, whole-step bend, bent down at the end, vibrato"."""
    said = [move_words(choice.move, words)]
    if choice.attack_semitones < 0:
        said.append(words.say("ribbon.let_go"))
    if choice.fall_semitones < 0:
        said.append(words.say("ribbon.pressed"))
    if vibrato:
        said.append(words.say("ribbon.vibrato"))
    return ", ".join(said)


def event_words(one: RouteEvent, words: Catalogue, bar: PrintedBar | None = None) -> str:
    """An event in words: "bar 2, 3 draw, whole-step bend, vibrato"."""
    choice, ornaments = one.choice, one.event.ornaments
    said = [choice_words(choice, words, vibrato=ornaments.vibrato)]
    asked = {
        "accent": ornaments.accent,
        "grace": one.event.grace,
        "changed": bool(choice.changes) and choice.move is not None,
    }
    said += [words.say(f"ribbon.{sign}") for sign, used in asked.items() if used]
    if one.breathe_before:
        said.insert(0, words.say("ribbon.breath"))
    if bar and bar.number:
        said.insert(0, bars_words([bar], words))
    return ", ".join(said)


def event_labels(route: Route, words: Catalogue) -> list[str]:
    """Each event in words, its bar first."""
    numbered = numbered_bars(route.phrase)
    return [event_words(one, words, numbered.at(one.event.onset)) for one in route.events]


def _systems(
    route: Route, ribbon: RibbonShapes, writer: SvgWriter, words: Catalogue, *, top: float, lightable: bool
) -> list[tuple[float, str]]:
    labels = event_labels(route, words)
    pieces: dict[int, int] = {}
    blocks = []
    for system in ribbon.systems:
        sections = [f'<g class="system" transform="translate(0 {writer.length(top + system.top)})">']
        sections.append(writer.shapes(system.under))
        sections.append(writer.holes(system.comb))
        sections.append(writer.shapes(system.links))
        for piece in system.events:
            pieces[piece.index] = pieces.get(piece.index, 0) + 1
            label = labels[piece.index]
            if not piece.first:
                label = f"{label}, {words.say('ribbon.goes_on')}"
            sections.append(event_group(piece, pieces[piece.index], label, writer, lightable=lightable))
        sections.append(writer.shapes(system.over))
        sections.append("</g>")
        blocks.append((top + system.top, "\n".join(filter(None, sections))))
    return blocks


def event_group(piece: EventShapes, count: int, label: str, writer: SvgWriter, *, lightable: bool) -> str:
    """The piece of an event in one system, the ``count``-th of that event, as a group with its name and words."""
    name = f"event-{piece.index}" + (f"-{count}" if count > 1 else "")
    body = writer.shapes(piece.shapes)
    if lightable and piece.halo:
        body += f'\n<g class="halos" display="none">{writer.shapes(piece.halo)}</g>'
    holes = " ".join(str(hole) for hole in piece.holes)
    return (
        f'<g id="{name}" class="event" data-event="{piece.index}" data-onset="{piece.onset}" '
        f'data-end="{piece.end}" data-holes="{holes}" role="img" aria-label={quoteattr(label)}>'
        f"<title>{escape(label)}</title>\n{body}\n</g>"
    )
