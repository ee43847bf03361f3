"""The engraver: verovio called, kept quiet and repeatable."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

from reedpath.errors import PageError
from reedpath.page.engrave.finish import finished_svg
from reedpath.page.engrave.heading import Heading, headed_svg, heading_of
from reedpath.page.engrave.look import ScoreLook

__all__ = ["Engraving", "engrave_pages", "engrave_score"]

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
# words of the tab must not touch: in units, found by trial; less lets the signs of neighbours meet
TAB_SPACE = 3.0
# size of the tab in units; from trial, as large as a text between the staves can be
TAB_SIZE = 4.8
# seed of the ids that verovio makes up for what has none, so that a score is drawn the same every time
SEED = 1


@dataclass(frozen=True, slots=True)
class Engraving:
    """An engraved score.

    pages : an SVG each; the notes have the ids of the MusicXML.
    notes : for each id of a note, its onset and end in beats as the engraver counts them.
    """

    pages: tuple[str, ...]
    notes: dict[str, tuple[float, float]]


def _options(look: ScoreLook) -> dict[str, Any]:
    """Options of the engraver that make a staff as high and a page as wide as is wanted."""
    scale = look.staff_mm * 10 / (UNITS_PER_STAFF * UNIT_TENTHS)
    height = MOST_HEIGHT if look.page_height_mm is None else look.page_height_mm * 10 / scale
    return {
        "pageWidth": round(min(max(look.width_mm * 10 / scale, LEAST_WIDTH), MOST_WIDTH)),
        "pageHeight": round(min(max(height, LEAST_HEIGHT), MOST_HEIGHT)),
        "adjustPageHeight": True,
        "pageMarginLeft": MARGIN,
        "pageMarginRight": MARGIN,
        "pageMarginTop": MARGIN,
        "pageMarginBottom": 2 * MARGIN,
        "breaks": "auto",
        "breaksNoWidow": True,
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


# a part's label in the score, longer than a rehearsal letter or two
_WIDE_LABEL = re.compile(r"<rehearsal[^>]*>([^<]{3,})</rehearsal>")


def _with_wide_labels(musicxml: str) -> str:
    """The score with long part labels as plain words, which start over their note: the engraver centres a
    rehearsal mark on the bar line, at the left edge cuts it off, and draws its box for another face.
    """
    words = r'<words font-weight="bold" font-style="normal">\1</words>'
    return _WIDE_LABEL.sub(words, musicxml)


def _not_a_score() -> PageError:
    return PageError("the score cannot be engraved", hint="check that it is MusicXML with at least one bar")


def _engraver(musicxml: bytes, look: ScoreLook) -> Any:
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    engraver = verovio.toolkit()
    engraver.setInputFrom("musicxml")
    engraver.setOptions(_options(look))
    if (
        not engraver.loadData(_with_wide_labels(musicxml.decode("utf-8", errors="replace")))
        or engraver.getPageCount() < 1
    ):
        raise _not_a_score()
    return engraver


def _times(engraver: Any) -> dict[str, tuple[float, float]]:
    starts: dict[str, float] = {}
    times: dict[str, tuple[float, float]] = {}
    for moment in engraver.renderToTimemap({"includeMeasures": False, "includeRests": False}):
        beats = float(moment["qstamp"])
        for note in moment.get("on", ()):
            starts[note] = beats
        for note in moment.get("off", ()):
            times[note] = (starts[note], beats)
    return times


def engrave_pages(musicxml: bytes, *, look: ScoreLook | None = None, title: str = "") -> Engraving:
    """
    Engrave a score.

    look : width and size; the default suits a sheet with margins of 15 mm.
    title : what the picture is called, for those who hear it read.

    Raises `PageError` where the score cannot be read.
    """
    chosen = look or ScoreLook()
    engraver = _engraver(musicxml, chosen)
    pages = [engraver.renderToSVG(number) for number in range(1, engraver.getPageCount() + 1)]
    if not any('class="measure"' in page for page in pages):
        raise _not_a_score()
    svgs = tuple(finished_svg(page, width_mm=chosen.width_mm, title=title) for page in pages)
    return Engraving(svgs, _times(engraver))


def engrave_score(musicxml: bytes, *, look: ScoreLook | None = None, has_heading: bool = True) -> str:
    """The whole score as one SVG, its systems one under another.

    has_heading : whether title and part name stand above the music.

    Raises `PageError` where the score cannot be read.
    """
    endless = replace(look or ScoreLook(), page_height_mm=None, system_pages=False)
    heading = heading_of(musicxml) if has_heading else Heading()
    return headed_svg(engrave_pages(musicxml, look=endless).pages, heading)
