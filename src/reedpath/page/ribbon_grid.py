"""The grid of one system: cords, beats, bars, the comb with its numbers, part labels and spots."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from reedpath.page.ribbon_bars import Bar
from reedpath.page.ribbon_frame import Frame
from reedpath.page.shapes import Box, Curve, Label, Shape, circle, line, rounded_box
from reedpath.page.shapes_measures import Measures
from reedpath.phrase import Part

__all__ = ["CombHole", "SpotSpan", "comb_of", "grid_of", "parts_of", "spots_of"]

# rows; how far the grid reaches beyond its outer cords
BEYOND = 0.5
# rows; side of a hole in the comb, and the rounding of the comb's ends
HOLE, COMB_ROUND = 0.66, 0.25
# rows; heights of the lanes above and below the cords
PART_LANE, NUMBER_LANE, SPOT_LANE, SILENT_LANE = 0.85, 0.62, 0.85, 0.8


# roles of the grid, the hindmost first
_GRID_ROLES = ("cord", "beat", "bar", "end_bar", "number_text", "metre_text")


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
class SpotSpan:
    """A spot to practise, numbered from 1, in beats."""

    number: int
    onset: Fraction
    end: Fraction


def comb_of(frame: Frame, holes: int, m: Measures) -> tuple[list[Shape], tuple[CombHole, ...]]:
    """The body of the comb, and its holes.

    Where the harp goes on beyond the holes shown, the comb is cut straight.
    """
    top, bottom = frame.top - BEYOND, frame.bottom + BEYOND
    cut = [side for side, goes_on in (("top", frame.highest < holes), ("bottom", frame.lowest > 1)) if goes_on]
    body: list[Shape] = [rounded_box("comb", Box(0.03, top, m.comb, bottom), COMB_ROUND, square=cut)]
    half, x = HOLE / 2, m.comb / 2 + 0.015
    comb_holes = []
    for hole in range(frame.lowest, frame.highest + 1):
        y = frame.y_of(hole)
        box = rounded_box("comb_hole", Box(x - half, y - half, x + half, y + half), 0.1)
        comb_holes.append(CombHole(hole, box, Label("comb_number", x, y, m.text, str(hole))))
    return body, tuple(comb_holes)


def grid_of(frame: Frame, bars: Iterable[Bar], m: Measures, *, last: bool) -> list[Shape]:
    """Cords, beats and bars with their numbers and metres."""
    top, bottom = frame.top - BEYOND, frame.bottom + BEYOND
    lines: list[Shape] = [
        line("cord", (m.comb, frame.y_of(hole)), (frame.right, frame.y_of(hole)))
        for hole in range(frame.lowest, frame.highest + 1)
    ]
    metre = None
    for bar in bars:
        changed = metre is not None and (bar.metre.count, bar.metre.unit) != metre
        metre = (bar.metre.count, bar.metre.unit)
        if not frame.onset <= bar.onset < frame.end and not frame.onset < bar.end <= frame.end:
            continue
        for beat in bar.beats[1:]:
            if frame.onset < beat < frame.end:
                lines.append(line("beat", (frame.x_of(beat), top), (frame.x_of(beat), bottom)))
        if frame.onset <= bar.onset < frame.end:
            lines += _bar_start(bar, frame, m, new_metre=changed or bar.onset == 0)
    role = "end_bar" if last else "bar"
    lines.append(line(role, (frame.right, top), (frame.right, bottom)))
    return sorted(lines, key=lambda shape: _GRID_ROLES.index(shape.role))


def _bar_start(bar: Bar, frame: Frame, m: Measures, *, new_metre: bool) -> list[Shape]:
    x, y = frame.x_of(bar.onset), number_y(frame)
    shapes: list[Shape] = []
    if bar.onset > frame.onset:
        shapes.append(line("bar", (x, frame.top - BEYOND), (x, frame.bottom + BEYOND)))
    if bar.number:
        shapes.append(Label("number_text", x + 0.08, y, m.small_text, str(bar.number), "start"))
    if new_metre:
        text = f"{bar.metre.count}/{bar.metre.unit}"
        at_start = bar.onset == frame.onset
        place = m.comb / 2 if at_start else x + 0.75
        shapes.append(Label("metre_text", place, y, m.small_text, text, "middle" if at_start else "start"))
    return shapes


def number_y(frame: Frame) -> float:
    """Rows, y of the lane with the bars' numbers: the first thing above the grid's sky."""
    return frame.silent_y - SILENT_LANE / 2 - NUMBER_LANE / 2


def parts_of(frame: Frame, parts: Sequence[Part], m: Measures) -> list[Shape]:
    """Labels of the parts that begin in a system, and a line over each part's length."""
    shapes: list[Shape] = []
    y = number_y(frame) - NUMBER_LANE / 2
    for part in parts:
        onset, end = max(part.onset, frame.onset), min(part.end, frame.end)
        if onset >= end:
            continue
        x, until = frame.x_of(onset) + 0.04, frame.x_of(end) - 0.12
        begins = part.onset >= frame.onset
        points = [(x, y + 0.22), (x, y), (until, y)] if begins else [(x, y), (until, y)]
        shapes.append(line("part", *points))
        if begins:
            shapes.append(Label("part_text", x, y - 0.38, m.label_text, part.label, "start"))
    return shapes


def spots_of(
    frame: Frame, spots: Collection[SpotSpan], m: Measures, *, depth: float
) -> tuple[list[Shape], list[Shape]]:
    """Shading behind the spots to practise, and the numbered brackets under them.

    depth : rows that the system's events reach below the lowest cord.
    """
    shades: list[Shape] = []
    brackets: list[Shape] = []
    top, bottom = frame.top - BEYOND, frame.bottom + BEYOND
    y = frame.bottom + depth + SPOT_LANE * 0.5
    for spot in spots:
        onset, end = max(spot.onset, frame.onset), min(spot.end, frame.end)
        if onset >= end:
            continue
        x, until = frame.x_of(onset), frame.x_of(end)
        shades.append(rounded_box("shade", Box(x, top, until, bottom)))
        points = [(x + 0.06, y), (until - 0.06, y)]
        if spot.onset >= frame.onset:
            points.insert(0, (x + 0.06, y - 0.26))
        if spot.end <= frame.end:
            points.append((until - 0.06, y - 0.26))
        middle = (x + until) / 2
        brackets += [
            line("spot", *points),
            circle("spot_disc", middle, y, 0.3),
            Label("spot_text", middle, y, m.small_text, str(spot.number)),
        ]
    return shades, brackets
