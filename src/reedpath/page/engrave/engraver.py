"""The engraver: verovio called, kept quiet and repeatable."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any, Literal
from xml.sax.saxutils import escape, quoteattr

from reedpath.errors import PageError
from reedpath.page.engrave.casting import even_lines, with_line_breaks
from reedpath.page.engrave.heading import FACES, ScoreHeading, headed_svg, score_heading
from reedpath.page.score.elements import clean_text

# notes within text stand in the private area of music faces (SMuFL 1.4, metronome marks); plain Unicode
# shows in every renderer
PLAIN_NOTES = {"\ueca5": "♩", "\ueca7": "♪", "\ueca9": "♬", "\uecb7": "."}
# how much lower the tab is set than the engraver puts it, in its hundredths of a millimetre before scaling:
# faces of systems are taller than the one it measures with, and would touch low beams; from trial
TAB_DROP = 110
_ROOT = re.compile(r'<svg viewBox="0 0 (\d+) (\d+)"')
_TEMPO = re.compile(r'(<g id="[^"]*" class="tempo"[^>]*><text [^>]*>)(.*?)(</text>)')
_TSPAN = re.compile(r'<tspan font-size="(\d+)px">')
_TAG = re.compile(r"<[^>]*>")
_PLACEHOLDER = re.compile(r'(<g [^>]*class="[^"]*placeholder[^"]*"[^>]*>)<ellipse [^>]*/>')
_UNUSED_STYLE = re.compile(r"#\w+ g\.(?:cursor|cursor\.chord|placeholder) \{[^}]*\}")
_TAB = re.compile(r'(class="syl"><text x="\d+" y=")(\d+)(")')
_MEASURE = re.compile(r'class="measure"')
# verovio's unit is half the space between two staff lines, a staff is 8 of them
UNITS_PER_STAFF = 8
# verovio's default unit in tenths of a millimetre at 100 percent; its page sizes are counted in these
UNIT_TENTHS = 9.0
# page heights that verovio allows, in its own tenths of a millimetre
MOST_HEIGHT = 60_000
LEAST_HEIGHT = 100
MOST_WIDTH, LEAST_WIDTH = 100_000, 100
# room around the music for what sticks out of its box, in the engraver's tenths of a millimetre; from trial
MARGIN = 30
# the same left of the staves, beyond which half the number of a line's first bar stands; at the right there is none
NUMBER_MARGIN = 36
# words of the tab must not touch: in units, found by trial; less lets the signs of neighbours meet
TAB_SPACE = 3.0
# size of the tab in units; from trial, as large as a text between the staves can be
TAB_SIZE = 4.8
# seed of the ids that verovio makes up for what has none, so that a score is drawn the same every time
SEED = 1
# a part's label in the score: where it begins with a bar, and within one
_LABEL = re.compile(r"<rehearsal[^>]*>([^<]+)</rehearsal>|<words [^>]*enclosure=[^>]*>([^<]+)</words>")
# share of the width from which the last line is spread out to the margin; shorter ones would look torn; from trial
LEAST_SPREAD = 0.35
# a measure whose number is shown otherwise than it is counted
_SHOWN_NUMBER = re.compile(r'<measure number="[^"]*" text="([^"]*)"')


@dataclass(frozen=True, slots=True)
class ScoreLook:
    """How wide and how large a score is engraved.

    width_mm : width of the music, millimetres.
    staff_mm : height of a staff, millimetres; 7 is common in printed parts (common practice, no source).
    page_height_mm : height at which a page ends, millimetres; None for one endless page.
    system_pages : whether every system is a page of its own, for a text to flow around.
    """

    width_mm: float = 180.0
    staff_mm: float = 6.4
    page_height_mm: float | None = None
    system_pages: bool = False


def _plain_tempo(match: re.Match[str]) -> str:
    """A tempo in one run of text, its note a plain sign, so that no renderer loses a space or a glyph."""
    size = _TSPAN.search(match[2])
    text = _TAG.sub("", match[2]).replace("\xa0", " ")
    text = "".join(PLAIN_NOTES.get(sign, sign) for sign in text).strip()
    text = text.replace(" .", ".")
    height = size[1] if size else "400"
    return f'{match[1]}<tspan font-size="{height}px" xml:space="preserve">{text}</tspan>{match[3]}'


def finished_svg(svg: str, *, width_mm: float, title: str) -> str:
    """The SVG with its size, its faces and its title set.

    width_mm : width of the picture; the height follows.
    title : what it is called; empty for no title.
    """
    root = _ROOT.match(svg)
    if root is None:
        raise PageError("page.no_picture")
    width, height = int(root[1]), int(root[2])
    name = clean_text(title)
    size = f'width="{width_mm:g}mm" height="{width_mm * height / width:.2f}mm"'
    label = f" aria-label={quoteattr(name)}" if name else ""
    head = f'<svg role="img"{label} {size} viewBox="0 0 {width} {height}"'
    svg = head + svg[root.end() :]
    svg = re.sub(r"<desc>.*?</desc>", lambda _: f"<title>{escape(name)}</title>" if name else "", svg, count=1)
    svg = svg.replace('font-family="Times, serif"', f'font-family="{FACES}"')
    svg = _PLACEHOLDER.sub(r"\1", _UNUSED_STYLE.sub("", svg))
    svg = _TAB.sub(lambda match: f"{match[1]}{int(match[2]) + TAB_DROP}{match[3]}", svg)
    return _TEMPO.sub(_plain_tempo, svg)


def _options(look: ScoreLook, breaks: Literal["auto", "line"] = "auto") -> dict[str, Any]:
    """Options of the engraver that make a staff as high and a page as wide as is wanted."""
    scale = look.staff_mm * 10 / (UNITS_PER_STAFF * UNIT_TENTHS)
    height = MOST_HEIGHT if look.page_height_mm is None else look.page_height_mm * 10 / scale
    return {
        "pageWidth": round(min(max(look.width_mm * 10 / scale, LEAST_WIDTH), MOST_WIDTH)),
        "pageHeight": round(min(max(height, LEAST_HEIGHT), MOST_HEIGHT)),
        "adjustPageHeight": True,
        "pageMarginLeft": NUMBER_MARGIN,
        "pageMarginRight": 0,
        "pageMarginTop": MARGIN,
        "pageMarginBottom": 2 * MARGIN,
        "breaks": breaks,
        "breaksNoWidow": True,
        "minLastJustification": LEAST_SPREAD,
        "header": "none",
        "footer": "none",
        "svgViewBox": True,
        "svgRemoveXlink": False,
        "svgFormatRaw": True,
        "smuflTextFont": "none",
        "lyricWordSpace": TAB_SPACE,
        "lyricSize": TAB_SIZE,
        "spacingSystem": 8,
        "mnumInterval": 0,
        "systemMaxPerPage": 1 if look.system_pages else 0,
        "xmlIdSeed": SEED,
    }


def _with_plain_labels(musicxml: str) -> str:
    """The score with all part labels as plain words, which start over their note: the engraver centres a rehearsal
    mark on the bar line, at the left edge cuts it off, draws its box for another face, and where one begins a line
    leaves out the number of the bar.
    """
    words = '<words font-weight="bold" font-style="normal">{}</words>'
    return _LABEL.sub(lambda label: words.format(label[1] or label[2]), musicxml)


def _with_shown_numbers(musicxml: str) -> str:
    """The score with each measure's number as it is to be shown, which the engraver takes from nowhere else."""
    return _SHOWN_NUMBER.sub(r'<measure number="\1"', musicxml)


