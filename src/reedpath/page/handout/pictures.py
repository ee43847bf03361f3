"""Pictures for the hand-out: score and ribbon in systems that a page can break between, and the chart."""

from __future__ import annotations

import re
from collections.abc import Iterator

from reedpath.lesson import Lesson
from reedpath.page.chart_svg import ChartLook, format_chart_svg
from reedpath.page.engrave import ScoreLook, engrave_pages
from reedpath.page.ribbon_svg import RibbonLook, format_ribbon_svg
from reedpath.page.score import encode_musicxml
from reedpath.page.score.written import Sheet
from reedpath.page.svg import FONTS
from reedpath.wording import Catalogue

__all__ = ["cut_ribbon", "lesson_chart", "lesson_ribbon", "score_systems"]

# face of the hand-out, which its pictures share
FACE = "Libertinus Serif"

_BLOCK = re.compile(r'<g class="(?:system|legend)" transform="translate\(0 ([\d.]+)\)">')
_SIZE = re.compile(r'width="([\d.]+)" height="([\d.]+)" viewBox="0 0 [\d.]+ [\d.]+"')


def score_systems(lesson: Lesson, catalogue: Catalogue, *, width_mm: float) -> list[str]:
    """The engraved score, an SVG for each system."""
    look = ScoreLook(width_mm=width_mm, system_pages=True)
    musicxml = encode_musicxml(lesson, catalogue=catalogue, fold_repeats=True)
    return list(engrave_pages(musicxml, look=look, title=lesson.title).pages)


def _with_face(svg: str) -> str:
    return svg.replace(f'font-family="{FONTS}"', f'font-family="{FACE}"')


def cut_ribbon(svg: str) -> Iterator[str]:
    """A ribbon's picture in strips: one for each system, and one for the legend."""
    size, blocks = _SIZE.search(svg), list(_BLOCK.finditer(svg))
    if size is None or not blocks:
        yield svg
        return
    width, bottom = size[1], float(size[2])
    head = svg[: blocks[0].start()]
    edges = [float(block[1]) for block in blocks] + [bottom]
    starts = [block.start() for block in blocks] + [svg.rindex("</svg>")]
    for index in range(len(blocks)):
        top, height = edges[index], edges[index + 1] - edges[index]
        view = f'width="{width}" height="{height:.2f}" viewBox="0 {top:g} {width} {height:.2f}"'
        yield _SIZE.sub(view, head, count=1) + svg[starts[index] : starts[index + 1]] + "</svg>\n"


def lesson_ribbon(sheet: Sheet, catalogue: Catalogue) -> list[str]:
    """The ribbon of a lesson in strips."""
    look = RibbonLook(notation=sheet.notation, heading=False)
    svg = format_ribbon_svg(sheet.route, look=look, parts=sheet.parts, catalogue=catalogue)
    return [_with_face(strip) for strip in cut_ribbon(svg)]


def lesson_chart(sheet: Sheet, catalogue: Catalogue) -> str:
    """The chart of a lesson's harp."""
    route = sheet.route
    used = [one.choice.move for one in route.events if one.choice.move is not None]
    tonic = route.phrase.key.tonic if route.phrase.key else None
    look = ChartLook(heading=False, legend=False)
    return _with_face(format_chart_svg(route.harp, used_moves=used, tonic=tonic, look=look, catalogue=catalogue))
