"""Signs: a move as one lit shape, and the harp whose holes are lit, in the ribbon's language.

Blown, a hole is full and bulges; drawn, it is hollow and sucked in; weights hang under a bend, a wedge stands on an
overblow. So a lit hole tells by its shape alone what is done to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reedpath.arrange import Choice
from reedpath.harp import Move
from reedpath.page import (
    Box,
    Label,
    Shape,
    Strip,
    System,
    badge_width,
    cell_shapes,
    load_measures,
    outline_of,
    rounded_box,
)
from reedpath.page import badge_shapes as page_badge

__all__ = ["badge_shapes", "badge_width", "comb_column", "comb_row"]

# rows; height of a lit hole, how far its halo stands off, side of a dark hole and the rounding of the comb's ends
LIT, HALO, HOLE, COMB_ROUND = 0.78, 0.07, 0.62, 0.25
# how much smaller a number of two digits is, so that it keeps off its hole's edges
TWO_DIGITS = 0.84
# how far the comb reaches beyond its outer holes, rows
BEYOND = 0.5


def badge_shapes(choice: Choice, text: str, x: float, y: float) -> list[Shape]:
    """The badge of a move, around (x, y); nothing for what is not played."""
    if choice.move is None:
        return []
    return list(page_badge(choice, text, x, y))


def _lit(move: Move, hole: int, x: float, y: float, width: float) -> Iterator[Shape]:
    """One sounding hole."""
    m = load_measures()
    strip = Strip(x - width / 2, x + width / 2, y, move.breath, 0.0, 0.0, 0.0, LIT, m)
    yield outline_of(strip, "halo", grow=HALO)
    yield from cell_shapes(strip, move, str(hole), used=True)


def _hole(hole: int, x: float, y: float) -> Iterator[Shape]:
    half = HOLE / 2
    yield rounded_box("comb_hole", Box(x - half, y - half, x + half, y + half), 0.1)
    yield Label("comb_number", x, y, load_measures().text * (1.0 if hole < 10 else TWO_DIGITS), str(hole))


def comb_column(system: System, holes: int, width: float, move: Move | None) -> Iterator[Shape]:
    """The comb beside the ribbon, its sounding holes lit: from x 0 to ``width``, rows of the system.

    holes : how many the harp has; where it goes on beyond the ribbon's cords the comb is cut straight.
    """
    frame = system.frame
    square = [side for side, cut in (("top", frame.highest < holes), ("bottom", frame.lowest > 1)) if cut]
    box = Box(0.03, frame.top - BEYOND, width - 0.03, frame.bottom + BEYOND)
    yield rounded_box("comb", box, COMB_ROUND, square=square)
    lit = move.holes if move is not None else ()
    for hole in range(frame.lowest, frame.highest + 1):
        if hole not in lit:
            yield from _hole(hole, width / 2, frame.y_of(hole))
    for hole in lit:
        if move is not None:
            yield from _lit(move, hole, width / 2, frame.y_of(hole), width - 0.24)


def comb_row(holes: int, move: Move | None, *, width: float, height: float) -> Iterator[Shape]:
    """The whole harp as it is held, low notes left, its sounding holes lit: in a box of rows from (0, 0)."""
    column = width / (holes + 0.6)
    middle = height / 2
    tall = min(height / 2 - 0.1, 0.85)
    yield rounded_box("comb", Box(0.05, middle - tall, width - 0.05, middle + tall), 0.3)
    lit: Sequence[int] = move.holes if move is not None else ()
    for hole in range(1, holes + 1):
        if hole not in lit:
            yield from _hole(hole, column * (hole - 0.2), middle)
    for hole in lit:
        if move is not None:
            yield from _lit(move, hole, column * (hole - 0.2), middle, min(column * 0.98, 1.15))
