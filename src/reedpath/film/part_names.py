"""Names of the parts over a ribbon that glides: each comes with its part, and then stands still while it lasts.

So none is ever cut where the ribbon goes behind the comb, and one always sees what part one is in. A name makes way
when the next one comes to stand where it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from reedpath.film.ink import FINER, Ink, painted
from reedpath.film.letters import text_px
from reedpath.film.planes import Coding, Frame, Planes, planes_of
from reedpath.page import Curve, Label, System, flattened

# rows between a name and the next one, under its room to the line of its part, and by which it stands higher than on
# paper, so that letters that hang down are whole
APART, ABOVE_LINE, RAISED = 0.3, 0.06, 0.09
# what stands for the rest of a name that is too long for its part
CUT = "\u2026"


def names_of(system: System) -> tuple[tuple[Label, float], ...]:
    """The names of the parts in a system, in order, each with the place at which its part ends, rows."""
    names = [shape for shape in system.under if isinstance(shape, Label) and shape.role == "part_text"]
    ends = [
        max(x for x, _ in flattened(shape, 1))
        for shape in system.under
        if isinstance(shape, Curve) and shape.role == "part"
    ]
    return tuple(
        (name, min((end for end in ends if end > name.x), default=math.inf))
        for name in sorted(names, key=lambda name: name.x)
    )


def _shortened(text: str, size_px: float, room_px: float) -> str:
    """As much of a text as there is room for."""
    if text_px(text, size_px) <= room_px:
        return text
    for length in range(len(text) - 1, 0, -1):
        short = text[:length].rstrip() + CUT
        if text_px(short, size_px) <= room_px:
            return short
    return ""


@dataclass(frozen=True, slots=True)
class _PartName:
    """A name: how far it and its part's end lie from the strip's start, and how wide it is, pixels."""

    text: str
    x: float
    end: float
    width: int


class PartNames:
    """The names over one strip.

    names : as `names_of` gives them.
    left_rows : where in the system the strip's x 0 lies.
    ink, coding : how they are drawn.
    top_px : y of the system's upper edge in the strip.
    """

    def __init__(
        self, names: Sequence[tuple[Label, float]], left_rows: float, ink: Ink, coding: Coding, top_px: float
    ) -> None:
        self._ink, self._coding = ink, coding
        row = ink.row_px
        self._size = names[0][0].size if names else 0.0
        middle = names[0][0].y if names else 0.0
        # from the line of the parts up, even, since colours have half the lines
        self._bottom = math.floor(((middle + 0.38 - ABOVE_LINE) * row + top_px) / 2) * 2
        self._top = max(0, math.floor(((middle - self._size) * row + top_px) / 2) * 2)
        self._middle = (middle * row + top_px - self._top) / row - RAISED
        size_px, self._apart = self._size * row, APART * row
        places = [(name.x - left_rows) * row for name, _ in names]
        ends = [(end - left_rows) * row for _, end in names]
        rooms = [after - here - self._apart for here, after in pairwise([*places, math.inf])]
        texts = [_shortened(name.text, size_px, room) for (name, _), room in zip(names, rooms, strict=True)]
        self._names = tuple(
            _PartName(text, place, end, math.ceil(text_px(text, size_px * FINER) / FINER / 2) * 2 + 4)
            for text, place, end in zip(texts, places, ends, strict=True)
            if text
        )
        self._picture = lru_cache(maxsize=32)(self._drawn)

    def _drawn(self, text: str, width: int, odd: int) -> Planes:
        label = Label("part_text", odd / self._ink.row_px, self._middle, self._size, text, "start")
        return planes_of(painted([label], self._ink, width=width, height=self._bottom - self._top), self._coding)

    def put(self, frame: Frame, x: int, *, left: int, top: int, width: int) -> None:
        """Put the names into the part of a frame in which the strip lies from x on, where now is its left edge."""
        come = [name.x - x for name in self._names]
        current = max((place for place, at in enumerate(come) if at < 0), default=-1)
        if current >= 0:
            come[current] = 0.0
            after = come[current + 1] if current + 1 < len(come) else math.inf
            if self._names[current].width + self._apart > after or self._names[current].end < x:
                current += 1
        for name, at in zip(self._names[max(current, 0) :], come[max(current, 0) :], strict=True):
            if at >= width:
                break
            self._put_one(frame, name, left + math.floor(at), left + width, top)

    def _put_one(self, frame: Frame, name: _PartName, x: int, right: int, top: int) -> None:
        odd = x % 2
        shown = min(name.width, right - (x - odd))
        picture = self._picture(name.text, name.width, odd)
        cut = Planes(picture.light[:, :shown], picture.blue[:, : shown // 2], picture.red[:, : shown // 2])
        frame.put(cut, x - odd, top + self._top)