def _engraver(musicxml: bytes, look: ScoreLook) -> Any:
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    engraver = verovio.toolkit()
    engraver.setInputFrom("musicxml")
    whole = musicxml.decode("utf-8", errors="replace")
    text = _with_shown_numbers(_with_plain_labels(whole))
    _load(engraver, text, _options(replace(look, system_pages=True)))
    lines = [len(_MEASURE.findall(engraver.renderToSVG(number))) for number in range(1, engraver.getPageCount() + 1)]
    even = even_lines(whole, lines)
    if even != lines:
        text = with_line_breaks(text, even)
    if even != lines or not look.system_pages:
        _load(engraver, text, _options(look, "line" if even != lines else "auto"))
    return engraver


def _load(engraver: Any, text: str, options: dict[str, Any]) -> None:
    engraver.setOptions(options)
    if not engraver.loadData(text) or engraver.getPageCount() < 1:
        raise PageError("page.not_engraved")


def engrave_pages(musicxml: bytes, *, look: ScoreLook | None = None, title: str = "") -> tuple[str, ...]:
    """
    Engrave a score: an SVG for each page, whose notes have the ids of the MusicXML.

    look : width and size; the default suits a sheet with margins of 15 mm.
    title : what the picture is called, for those who hear it read.

    Raises `PageError` where the score cannot be read.
    """
    chosen = look or ScoreLook()
    engraver = _engraver(musicxml, chosen)
    pages = [engraver.renderToSVG(number) for number in range(1, engraver.getPageCount() + 1)]
    if not any('class="measure"' in page for page in pages):
        raise PageError("page.not_engraved")
    return tuple(finished_svg(page, width_mm=chosen.width_mm, title=title) for page in pages)


def engrave_score(musicxml: bytes, *, look: ScoreLook | None = None, has_heading: bool = True) -> str:
    """The whole score as one SVG, its systems one under another.

    has_heading : whether title and part name stand above the music.

    Raises `PageError` where the score cannot be read.
    """
    endless = replace(look or ScoreLook(), page_height_mm=None, system_pages=False)
    heading = score_heading(musicxml) if has_heading else ScoreHeading()
    return headed_svg(engrave_pages(musicxml, look=endless), heading)
