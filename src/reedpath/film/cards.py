"""Cards: a picture of words alone, for the title of a film and for what is said between its parts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reedpath.film.ink import FINER
from reedpath.film.letters import draw_text, fitting_size, wrapped
from reedpath.film.screens import Screen
from reedpath.page import Palette

if TYPE_CHECKING:
    from PIL import Image

# parts of the picture's width: air at the sides
SIDE = 0.055
# line to line, parts of the letters' size
STEP = 1.2


@dataclass(frozen=True, slots=True)
class CardRow:
    """How a text of a card is set.

    size : of its letters, a part of the picture's shorter side.
    most_lines : that it may take.
    ink : of the palette.
    bold : whether in bold letters.
    """

    size: float
    most_lines: int
    ink: str
    bold: bool = False


# the title, facts in a row, and sentences
TITLE, FACTS, TEXT = CardRow(0.125, 3, "text", bold=True), CardRow(0.062, 2, "faint_text"), CardRow(0.062, 5, "text")


def facts_joined(facts: Iterable[str]) -> str:
    """Facts in one line, which is broken between them alone."""
    unbroken = (one.replace(" ", "\u00a0") for one in facts)
    return " ".join(f"{one}\u00a0·" for one in unbroken)


def text_picture(
    texts: Sequence[tuple[str, CardRow]],
    screen: Screen,
    palette: Palette,
    *,
    room: tuple[float, float],
    apart: float = 0.0,
) -> Image.Image:
    """The ground with texts on it, one under the other in the middle of their room.

    texts : those that are empty are left out.
    room : from where to where they stand, parts of the picture's height.
    apart : air between two texts, parts of the size of the lower one.
    """
    from PIL import Image, ImageDraw

    width, height = screen.width * FINER, screen.height * FINER
    top, bottom = room
    image = Image.new("RGB", (width, height), palette.inks["ground"])
    draw = ImageDraw.Draw(image)
    rows: list[tuple[str, float, CardRow, float]] = []
    for text, row in texts:
        size, across = row.size * min(width, height), (1 - 2 * SIDE) * width
        lines = wrapped(text, size, across, most_lines=row.most_lines, bold=row.bold)
        size = min((fitting_size(line, size, across, bold=row.bold) for line in lines), default=size)
        airs = [apart * size if rows else 0.0] + [0.0] * len(lines)
        rows += [(line.removesuffix("\u00a0·"), size, row, air) for line, air in zip(lines, airs, strict=False)]
    tall = sum(STEP * size + air for _, size, _, air in rows)
    smaller = min(1.0, (bottom - top) * height / tall) if rows else 1.0
    y = (top + bottom) * height / 2 - smaller * tall / 2
    for line, size, row, air in rows:
        step = STEP * size * smaller
        y += air * smaller
        place = (SIDE * width, y + step / 2)
        ink = palette.inks[row.ink]
        draw_text(draw, place, line, size_px=size * smaller, fill=ink, anchor="start", bold=row.bold)
        y += step
    return image.reduce(FINER)
