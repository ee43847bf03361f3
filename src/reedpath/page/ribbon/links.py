"""What lies between the events: the path of the mouth, breaths, and tab beside strips too narrow for it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from reedpath.page.drawing.drawing_data import box_of, text_width
from reedpath.page.drawing.marks import breath_comma
from reedpath.page.drawing.shapes import Box, Curve, Label, Shape, line, rounded_box
from reedpath.page.drawing.strip import Strip
from reedpath.page.ribbon.grid import SystemFrame
from reedpath.page.ribbon.notes import EventShapes

# rows; a gap between two notes up to this is no rest to the eye
CONTIGUOUS = 0.35
# rows; how far apart the places are that are tried for a label, and how many are tried
LABEL_STEP, LABEL_TRIES = 0.2, 8
# neighbours on either side that a label may run into
NEIGHBOURS = 3


def _at(strips: Iterable[Strip], x: float, *, end: bool) -> list[Strip]:
    return [strip for strip in strips if abs((strip.right if end else strip.left) - x) < 1e-6]


def path_between(before: EventShapes, after: EventShapes) -> tuple[Shape, ...]:
    """The line along which the mouth goes from one event to the next; none where it stays."""
    if not before.strips or not after.strips or not before.last or not after.first:
        return ()
    out = _at(before.strips, max(strip.right for strip in before.strips), end=True)
    into = _at(after.strips, min(strip.left for strip in after.strips), end=False)
    one, other = min(((a, b) for a in out for b in into), key=lambda pair: abs(pair[0].cord - pair[1].cord))
    x, y = one.right, one.y_at(one.end)
    to_x, to_y = other.left, other.y_at(other.start)
    if abs(y - to_y) < 0.02 and to_x - x < CONTIGUOUS:
        return ()
    # inside a hollowed end the line would stop short of the strip
    start, stop = (x - one.cap * (one.breath == "draw"), y), (to_x + other.cap * (other.breath == "draw"), to_y)
    if to_x - x >= CONTIGUOUS:
        return (line("far_path", start, stop),)
    middle = (x + to_x) / 2
    return (line("path", start, (middle, y), (middle, to_y), stop),)


def _boxes(pieces: Iterable[EventShapes]) -> list[Box]:
    """The room that events take; a label may stand over the posts between the strips of a chord."""
    return [box_of(shape) for piece in pieces for shape in piece.shapes if not shape.role.startswith("bond_")]


def _placed(label: Label, half: float, taken: Sequence[Box]) -> Label:
    """The label at the nearest free place above or below its strip."""
    clear = half + label.size * 0.5
    tries = [
        replace(label, y=label.y + side * (clear + step * LABEL_STEP))
        for step in range(LABEL_TRIES)
        for side in (-1, 1)
    ]
    return next((one for one in tries if not any(box_of(one).overlaps(box) for box in taken)), tries[0])


def _within(label: Label, frame: SystemFrame) -> Label:
    """The label, moved so that it does not stand out of its system."""
    half = text_width(label.text, label.size) / 2
    return replace(label, x=min(max(label.x, frame.left + half), frame.right - half))


def with_asides(pieces: Sequence[EventShapes], frame: SystemFrame) -> list[EventShapes]:
    """The events with the tab of their narrow strips put where it runs into nothing."""
    done = list(pieces)
    for i, piece in enumerate(pieces):
        for label in piece.asides:
            near = done[max(0, i - NEIGHBOURS) : i + NEIGHBOURS + 1]
            strip = min(piece.strips, key=lambda one: abs(one.y_at(one.hold) - label.y))
            placed = _placed(_within(label, frame), strip.height / 2, _boxes(near))
            box = box_of(placed)
            ground = rounded_box("aside", Box(box.left - 0.04, box.top - 0.04, box.right + 0.04, box.bottom + 0.04))
            done[i] = replace(done[i], shapes=(*done[i].shapes, ground, placed))
    return done


def _edges(piece: EventShapes, x: float) -> float:
    """The upper edge of what a piece draws near x, rows."""
    boxes = [box for box in _boxes([piece]) if box.left - 0.5 < x < box.right + 0.5]
    return min((box.top for box in boxes), default=float("inf"))


def breath_before(x: float, before: EventShapes | None, after: EventShapes) -> Curve:
    """The breath mark at the end of one event and before the next, over both."""
    tops = [_edges(after, x)] + ([_edges(before, x)] if before else [])
    return breath_comma(x - 0.2, min(tops) - 0.06)
