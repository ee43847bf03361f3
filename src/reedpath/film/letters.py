"""Letters: text in a free font that comes with the package, and the signs of music that it lacks.

The font is Source Sans Pro (SIL Open Font License 1.1) from the package font-source-sans-pro. Flat, sharp and the
quarter note are drawn by us.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from importlib.resources import as_file, files
from itertools import groupby
from typing import TYPE_CHECKING

from reedpath.errors import FilmError
from reedpath.film.captions import split_words
from reedpath.page import Curve, flattened

if TYPE_CHECKING:
    from PIL import ImageDraw, ImageFont

FILES = {True: "SourceSansPro-Bold.ttf", False: "SourceSansPro-Semibold.ttf"}
# height of capital letters in the font, parts of its size (its OS/2 table), and the height that the drawing's
# measures count on: letters are set so much larger
FONT_CAPITAL, DRAWN_CAPITAL = 0.66, 0.73
ENLARGED = DRAWN_CAPITAL / FONT_CAPITAL


def _box(x: float, top: float, right: float, bottom: float) -> Curve:
    return Curve("sign", (x, top), (((right, top),), ((right, bottom),), ((x, bottom),)), closed=True)


def _slant(x: float, y: float, right: float, rise: float, thick: float) -> Curve:
    return Curve("sign", (x, y), (((right, y - rise),), ((right, y - rise + thick),), ((x, y + thick),)), closed=True)


def _head(x: float, y: float, wide: float, high: float) -> Curve:
    """A note's head, leaning to the upper right."""
    lean = 0.35 * high
    pieces = (
        ((x - wide, y - high + lean), (x + wide * 0.6, y - high - lean), (x + wide, y - lean)),
        ((x + wide, y + high - lean), (x - wide * 0.6, y + high + lean), (x - wide, y + lean)),
    )
    return Curve("sign", (x - wide, y + lean), pieces, closed=True)


# sign -> its advance and its outlines, in parts of the letters' size from its baseline's left end; our own drawing
_SIGNS: dict[str, tuple[float, tuple[Curve, ...]]] = {
    "♭": (
        0.42,
        (
            _box(0.06, -0.84, 0.13, 0.02),
            Curve(
                "sign",
                (0.13, 0.02),
                (
                    ((0.30, -0.12), (0.40, -0.26), (0.37, -0.40)),
                    ((0.34, -0.50), (0.20, -0.48), (0.13, -0.38)),
                    ((0.13, -0.29),),
                    ((0.20, -0.38), (0.27, -0.38), (0.27, -0.30)),
                    ((0.27, -0.22), (0.20, -0.14), (0.13, -0.07)),
                ),
                closed=True,
            ),
        ),
    ),
    "♯": (
        0.48,
        (
            _box(0.13, -0.76, 0.19, 0.10),
            _box(0.29, -0.82, 0.35, 0.04),
            _slant(0.05, -0.45, 0.43, 0.08, 0.10),
            _slant(0.05, -0.19, 0.43, 0.08, 0.10),
        ),
    ),
    "♩": (0.46, (_head(0.20, -0.10, 0.15, 0.11), _box(0.29, -0.78, 0.35, -0.10))),
}


@cache
def _file(*, bold: bool) -> str:
    source = files("font_source_sans_pro") / "files" / FILES[bold]
    with as_file(source) as path:
        return str(path)


@lru_cache(maxsize=256)
def _font(size_px: float, *, bold: bool) -> ImageFont.FreeTypeFont:
    from PIL import ImageFont

    try:
        return ImageFont.truetype(_file(bold=bold), size_px * ENLARGED, layout_engine=ImageFont.Layout.BASIC)
    except (OSError, ModuleNotFoundError) as error:
        raise FilmError("film.no_letters") from error


def _runs(text: str) -> Iterator[tuple[bool, str]]:
    """The text cut into what the font has and what is drawn."""
    for drawn, run in groupby(text, key=lambda letter: letter in _SIGNS):
        yield drawn, "".join(run)


def text_px(text: str, size_px: float, *, bold: bool = True) -> float:
    """Width of a text, pixels."""
    font = _font(size_px, bold=bold)
    return sum(
        sum(_SIGNS[sign][0] for sign in run) * size_px * ENLARGED if drawn else font.getlength(run)
        for drawn, run in _runs(text)
    )


def draw_text(
    draw: ImageDraw.ImageDraw,
    place: tuple[float, float],
    text: str,
    *,
    size_px: float,
    fill: str,
    anchor: str = "middle",
    bold: bool = True,
) -> None:
    """Write a text; ``place`` is x of its anchor ("start", "middle" or "end") and y of its capitals' middle."""
    font = _font(size_px, bold=bold)
    width = text_px(text, size_px, bold=bold)
    x = place[0] - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    baseline = place[1] + size_px * DRAWN_CAPITAL / 2
    size = size_px * ENLARGED
    for drawn, run in _runs(text):
        if not drawn:
            draw.text((x, baseline), run, font=font, fill=fill, anchor="ls")
            x += font.getlength(run)
            continue
        for sign in run:
            advance, curves = _SIGNS[sign]
            for curve in curves:
                draw.polygon([(x + px * size, baseline + py * size) for px, py in flattened(curve)], fill=fill)
            x += advance * size


def fitting_size(text: str, size_px: float, width_px: float, *, bold: bool = True) -> float:
    """The size at which a text is no wider than that: the one given, or less."""
    size_px *= min(1.0, width_px / max(1.0, text_px(text, size_px, bold=bold)))
    while size_px > 1.0 and text_px(text, size_px, bold=bold) > width_px:
        size_px *= 0.99  # letters keep to whole pixels, so small ones are not as much narrower as they are smaller
    return size_px


def wrapped(text: str, size_px: float, width_px: float, *, most_lines: int, bold: bool = False) -> list[str]:
    """A text broken at spaces into lines of about one length, no more lines than needed.

    What does not fit in the lines allowed is in the last one.
    """
    words = split_words(text)
    for count in range(1, most_lines + 1):
        lines = _evenly(words, count, size_px, bold=bold)
        if all(text_px(line, size_px, bold=bold) <= width_px for line in lines):
            return lines
    return _evenly(words, most_lines, size_px, bold=bold)


def _evenly(words: Sequence[str], count: int, size_px: float, *, bold: bool) -> list[str]:
    """Words in that many lines at most, the longest line as short as can be."""
    low, high = 0.0, text_px(" ".join(words), size_px, bold=bold)
    best = [" ".join(words)]
    for _ in range(20):
        middle = (low + high) / 2
        lines = _filled(words, middle, size_px, bold=bold)
        if len(lines) <= count:
            best, high = lines, middle
        else:
            low = middle
    return best if len(best) <= count else [" ".join(words)]


def _filled(words: Sequence[str], width_px: float, size_px: float, *, bold: bool) -> list[str]:
    lines: list[str] = []
    for word in words:
        if lines and text_px(f"{lines[-1]} {word}", size_px, bold=bold) <= width_px:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines
