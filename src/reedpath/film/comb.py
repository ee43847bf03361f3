"""The comb and its holes, beside the ribbon and as the harp is held; what sounds is lit, what comes is marked.

A sounding hole is lit in the ribbon's language: blown, it is full and bulges; drawn, it is hollow and sucked in;
weights hang under a bend, a wedge stands on an overblow. So it tells by its shape alone what is done to it. What is
spoken of and does not sound yet stands between four corners.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reedpath.arrange import Choice
from reedpath.harp import Move
from reedpath.page import (
    Box,
    Shape,
    System,
    comb_hole,
    line,
    lit_hole,
    load_measures,
    rounded_box,
)
from reedpath.page import badge_shapes as page_badge

# rows; side of a dark hole and the rounding of the comb's ends
HOLE, COMB_ROUND = 0.62, 0.25
# how much smaller a number of two digits is, so that it keeps off its hole's edges
TWO_DIGITS = 0.84
# corners around what comes: length of their arms, parts of the height between them; rows by which they keep off
CORNER, CORNER_OFF = 0.26, 0.1
# how far the comb reaches beyond its outer holes, rows
BEYOND = 0.5


def badge_shapes(choice: Choice, text: str, x: float, y: float) -> list[Shape]:
    """The badge of a move, around (x, y); nothing for what is not played."""
    if choice.move is None:
        return []
    return list(page_badge(choice, text, x, y))


def _hole(hole: int, x: float, y: float) -> Iterator[Shape]:
    letters = load_measures().text * (1.0 if hole < 10 else TWO_DIGITS)
    drawn = comb_hole(hole, x, y, half_width=HOLE / 2, half_height=HOLE / 2, letters=letters)
    yield from (drawn.box, drawn.number)


def corners(box: Box) -> Iterator[Shape]:
    """The four corners of a box: what stands in it comes, and does not sound yet."""
    length = CORNER * (box.bottom - box.top)
    for x, inward in ((box.left, length), (box.right, -length)):
        for y, down in ((box.top, length), (box.bottom, -length)):
            yield line("halo", (x + inward, y), (x, y), (x, y + down))


def comb_column(
    system: System, holes: int, width: float, move: Move | None, coming: Move | None = None
) -> Iterator[Shape]:
    """The comb beside the ribbon, its sounding holes lit: from x 0 to ``width``, rows of the system.

    holes : how many the harp has; where it goes on beyond the ribbon's cords the comb is cut straight.
    coming : the move that is spoken of and does not sound yet: its holes stand between corners.
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
            yield from lit_hole(move, hole, width / 2, frame.y_of(hole), width=width - 0.24)
    for hole in coming.holes if coming is not None else ():
        half, y = HOLE / 2 + CORNER_OFF, frame.y_of(hole)
        yield from corners(Box(width / 2 - half, y - half, width / 2 + half, y + half))


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
            yield from lit_hole(move, hole, column * (hole - 0.2), middle, width=min(column * 0.98, 1.15))
