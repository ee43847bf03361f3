"""Folding: a part that repeats an earlier one bar for bar is named, not printed again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from reedpath.page.score.written import Sheet
from reedpath.page.tabtext.columns import Column

__all__ = ["Section", "folded"]


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of columns, and the earlier one it repeats.

    columns : in order.
    label : of the part it is, empty for bars that no part claims.
    as_label : label of the earlier part, empty where this is printed.
    first_bar, last_bar : numbers of the bars of that earlier part.
    breathes_after : whether a breath follows.
    """

    columns: tuple[Column, ...]
    label: str = ""
    as_label: str = ""
    first_bar: int = 0
    last_bar: int = 0
    breathes_after: bool = False


def _cuts(sheet: Sheet) -> list[Fraction]:
    """Bar lines at which a part begins or ends."""
    lines = {bar.onset for bar in sheet.bars} | {sheet.bars[-1].end}
    edges = {edge for part in sheet.parts for edge in (part.onset, part.end)}
    return sorted((edges & lines) | {sheet.bars[0].onset, sheet.bars[-1].end})


def _likeness(columns: Sequence[Column]) -> tuple[object, ...]:
    """What makes two stretches the same to play: all but where they stand and a breath behind them."""
    start = columns[0].beats
    cells = [
        replace(column, beats=column.beats - start, label="", starts_bar=None, breathes_after=column.breathes_after)
        for column in columns
    ]
    cells[-1] = replace(cells[-1], breathes_after=False)
    bars = tuple(column.starts_bar is not None for column in columns)
    return (*cells, bars)


def _bar_numbers(columns: Sequence[Column]) -> tuple[int, int]:
    numbers = [column.starts_bar.number for column in columns if column.starts_bar]
    return numbers[0], numbers[-1]


def folded(sheet: Sheet, columns: Sequence[Column]) -> list[Section]:
    """The columns in sections; one that sounds like an earlier part says so."""
    sections: list[Section] = []
    seen: dict[tuple[object, ...], Section] = {}
    for start, end in pairwise(_cuts(sheet)):
        inside = tuple(column for column in columns if start <= column.beats < end)
        label = next((part.label for part in sheet.parts if part.onset == start), "")
        has_inner = any(start < part.onset < end for part in sheet.parts)
        likeness = _likeness(inside)
        like = seen.get(likeness) if label and not has_inner else None
        section = Section(inside, label)
        if like is not None and any(column.tab for column in inside):
            first, last = _bar_numbers(like.columns)
            section = Section(inside, label, like.label, first, last, inside[-1].breathes_after)
        elif label:
            seen.setdefault(likeness, section)
        sections.append(section)
    return sections
