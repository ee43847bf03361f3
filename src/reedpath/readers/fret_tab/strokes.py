"""Strokes: notes on several strings that stand in one column, struck together."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from reedpath.readers.fret_tab.staff import BarSpan, Staff
from reedpath.readers.fret_tab.string_notes import Touch

__all__ = ["BarStrokes", "Stroke", "strokes_of"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """Notes struck together.

    column : of the staff, where the first of them begins.
    touches : the notes, top line first; muted ones only where all are muted.
    graces : grace notes written before it, in order.
    """

    column: int
    touches: tuple[Touch, ...]
    graces: tuple[Touch, ...] = ()

    @property
    def is_muted(self) -> bool:
        """Whether nothing of it has a pitch."""
        return all(touch.fret is None for touch in self.touches)

    @property
    def is_reached(self) -> bool:
        """Whether every note is hammered, pulled or slid from the one before."""
        return all(touch.before is not None for touch in self.touches)

    @property
    def is_bent(self) -> bool:
        """Whether a string of it is bent."""
        return any(touch.bends or touch.pre_bend for touch in self.touches)

    @property
    def held_to(self) -> int:
        """Column after the last sign that holds it."""
        return max(touch.held_to for touch in self.touches)


@dataclass(frozen=True, slots=True)
class BarStrokes:
    """A bar and its strokes in order; ``units`` are places counted without what a fret's text adds.

    columns : place of each stroke in columns from the bar line; ``width`` columns in all.
    units : the same, where a fret of two digits or a bend's text counts as one; ``unit_width`` in all.
    """

    span: BarSpan
    strokes: tuple[Stroke, ...]
    columns: tuple[int, ...]
    width: int
    units: tuple[int, ...]
    unit_width: int


def _grouped(touches: Iterable[Touch]) -> list[list[Touch]]:
    """Touches whose frets share a column, together."""
    groups: list[list[Touch]] = []
    reach = -1
    for touch in sorted(touches, key=lambda one: (one.column, one.string)):
        if groups and touch.column < reach and all(one.string != touch.string for one in groups[-1]):
            groups[-1].append(touch)
            reach = max(reach, touch.end)
        else:
            groups.append([touch])
            reach = touch.end
    return groups


def _strokes(touches: Iterable[Touch], graces: list[Touch]) -> Iterator[Stroke]:
    """Strokes of a bar; ``graces`` holds those that wait for the next stroke, before and after."""
    for group in _grouped(touches):
        if all(touch.grace for touch in group):
            graces += group
            continue
        pitched = [touch for touch in group if touch.fret is not None]
        column = min(touch.column for touch in group)
        in_order = sorted(pitched or group, key=lambda touch: touch.string)
        yield Stroke(column, tuple(in_order), tuple(touch for touch in graces if touch.fret is not None))
        graces.clear()


def _swallowed(staff: Staff, span: BarSpan, touches: Sequence[Touch]) -> frozenset[int]:
    """Columns that only hold the text of a note begun before: second digits, bends, releases."""
    by_string: dict[int, set[int]] = {string: set() for string in range(len(staff.strings))}
    for touch in touches:
        for start, end in ((touch.column + 1, touch.end), *touch.cells):
            by_string[touch.string].update(range(start, end))
    texts = set().union(*by_string.values())
    return frozenset(
        column
        for column in texts
        if span.holds(column)
        and all(column in by_string[string] or text[column] in "- " for string, text in enumerate(staff.strings))
    )


def strokes_of(staff: Staff, touches: Sequence[Touch]) -> list[BarStrokes]:
    """The strokes of each bar of a staff."""
    ordered = sorted(touches, key=lambda touch: touch.column)
    found: list[BarStrokes] = []
    graces: list[Touch] = []
    first = 0
    for span in staff.bars:
        inside: list[Touch] = []
        while first < len(ordered) and ordered[first].column < span.end:
            inside.append(ordered[first])
            first += 1
        strokes = tuple(_strokes(inside, graces))
        swallowed = sorted(_swallowed(staff, span, inside))
        columns = tuple(stroke.column - span.start for stroke in strokes)
        units = tuple(stroke.column - span.start - bisect_left(swallowed, stroke.column) for stroke in strokes)
        width = span.end - span.start
        found.append(BarStrokes(span, strokes, columns, width, units, width - len(swallowed)))
    return found
