"""Ink: the drawing's shapes as pixels, in the palette that pages use."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from reedpath.film.letters import draw_text
from reedpath.page import Curve, Label, Palette, Shape, Style, flattened

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

# drawn so many times larger and then made small, so that edges are smooth
FINER = 3
# straight pieces for each curved one, at least, and pixels of a row for one piece more
STEPS, STEP_ROW_PX = 6, 12.0

# pixels by which the outer edge of a line may gape where it turns
GAPE_PX = 0.6

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Ink:
    """How shapes become pixels.

    palette : colours of each role.
    row_px : pixels to a row.
    """

    palette: Palette
    row_px: float

    @property
    def ground(self) -> str:
        """The colour behind everything, "#rrggbb"."""
        return self.palette.inks["ground"]


def _dashes(points: Sequence[Point], on_off: Sequence[float]) -> Iterator[list[Point]]:
    """The strokes of a dashed line."""
    left, place, stroke = on_off[0], 0, [points[0]]
    for start, end in pairwise(points):
        length = math.dist(start, end)
        done = 0.0
        while length - done > 1e-9:
            step = min(left, length - done)
            done += step
            left -= step
            share = done / length
            here = (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
            if place % 2 == 0:
                stroke.append(here)
            if left <= 1e-9:
                if place % 2 == 0:
                    yield stroke
                place += 1
                left, stroke = on_off[place % len(on_off)], [here]
    if place % 2 == 0 and len(stroke) > 1:
        yield stroke


def _draw_curve(draw: ImageDraw.ImageDraw, curve: Curve, style: Style, scale: float, offset: Point) -> None:
    steps = STEPS + int(scale / FINER / STEP_ROW_PX)
    points = [(x * scale - offset[0], y * scale - offset[1]) for x, y in flattened(curve, steps)]
    if curve.closed and style.fill:
        draw.polygon(points, fill=style.fill)
    if not style.stroke:
        return
    width = max(1, round(style.width * scale))
    points = [point for index, point in enumerate(points) if index == 0 or math.dist(point, points[index - 1]) > 1e-6]
    if curve.closed:
        points += points[:2] if math.dist(points[0], points[-1]) > 1e-6 else points[1:2]
    strokes = _dashes(points, [part * scale for part in style.dash]) if style.dash else [points]
    for stroke in strokes:
        draw.line(stroke, fill=style.stroke, width=width)
        if width > 2:
            _round_corners(draw, stroke, style.stroke, width)


def _round_corners(draw: ImageDraw.ImageDraw, points: Sequence[Point], colour: str, width: int) -> None:
    """Fill the notches that a wide line has where it turns."""
    half = width / 2 - 0.5
    for before, (x, y), after in zip(points, points[1:], points[2:], strict=False):
        one, other = (x - before[0], y - before[1]), (after[0] - x, after[1] - y)
        across = abs(one[0] * other[1] - one[1] * other[0])
        if across * half > GAPE_PX * math.hypot(*one) * math.hypot(*other):
            draw.ellipse((x - half, y - half, x + half, y + half), fill=colour)


def painted(
    shapes: Iterable[Shape], ink: Ink, *, width: int, height: int, left_px: float = 0.0, top_px: float = 0.0
) -> Image.Image:
    """Shapes drawn on the palette's ground, RGB, that many pixels wide and high.

    left_px, top_px : where in the drawing the picture's upper left corner lies.
    """
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (width * FINER, height * FINER), ink.ground)
    draw = ImageDraw.Draw(image)
    scale = ink.row_px * FINER
    offset = (left_px * FINER, top_px * FINER)
    for shape in shapes:
        style = ink.palette.style(shape.role)
        if isinstance(shape, Label):
            place = (shape.x * scale - offset[0], shape.y * scale - offset[1])
            draw_text(
                draw,
                place,
                shape.text,
                size_px=shape.size * scale,
                fill=style.fill or ink.ground,
                anchor=shape.anchor,
                bold=style.bold,
            )
        else:
            _draw_curve(draw, shape, style, scale, offset)
    return image.reduce(FINER)
