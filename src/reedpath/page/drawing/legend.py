"""Legends: samples with their words, set in columns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from reedpath.page.drawing.drawing_data import Measures, box_of, text_width
from reedpath.page.drawing.shapes import Box, Label, Shape, moved

# rows; width of a sample, air between it and its words, between columns, between lines, and at the left
SAMPLE, AIR, BETWEEN, LEADING, MARGIN = 1.5, 0.3, 0.8, 0.34, 0.2


# rows; sizes of the two lines of a heading
TITLE, SUBTITLE = 0.8, 0.52


@dataclass(frozen=True, slots=True)
class Entry:
    """A sample, drawn from x = 0 to `SAMPLE` at any height, and its words."""

    sample: tuple[Shape, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Legend:
    """A legend; coordinates are rows from its own upper left corner."""

    height: float
    shapes: tuple[Shape, ...]


def around(shapes: Iterable[Shape]) -> Box:
    """The smallest box around some shapes, labels included."""
    boxes = [box_of(shape) for shape in shapes]
    return Box(
        min(box.left for box in boxes),
        min(box.top for box in boxes),
        max(box.right for box in boxes),
        max(box.bottom for box in boxes),
    )


def _height(entry: Entry, size: float) -> float:
    box = around(entry.sample)
    return max(box.bottom - box.top, size)


def _placed(entry: Entry, x: float, y: float, size: float) -> list[Shape]:
    """An entry with its middle at y."""
    box = around(entry.sample)
    shapes = [moved(shape, x, y - box.middle[1]) for shape in entry.sample]
    return [*shapes, Label("legend_text", x + SAMPLE + AIR, y, size, entry.words, "start")]


def _columns(entries: Sequence[Entry], width: float, size: float) -> tuple[int, float]:
    """How many columns fit a width, and how wide each is."""
    widest = max(text_width(entry.words, size) for entry in entries)
    column = SAMPLE + AIR + widest + BETWEEN
    return max(1, int((width - MARGIN + BETWEEN) // column)), column


def _in_columns(entries: Sequence[Entry], width: float, size: float) -> list[list[tuple[float, Entry]]]:
    """Lines of entries with their left edges, those of one place under one another."""
    count, column = _columns(entries, width, size)
    return [
        [(MARGIN + place * column, entry) for place, entry in enumerate(entries[first : first + count])]
        for first in range(0, len(entries), count)
    ]


def _running_on(
    entries: Sequence[Entry], width: float, size: float, letters: float
) -> list[list[tuple[float, Entry]]]:
    """Lines of entries with their left edges, each as near to the one before it as can be."""
    lines: list[list[tuple[float, Entry]]] = []
    x = width
    for entry in entries:
        wide = SAMPLE + AIR + letters * text_width(entry.words, size)
        if not lines or x + wide > width:
            lines.append([])
            x = MARGIN
        lines[-1].append((x, entry))
        x += wide + BETWEEN
    return lines


def laid_out(entries: Sequence[Entry], *, width: float, measures: Measures, in_print: bool = False) -> Legend:
    """The entries in columns that fit a width in rows, to be read line by line.

    in_print : whether they run on as words do instead, so that they take less room.
    """
    if not entries:
        return Legend(0.0, ())
    size = measures.small_text
    shapes: list[Shape] = []
    y = 0.0
    set_in = partial(_running_on, letters=measures.letters) if in_print else _in_columns
    for row in set_in(entries, width, size):
        height = max(_height(entry, size) for _, entry in row)
        for x, entry in row:
            shapes += _placed(entry, x, y + height / 2, size)
        y += height + LEADING
    return Legend(y - LEADING, tuple(shapes))


def heading_of(title: str, below: str, *, width: float, left: float = 0.15, below_y: float = 1.4) -> list[Shape]:
    """A picture's title and the line under it, both fitted into a width in rows with the same air on both sides."""
    title, title_size = fitted_text(title, TITLE, width - 2 * left)
    below, below_size = fitted_text(below, SUBTITLE, width - 2 * left)
    return [
        Label("heading_text", left, 0.55, title_size, title, "start"),
        Label("legend_text", left, below_y, below_size, below, "start"),
    ]


def fitted_text(text: str, size: float, width: float) -> tuple[str, float]:
    """The text and size that fit a width: smaller first, then cut short."""
    room = text_width(text, size)
    size = size if room <= width else max(size * 0.7, size * width / room)
    while len(text) > 1 and text_width(text, size) > width:
        text = text[:-2].rstrip() + "…"
    return text, size
