"""Shapes as data: the outlines and labels that ribbon, chart, film and page are drawn with.

Geometry knows no ink and no file format. Every shape has a role ("blow", "cord", "weight"...); what a role
looks like is the palette's business (`shapes_palette`). Lengths are in rows, x to the right, y downwards.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

Point = tuple[float, float]
# a straight piece is its end alone, a cubic one two control points and its end: one point or three
Segment = tuple[Point, ...]

# distance of the control points that makes a cubic a quarter circle, parts of the radius (mathematics)
QUARTER = 0.5522847498


@dataclass(frozen=True, slots=True)
class Curve:
    """A line or a closed outline.

    role : what it stands for; the palette inks it.
    start : where it begins, rows.
    pieces : straight and cubic pieces, end to end.
    closed : whether it is an outline to be filled.
    """

    role: str
    start: Point
    pieces: tuple[Segment, ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """A piece of text.

    role : what it stands for; the palette inks it.
    x, y : rows; y is the middle of a capital letter's height.
    size : size of the letters, rows.
    text : what it says.
    anchor : which part of the text stands at x: "start", "middle" or "end".
    """

    role: str
    x: float
    y: float
    size: float
    text: str
    anchor: str = "middle"


Shape = Curve | Label


@dataclass(frozen=True, slots=True)
class CombHole:
    """One hole of the comb: what to light when it sounds.

    hole : its number.
    box : its outline.
    number : its label.
    """

    hole: int
    box: Curve
    number: Label


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle along the axes, rows."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def middle(self) -> Point:
        """Its middle, rows."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def overlaps(self, other: Box) -> bool:
        """Whether the insides of two boxes meet."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, other: Box, *, slack: float = 0.0) -> bool:
        """Whether the other box lies inside this one, give or take some slack."""
        return (
            self.left - slack <= other.left
            and other.right <= self.right + slack
            and self.top - slack <= other.top
            and other.bottom <= self.bottom + slack
        )


def line(role: str, *points: Point) -> Curve:
    """A line through points.

    >>> line("bar", (0, 0), (0, 3)).pieces
    (((0, 3),),)
    """
    return Curve(role, points[0], tuple((point,) for point in points[1:]))


def polygon(role: str, *points: Point) -> Curve:
    """A closed outline with straight sides."""
    return replace(line(role, *points), closed=True)


def rounded_box(role: str, box: Box, radius: float = 0.0, *, square: Collection[str] = ()) -> Curve:
    """A rectangle with rounded corners, but for those at its ``square`` sides ("left", "right", "top", "bottom")."""
    r = min(radius, (box.right - box.left) / 2, (box.bottom - box.top) / 2)
    # each corner with its two sides, and the way along the edge that leads to it and away from it, clockwise
    corners = (
        (box.right, box.top, ("top", "right"), (1, 0), (0, 1)),
        (box.right, box.bottom, ("bottom", "right"), (0, 1), (-1, 0)),
        (box.left, box.bottom, ("bottom", "left"), (-1, 0), (0, -1)),
        (box.left, box.top, ("top", "left"), (0, -1), (1, 0)),
    )
    pieces: list[Segment] = []
    for x, y, sides, (to_x, to_y), (on_x, on_y) in corners:
        if r <= 0 or set(sides) & set(square):
            pieces.append(((x, y),))
            continue
        k = r * (1 - QUARTER)
        pieces.append(((x - to_x * r, y - to_y * r),))
        pieces.append(((x - to_x * k, y - to_y * k), (x + on_x * k, y + on_y * k), (x + on_x * r, y + on_y * r)))
    return Curve(role, pieces[-1][-1], tuple(pieces), closed=True)


def circle(role: str, x: float, y: float, radius: float) -> Curve:
    """A circle, as four cubic pieces."""
    return rounded_box(role, Box(x - radius, y - radius, x + radius, y + radius), radius)


def comb_hole(hole: int, x: float, y: float, *, half_width: float, half_height: float, letters: float) -> CombHole:
    """A hole around (x, y), with its number in letters of that size."""
    box = rounded_box("comb_hole", Box(x - half_width, y - half_height, x + half_width, y + half_height), 0.1)
    return CombHole(hole, box, Label("comb_number", x, y, letters, str(hole)))


def moved(shape: Shape, x: float, y: float) -> Shape:
    """The shape, moved."""
    if isinstance(shape, Label):
        return replace(shape, x=shape.x + x, y=shape.y + y)
    pieces = tuple(tuple((px + x, py + y) for px, py in piece) for piece in shape.pieces)
    return replace(shape, start=(shape.start[0] + x, shape.start[1] + y), pieces=pieces)


def _cubic(start: Point, piece: Sequence[Point], share: float) -> Point:
    first, second, end = piece
    a, b = (1 - share) ** 3, 3 * share * (1 - share) ** 2
    c, d = 3 * share**2 * (1 - share), share**3
    return (
        a * start[0] + b * first[0] + c * second[0] + d * end[0],
        a * start[1] + b * first[1] + c * second[1] + d * end[1],
    )


def flattened(curve: Curve, steps: int = 8) -> list[Point]:
    """The curve as points on a polyline, for renderers that know only straight lines.

    steps : straight pieces for each cubic one.
    """
    points = [curve.start]
    for piece in curve.pieces:
        if len(piece) == 1:
            points.append(piece[0])
        else:
            start = points[-1]
            points += [_cubic(start, piece, step / steps) for step in range(1, steps + 1)]
    return points


def bounds_of(curves: Iterable[Curve]) -> Box:
    """The smallest box around some curves (their ink's width left aside)."""
    points = [point for curve in curves for point in flattened(curve)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))
