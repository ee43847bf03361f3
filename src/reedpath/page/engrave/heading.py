"""The heading of a score that stands alone: its title and what it is for, above the music."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr, unescape

from reedpath.errors import PageError
from reedpath.page.score.elements import clean_text

# faces for the tab and the words: the hand-out's own, then what systems have
FACES = "'Libertinus Serif', 'Times New Roman', 'Liberation Serif', Times, serif"
# millimetres: sizes of the title and of the line under it, the smallest a long one is set at, room below each
TITLE_MM, LINE_MM, SMALLEST_MM = 6.4, 3.8, 2.6
TITLE_ROOM_MM, LINE_ROOM_MM = 9.0, 7.0
# width of a letter on average against its size, for serif faces; from trial, on the safe side
LETTER = 0.52

_SIZE = re.compile(r' width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 (\d+) (\d+)"')
_ROLE = re.compile(r' role="img"( aria-label=(?:"[^"]*"|\'[^\']*\'))?')


@dataclass(frozen=True, slots=True)
class ScoreHeading:
    """A title and a line under it, either perhaps empty."""

    title: str = ""
    line: str = ""


def score_heading(musicxml: bytes) -> ScoreHeading:
    """The title of a score and the name of its first part, as MusicXML has them.

    >>> score_heading(b"<a><movement-title>One &amp; two</movement-title></a>")
    ScoreHeading(title='One & two', line='')
    """
    text = musicxml.decode("utf-8", errors="replace")

    def content(tag: str) -> str:
        found = re.search(rf"<{tag}(?:\s[^>]*)?>([^<]*)</{tag}>", text)
        return clean_text(unescape(found[1], {"&quot;": '"', "&apos;": "'"})) if found else ""

    return ScoreHeading(content("movement-title") or content("work-title"), content("part-name"))


def _fitted(text: str, size_mm: float, width_mm: float) -> tuple[str, float]:
    """The text and the size at which it fits a width, cut short where it fits at none."""
    fitting = width_mm / (LETTER * max(1, len(text)))
    if fitting >= SMALLEST_MM:
        return text, min(size_mm, fitting)
    return text[: int(width_mm / (LETTER * SMALLEST_MM)) - 1].rstrip() + "…", SMALLEST_MM


@dataclass(frozen=True, slots=True)
class _PlacedPage:
    """A finished page to be set inside another picture; sizes in millimetres and in its own units."""

    body: str
    width_mm: float
    height_mm: float
    width: float
    height: float

    def placed(self, top: float) -> str:
        """The page as an element whose upper edge lies so many units down."""
        place = f' y="{top:.1f}" width="{self.width:g}" height="{self.height:g}"'
        view = f'{place} viewBox="0 0 {self.width:g} {self.height:g}"'
        return _ROLE.sub("", _SIZE.sub(view, self.body, count=1), count=1)


def _page(svg: str) -> _PlacedPage:
    size = _SIZE.search(svg)
    if size is None:
        raise PageError("page.page_without_size")
    return _PlacedPage(svg, *map(float, size.groups()))


def _words(heading: ScoreHeading, *, width_mm: float, unit: float) -> tuple[list[str], float]:
    """The heading's texts, and the millimetres it takes."""
    lines = (
        (heading.title, TITLE_MM, TITLE_ROOM_MM, "bold"),
        (heading.line, LINE_MM, LINE_ROOM_MM, "normal"),
    )
    top_mm, words = 0.0, []
    for text, size_mm, room_mm, weight in lines:
        if not text:
            continue
        fitted, at_mm = _fitted(text, size_mm, width_mm)
        words.append(
            f'<text x="{width_mm * unit / 2:g}" y="{(top_mm + size_mm) * unit:.1f}" text-anchor="middle" '
            f'font-size="{at_mm * unit:.1f}" font-weight="{weight}" font-family="{FACES}">{escape(fitted)}</text>'
        )
        top_mm += room_mm
    return words, top_mm


def headed_svg(svgs: Sequence[str], heading: ScoreHeading) -> str:
    """Finished pages one under another, a heading above them."""
    pages = [_page(svg) for svg in svgs]
    unit = pages[0].width / pages[0].width_mm
    words, top_mm = _words(heading, width_mm=pages[0].width_mm, unit=unit)
    for page in pages:
        words.append(page.placed(top_mm * unit))
        top_mm += page.height_mm
    label = f" aria-label={quoteattr(heading.title)}" if heading.title else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img"{label} width="{pages[0].width_mm:g}mm" '
        f'height="{top_mm:.2f}mm" viewBox="0 0 {pages[0].width:g} {top_mm * unit:.1f}">'
        f"<title>{escape(heading.title)}</title>{''.join(words)}</svg>"
    )
