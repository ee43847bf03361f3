"""Marks: the small signs on, under and over a strip.

Weights pull a bend down, one for each semitone; a wedge and two props lift an overblow or overdraw; ropes
tie a hanging strip to its cord; a post at the attack is an accent; a hollow lozenge is a note not as given;
a hatched tongue covers the holes between; a comma is a breath; a dotted slot with a cross is silence.
"""

from __future__ import annotations

import math

from reedpath.page.drawing.drawing_data import Measures
from reedpath.page.drawing.shapes import Box, Curve, Segment, Shape, circle, line, polygon, rounded_box

# rows; half width of the post of an accent, and how far it stands out above and below the strip
POST_HALF, POST_OUT = 0.07, 0.16
# rows; half the width and half the height of the lozenge
LOZENGE = 0.17
# rows; height of the breath comma
COMMA = 0.56
# rows; distance of the hatching's lines, and the tongue's greatest width
HATCH_APART, TONGUE_WIDTH = 0.22, 1.2


def weights_below(x: float, y: float, level: float, width: float, measures: Measures) -> list[Shape]:
    """One weight for each semitone that a level lies below the cord, hanging side by side from y.

    Half a semitone is a hollow weight. Under a width too small for them they hang closer.
    """
    depth = -level
    whole = math.floor(depth + 0.25)
    roles = ["weight"] * whole + (["half_weight"] if depth - whole >= 0.25 else [])
    between = max(1, len(roles) - 1)
    apart = max(min(measures.weight_apart, (width - 2 * measures.weight) / between), measures.weight * 1.5)
    first = x - (len(roles) - 1) * apart / 2
    return [
        circle(role, first + i * apart, y + measures.weight * 1.1, measures.weight) for i, role in enumerate(roles)
    ]


def lifting_wedge(x: float, y: float, measures: Measures) -> Curve:
    """A wedge standing on y, its point up."""
    half = measures.wedge * 0.8
    return polygon("wedge", (x - half, y + 0.03), (x, y - measures.wedge), (x + half, y + 0.03))


def accent_post(x: float, top: float, bottom: float) -> Curve:
    """A post at the attack, standing out above and below the strip."""
    box = Box(x - POST_HALF, top - POST_OUT, x + POST_HALF, bottom + POST_OUT)
    return rounded_box("accent", box, POST_HALF)


def changed_lozenge(x: float, y: float) -> Curve:
    """A hollow lozenge around a point."""
    return polygon("changed", (x - LOZENGE, y), (x, y - LOZENGE), (x + LOZENGE, y), (x, y + LOZENGE))


def breath_comma(x: float, bottom: float) -> Curve:
    """A comma whose tail ends at (x, bottom): the breath mark of printed music."""
    x, top, r = x + COMMA * 0.1, bottom - COMMA, COMMA * 0.3
    pieces: tuple[Segment, ...] = (
        ((x + 1.3 * r, top), (x + 1.45 * r, top + 1.9 * r), (x - 0.7 * r, bottom)),
        ((x - 1.0 * r, bottom - 0.1 * r), (x - 1.0 * r, bottom - 0.25 * r), (x - 0.85 * r, bottom - 0.4 * r)),
        ((x - 0.1 * r, bottom - 1.0 * r), (x + 0.1 * r, top + 2.2 * r), (x - 0.1 * r, top + 2.0 * r)),
        ((x - 1.3 * r, top + 2.0 * r), (x - 1.3 * r, top), (x, top)),
    )
    return Curve("breath", (x, top), pieces, closed=True)


def _hatching(box: Box) -> list[Shape]:
    """Slanting lines in a box, from lower left to upper right."""
    height = box.bottom - box.top
    lines: list[Shape] = []
    foot = box.left - height + HATCH_APART
    while foot < box.right - 1e-9:
        low_x, high_x = max(foot, box.left), min(foot + height, box.right)
        lines.append(line("hatch", (low_x, box.bottom - (low_x - foot)), (high_x, box.bottom - (high_x - foot))))
        foot += HATCH_APART
    return lines


def covering_tongue(left: float, right: float, top: float, bottom: float) -> list[Shape]:
    """A hatched tongue between the sounding holes of a split."""
    until = min(left + TONGUE_WIDTH, right)
    tip = min(0.3, (until - left) * 0.4)
    outline = Curve(
        "tongue",
        (left, top),
        (
            ((until - tip, top),),
            ((until + tip / 3, top), (until + tip / 3, bottom), (until - tip, bottom)),
            ((left, bottom),),
        ),
        closed=True,
    )
    return [outline, *_hatching(Box(left, top, until - tip * 0.8, bottom))]


def silent_slot(box: Box) -> list[Shape]:
    """A dotted slot with a cross: an event that is not played."""
    x, y = box.middle
    arm = min((box.right - box.left), (box.bottom - box.top)) * 0.28
    return [
        rounded_box("silent", box, 0.08),
        line("silent_cross", (x - arm, y - arm), (x + arm, y + arm)),
        line("silent_cross", (x - arm, y + arm), (x + arm, y - arm)),
    ]
