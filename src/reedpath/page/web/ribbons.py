"""Ribbons: the strip that runs with the sound while its comb stands still, and the lines to read and to print."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reedpath.arrange import Route
from reedpath.harp import Move
from reedpath.page.badges import lit_hole
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.shapes import Label, Shape, line
from reedpath.page.drawing.svg import FONTS, SvgWriter, number
from reedpath.page.ribbon.svg import event_group
from reedpath.page.ribbon.systems import System, ribbon_of
from reedpath.page.web.symbols import MoveSymbols, lit_groups
from reedpath.phrase import Part

# rows; how far the strip's cords reach to the left of its beginning, and the air right of its end
LEAD, RIGHT_AIR = 1.3, 0.2
# rows; how far the line of what sounds reaches over the highest cord: over what is lifted on it
LINE_OVER = 0.8
# rows; how much narrower a lit hole is than the comb
LIT_AIR = 0.2


@dataclass(frozen=True, slots=True)
class StripPicture:
    """The ribbon in one line.

    comb, strip : SVG; the comb stands still while the strip passes behind it.
    row_px : units of their coordinates to a row.
    comb_rows, strip_rows, height_rows : widths of the two and the height of both.
    lead_rows : from the strip's left edge to its beginning.
    head_rows : from the top to where the line of what sounds begins, under the names of parts and the bars' numbers.
    places : x of each event's left and right edge from the strip's beginning, rows.
    beat_rows : from one beat to the next.
    top_rows : y of the cord of the highest hole that is shown, highest_hole; a hole lower, a row lower.
    semitone_rows : how much lower a semitone under a hole's natural note is.
    """

    comb: str
    strip: str
    row_px: float
    comb_rows: float
    strip_rows: float
    height_rows: float
    lead_rows: float
    head_rows: float
    places: tuple[tuple[float, float], ...]
    beat_rows: float
    top_rows: float
    highest_hole: int
    semitone_rows: float


def _svg(body: str, writer: SvgWriter, box: tuple[float, float, float, float], attributes: str) -> str:
    """An SVG element that shows the box (left, top, width, height) of rows."""
    view = " ".join(number(rows * writer.row_px) for rows in box)
    return f'<svg viewBox="{view}" font-family="{FONTS}" stroke-linejoin="round" {attributes}>\n{body}\n</svg>'


def _stands(shape: Shape, comb: float) -> bool:
    """Whether a shape belongs to the comb."""
    return shape.role == "comb" or (isinstance(shape, Label) and shape.x < comb)


def _comb(system: System, writer: SvgWriter, comb: float) -> str:
    standing = writer.shapes(shape for shape in system.under if _stands(shape, comb))
    holes = writer.holes(system.comb)
    return f"{standing}\n{holes}"


def _running(system: System, writer: SvgWriter, words: Sequence[str], *, comb: float, pieces: dict[int, int]) -> str:
    """All of a system but its comb; ``pieces`` counts the pieces of each event over the systems."""
    sections = [writer.shapes(shape for shape in system.under if not _stands(shape, comb))]
    sections.append(writer.shapes(system.links))
    for piece in system.events:
        pieces[piece.index] = pieces.get(piece.index, 0) + 1
        sections.append(event_group(piece, pieces[piece.index], words[piece.index], writer, lightable=True))
    sections.append(writer.shapes(system.over))
    return "\n".join(section for section in sections if section)


def _lead(system: System, comb: float) -> list[Shape]:
    """The cords from the comb to the strip's beginning, so that it does not stand in the air."""
    frame = system.frame
    holes = range(frame.lowest, frame.highest + 1)
    return [line("cord", (comb - LEAD, frame.y_of(hole)), (comb, frame.y_of(hole))) for hole in holes]


def _lit_column(system: System, signs: MoveSymbols, writer: SvgWriter, comb: float) -> str:
    """The comb's holes, lit, for each sign."""

    def shapes_of(move: Move) -> Iterator[Shape]:
        for hole in move.holes:
            yield from lit_hole(move, hole, comb / 2, system.frame.y_of(hole), width=comb - LIT_AIR)

    return lit_groups(signs.choices, shapes_of, writer)


def strip_picture(
    route: Route, *, notation: str, parts: Sequence[Part], words: Sequence[str], signs: MoveSymbols
) -> StripPicture:
    """The ribbon as one strip, in two pictures.

    words : each event in words.
    """
    ribbon = ribbon_of(route, layout="strip", notation=notation, parts=parts)
    system, comb = ribbon.systems[0], ribbon.measures.comb
    writer = SvgWriter(load_palette("paper"), ribbon.row_px)
    width = LEAD + system.frame.right - comb + RIGHT_AIR
    standing = f"{_comb(system, writer, comb)}\n{_lit_column(system, signs, writer, comb)}"
    running = f"{writer.shapes(_lead(system, comb))}\n{_running(system, writer, words, comb=comb, pieces={})}"
    x_of = system.frame.x_of
    return StripPicture(
        comb=_svg(standing, writer, (0, 0, comb, system.height), 'aria-hidden="true"'),
        strip=_svg(running, writer, (comb - LEAD, 0, width, system.height), 'aria-hidden="true"'),
        row_px=ribbon.row_px,
        comb_rows=comb,
        strip_rows=width,
        height_rows=system.height,
        lead_rows=LEAD,
        head_rows=max(0.0, system.frame.top - LINE_OVER),
        places=tuple((x_of(one.event.onset) - comb, x_of(one.event.end) - comb) for one in route.events),
        beat_rows=system.frame.rows_per_beat,
        top_rows=system.frame.top,
        highest_hole=system.frame.highest,
        semitone_rows=system.frame.step,
    )


def ribbon_lines(route: Route, *, notation: str, parts: Sequence[Part], words: Sequence[str]) -> list[str]:
    """The ribbon in lines for a narrow screen, an SVG for each; events are named ``line-event-N``.

    words : each event in words.
    """
    ribbon = ribbon_of(route, layout="phone", notation=notation, parts=parts)
    writer = SvgWriter(load_palette("paper"), ribbon.row_px)
    comb, lines = ribbon.measures.comb, []
    pieces: dict[int, int] = {}
    for system in ribbon.systems:
        under = _comb(system, writer, comb)
        body = f"{under}\n{_running(system, writer, words, comb=comb, pieces=pieces)}"
        body = body.replace('<g id="event-', '<g id="line-event-')
        height = math.ceil(system.height * writer.row_px) / writer.row_px
        lines.append(_svg(body, writer, (0, 0, ribbon.width, height), 'role="group"'))
    return lines
