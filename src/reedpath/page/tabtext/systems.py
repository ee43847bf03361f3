"""Systems: columns set in lines that fit a width, counted above, played below."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from reedpath.page.score.tab_signs import Marks
from reedpath.page.tabtext.columns import Column, metre_label

# where a line may be broken; not the spaces that hold words together, as French has them before a colon
_BLANKS = re.compile(r"[ \t\r\n\f\v]+")
# columns of the narrowest moment, so that an even line keeps an even pace; from trial
NARROWEST = 4
# columns before the first bar line, at least: a bar's number
MARGIN = 4
BAR_LINE = "| "


@lru_cache(maxsize=4096)  # a page of tab measures a few words thousands of times
def columns_of_text(text: str) -> int:
    r"""Columns that a text takes: two for wide characters, none for marks without a width of their own.

    Method: Unicode Standard Annex 11, East Asian Width; ambiguous characters count as one column.

    >>> columns_of_text("-3''"), columns_of_text("e\u0301"), columns_of_text("漢")
    (4, 1, 2)
    """
    width = 0
    for character in text:
        if unicodedata.category(character) in ("Mn", "Me", "Cf", "Cc"):
            continue
        width += 2 if unicodedata.east_asian_width(character) in "WF" else 1
    return width


def padded(text: str, width: int) -> str:
    """The text filled up with spaces to a width."""
    return text + " " * (width - columns_of_text(text))


def _broken(word: str, width: int) -> list[str]:
    """A word in parts that fit."""
    parts = [""]
    for character in word:
        if columns_of_text(parts[-1] + character) > width:
            parts.append("")
        parts[-1] += character
    return parts


def wrapped(text: str, width: int) -> list[str]:
    """The words of a text in lines of at most a width; a longer word is broken."""
    lines = [""]
    for part in (part for word in _BLANKS.split(text) for part in _broken(word, width)):
        longer = f"{lines[-1]} {part}".strip()
        if columns_of_text(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return [line for line in lines if line]


def _cell_width(column: Column, marks: Marks) -> int:
    """Columns that a moment takes, the space after it included."""
    tab = columns_of_text(column.tab) + 1 + (len(marks.breath) + 1 if column.breathes_after else 0)
    return max(NARROWEST, tab, columns_of_text(column.names) + 1, columns_of_text(column.count) + 1)


def _width(columns: Sequence[Column], marks: Marks, margin: int) -> int:
    lines = sum(len(BAR_LINE) for column in columns if column.starts_bar or column is columns[0])
    return margin + lines + sum(_cell_width(column, marks) for column in columns) + 1


def _groups(columns: Sequence[Column], starts: Sequence[bool]) -> list[list[Column]]:
    groups: list[list[Column]] = []
    for column, is_start in zip(columns, starts, strict=True):
        if is_start or not groups:
            groups.append([])
        groups[-1].append(column)
    return groups


def _filled(groups: Sequence[list[Column]], width: int, marks: Marks, margin: int) -> list[list[Column]]:
    """Groups joined into lines as long as they fit."""
    lines: list[list[Column]] = []
    for group in groups:
        if lines and _width([*lines[-1], *group], marks, margin) <= width:
            lines[-1] += group
        else:
            lines.append(list(group))
    return lines


def _lines(columns: Sequence[Column], width: int, marks: Marks, margin: int) -> list[list[Column]]:
    """Columns in lines: whole bars where they fit, else whole beats, else what fits.

    A part or a metre that starts with its bar starts a line.
    """
    bars = _groups(columns, [column.starts_bar is not None for column in columns])
    lines: list[list[Column]] = []
    can_join = False
    for bar in bars:
        starts_line = bar[0].label.startswith("[") or (bar[0].starts_bar and metre_label(bar[0].starts_bar))
        if can_join and not starts_line and _width([*lines[-1], *bar], marks, margin) <= width:
            lines[-1] += bar
            continue
        can_join = _width(bar, marks, margin) <= width
        if can_join:
            lines.append(list(bar))
            continue
        beats = _groups(bar, [column.is_beat for column in bar])
        for line in _filled(beats, width, marks, margin):
            whole = _width(line, marks, margin) <= width
            lines += [line] if whole else _filled([[column] for column in line], width, marks, margin)
    return lines


def _cell(column: Column, width: int, marks: Marks) -> str:
    """A moment of the tab, a breath after it flush right."""
    if not column.breathes_after:
        return padded(column.tab, width)
    return padded(column.tab, width - len(marks.breath) - 1) + marks.breath + " "


def _set_line(
    columns: Sequence[Column], marks: Marks, margin: int, versions: Mapping[str, Sequence[Column]] | None = None
) -> list[str]:
    """The rows of one system: labels where there are any, counts, tab, names where there are any.

    versions : tabs below one another in place of that of the columns, which are as wide as they are, by their names.
    """
    first = columns[0]
    number = first.starts_bar.printed.mark if first.starts_bar else ""
    numbered, blank = padded(number.rjust(margin - 1), margin), " " * margin
    count_head = blank if versions is None else numbered
    rows = {"label": blank, "count": count_head, "names": blank}
    tabs = {numbered: columns} if versions is None else {padded(name, margin): tab for name, tab in versions.items()}
    lines = list(tabs)
    for index, column in enumerate(columns):
        starts = bool(column.starts_bar) or column is first
        if starts:
            rows = {row: text + " " * len(BAR_LINE) for row, text in rows.items()}
            lines = [line + BAR_LINE for line in lines]
        width = _cell_width(column, marks)
        at = columns_of_text(lines[0])
        label = padded(rows["label"], at)
        rows["label"] = label + column.label if columns_of_text(label) == at else f"{label} {column.label}".rstrip()
        rows["count"] = padded(rows["count"], at) + padded(column.count, width)
        rows["names"] = padded(rows["names"], at) + padded(column.names, width)
        cells = (_cell(tab[index], width, marks) for tab in tabs.values())
        lines = [line + cell for line, cell in zip(lines, cells, strict=True)]
    texts = [rows["label"], rows["count"], *(f"{line}|" for line in lines), rows["names"]]
    return [text.rstrip() for text in texts if text.rstrip()]


def set_systems(columns: Sequence[Column], *, width: int, marks: Marks, margin: int = MARGIN) -> list[list[str]]:
    """The systems of a tab, each a list of rows.

    margin : columns before the first bar line.
    """
    return [_set_line(line, marks, margin) for line in _lines(columns, width, marks, margin)]


def _widest(columns: Sequence[Column]) -> Column:
    """A column as wide as any of those that stand at one moment."""
    tab = max((column.tab for column in columns), key=columns_of_text)
    names = max((column.names for column in columns), key=columns_of_text)
    return replace(columns[0], tab=tab, names=names, breathes_after=any(column.breathes_after for column in columns))


def set_versions(versions: Mapping[str, Sequence[Column]], *, width: int, marks: Marks) -> list[list[str]]:
    """The systems of several tabs of the same moments below one another, by their names, counted once."""
    room = max(MARGIN, 1 + max(map(columns_of_text, versions)))
    merged = [_widest(at_once) for at_once in zip(*versions.values(), strict=True)]
    systems, start = [], 0
    for line in _lines(merged, width, marks, room):
        inside = slice(start, start + len(line))
        start = inside.stop
        systems.append(_set_line(line, marks, room, {name: tab[inside] for name, tab in versions.items()}))
    return systems
