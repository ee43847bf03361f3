"""Writing a chart as an SVG picture, with a legend and words for those who do not see it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from xml.sax.saxutils import escape, quoteattr

from reedpath.arrange import Route
from reedpath.harp import Alteration, Breath, Harp, Move
from reedpath.page.chart import (
    TILE_BESIDE,
    ChartBlock,
    ChartCell,
    ChartShapes,
    cell_shapes,
    chart_of,
    strip_of_cell,
)
from reedpath.page.drawing.drawing_data import Layout, Measures
from reedpath.page.drawing.legend import SAMPLE, Entry, heading_of, laid_out
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.shapes import Shape
from reedpath.page.drawing.svg import SvgWriter
from reedpath.wording import Catalogue, capital, harp_words, load_catalogue, move_words, tuning_words

# rows; the room that the heading takes, the air at its left and above the legend
HEADING, MARGIN, LEGEND_AIR = 2.0, 0.2, 0.8

_BEND = Move((2,), Breath.DRAW, Alteration.BEND, -2)
_DIP = Move((5,), Breath.DRAW, Alteration.BEND, 0)
_OVERBEND = Move((6,), Breath.BLOW, Alteration.OVERBLOW, 3)


@dataclass(frozen=True, slots=True)
class ChartLook:
    """How a chart is to look.

    layout : "sheet", "phone", "wide", "upright" or "strip", see ``drawing.toml``; or one made otherwise.
    palette : "paper" in colour, "ink" in black alone, "night" on a dark ground.
    heading, legend : whether to write these above and below.
    lightable : for a page that lights sounds: halos that can be shown (class "halo"), and every sound to be read
        aloud by itself rather than the picture as a whole.
    """

    layout: str | Layout = "sheet"
    palette: str = "paper"
    heading: bool = True
    legend: bool = True
    lightable: bool = False


def format_chart_svg(
    harp: Harp,
    *,
    used_moves: Iterable[Move] | None = None,
    tonic: int | None = None,
    look: ChartLook | None = None,
    catalogue: Catalogue | None = None,
) -> str:
    """
    The chart of a harp as an SVG file's text.

    Every sound is a group with ``data-hole``, ``data-breath``, ``data-alteration`` and ``data-semitones``.

    used_moves : moves of a phrase, whose sounds are marked and all others faint; None draws all alike.
    tonic : pitch class of the music's key note, which is underlined; None for no such mark.
    catalogue : the language of note names, legend and descriptions; English when left out.
    """
    look = look or ChartLook()
    words = catalogue or load_catalogue("en")
    home = harp.key_midi
    name = partial(words.note, tonic=home)
    chart = chart_of(harp, used_moves=used_moves, tonic=tonic, name=name, layout=look.layout)
    writer = SvgWriter(load_palette(look.palette), chart.row_px)
    heading = _heading(harp, chart, words) if look.heading else []
    top = HEADING if look.heading else 0.0
    sections = [writer.shapes(heading)] if heading else []
    lightable = look.lightable
    sections += [_block(block, top, writer, words, home=home, lightable=lightable) for block in chart.blocks]
    height = top + chart.height
    if look.legend:
        marked, has_home = used_moves is not None, tonic is not None
        entries = chart_entries(chart, words, marked=marked, has_home=has_home)
        legend = laid_out(entries, width=chart.width, measures=chart.measures)
        sections.append(writer.group("legend", height + LEGEND_AIR, legend.shapes))
        height += LEGEND_AIR + legend.height
    used = sum(cell.used for block in chart.blocks for cell in block.cells)
    title = words.say("chart.title", harp=harp_words(harp, words))
    return writer.picture(
        "\n".join(sections),
        width=chart.width,
        height=height + 0.3,
        title=title,
        description=words.say("chart.describes", harp=harp_words(harp, words), count=used)
        if used_moves is not None
        else title,
        role="group" if look.lightable else "img",
    )


def format_route_chart_svg(route: Route, *, look: ChartLook | None = None, catalogue: Catalogue | None = None) -> str:
    """The chart of a route's harp as an SVG file's text, its sounds marked and its key note underlined."""
    tonic = route.phrase.key.tonic if route.phrase.key else None
    return format_chart_svg(route.harp, used_moves=route.moves(), tonic=tonic, look=look, catalogue=catalogue)


def _heading(harp: Harp, chart: ChartShapes, words: Catalogue) -> list[Shape]:
    name = harp_words(harp, words)
    tuning = tuning_words(harp.tuning, words)
    return heading_of(capital(name), tuning, width=chart.width, left=MARGIN, below_y=1.35)


def _block(block: ChartBlock, top: float, writer: SvgWriter, words: Catalogue, *, home: int, lightable: bool) -> str:
    comb = writer.holes(block.comb)
    cells = "\n".join(_cell(cell, writer, words, home=home, lightable=lightable) for cell in block.cells)
    return (
        f'<g class="block" transform="translate(0 {writer.length(top + block.top)})">\n'
        f"{writer.shapes(block.under)}\n{comb}\n{cells}\n</g>"
    )


def _cell(cell: ChartCell, writer: SvgWriter, words: Catalogue, *, home: int, lightable: bool) -> str:
    move = cell.move
    label = f"{move_words(move, words)}: {words.note_with_octave(cell.midi, tonic=home)}"
    body = writer.shapes(cell.shapes)
    if lightable:
        body += f'\n<g class="halos" display="none">{writer.shape(cell.halo)}</g>'
    return (
        f'<g class="{"sound used" if cell.used else "sound"}" data-hole="{move.holes[0]}" '
        f'data-breath="{move.breath}" data-alteration="{move.alteration}" data-semitones="{move.semitones}" '
        f'role="img" aria-label={quoteattr(label)}><title>{escape(label)}</title>\n{body}\n</g>'
    )


def chart_entries(chart: ChartShapes, words: Catalogue, *, marked: bool, has_home: bool) -> list[Entry]:
    """A sample of each sign that a chart uses, with its words."""
    m = chart.measures
    moves = [cell.move for block in chart.blocks for cell in block.cells]
    shown = [
        ("chart.blow", Move((1,), Breath.BLOW), True),
        ("chart.draw", Move((1,), Breath.DRAW), True),
        ("ribbon.weight", _BEND, any(move.alteration is Alteration.BEND for move in moves)),
        ("ribbon.dip", _DIP, any(move.is_dip for move in moves)),
        ("chart.overbend", _OVERBEND, any(move.alteration.is_overbend for move in moves)),
    ]
    entries = [Entry(_sample(move, m), words.say(key)) for key, move, there in shown if there]
    if marked:
        entries.append(Entry(_sample(Move((1,), Breath.DRAW), m, tiled=True), words.say("chart.used")))
        entries.append(Entry(_sample(Move((1,), Breath.DRAW), m, used=False), words.say("chart.unused")))
    if has_home:
        home = _sample(Move((1,), Breath.DRAW), m, home=True)
        entries.append(Entry(home, words.say("chart.home")))
    return entries


def _sample(
    move: Move, m: Measures, *, used: bool = True, tiled: bool = False, home: bool = False
) -> tuple[Shape, ...]:
    strip = strip_of_cell(move, SAMPLE / 2, 0.0, SAMPLE - 2 * TILE_BESIDE, m)
    return tuple(cell_shapes(strip, move, "A" if home else "", used=used, tiled=tiled, home=home))
