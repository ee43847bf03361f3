"""Systems: columns set in lines that fit a width, counted above, played below."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from reedpath.page.score.tokens import Marks
from reedpath.page.tabtext.columns import Column

__all__ = ["MARGIN", "padded", "set_systems", "text_width", "wrapped"]

# where a line may be broken; not the spaces that hold words together, as French has them before a colon
_BLANKS = re.compile(r"[ \t\r\n\f\v]+")
# columns of the narrowest moment, so that an even line keeps an even pace; from trial
NARROWEST = 4
# columns before the first bar line, at least: a bar's number
MARGIN = 4
BAR_LINE = "| "


def text_width(text: str) -> int:
    r"""Columns that a text takes: two for wide characters, none for marks without a width of their own.

    Method: Unicode Standard Annex 11, East Asian Width; ambiguous characters count as one column.

    >>> text_width("-3''"), text_width("e\u0301"), text_width("漢")
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
    return text + " " * (width - text_width(text))


def _broken(word: str, width: int) -> list[str]:
    """A word in parts that fit."""
    parts = [""]
    for character in word:
        if text_width(parts[-1] + character) > width:
            parts.append("")
        parts[-1] += character
    return parts


def wrapped(text: str, width: int) -> list[str]:
    """The words of a text in lines of at most a width; a longer word is broken."""
    lines = [""]
    for part in (part for word in _BLANKS.split(text) for part in _broken(word, width)):
        longer = f"{lines[-1]} {part}".strip()
        if text_width(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return [line for line in lines if line]


def _cell_width(column: Column, marks: Marks) -> int:
    """Columns that a moment takes, the space after it included."""
    tab = text_width(column.tab) + 1 + (len(marks.breath) + 1 if column.breathes_after else 0)
    return max(NARROWEST, tab, text_width(column.names) + 1, text_width(column.count) + 1)


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

    A part that starts with its bar starts a line.
    """
    bars = _groups(columns, [column.starts_bar is not None for column in columns])
    lines: list[list[Column]] = []
    can_join = False
    for bar in bars:
        starts_part = bar[0].label.startswith("[")
        if can_join and not starts_part and _width([*lines[-1], *bar], marks, margin) <= width:
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


def _set_line(columns: Sequence[Column], marks: Marks, margin: int) -> list[str]:
    """The rows of one system: labels where there are any, counts, tab, names where there are any."""
    first = columns[0]
    number = first.starts_bar.printed.mark if first.starts_bar else ""
    rows = dict.fromkeys(("label", "count", "names"), " " * margin) | {
        "tab": padded(number.rjust(margin - 1), margin)
    }
    for column in columns:
        if column.starts_bar or column is first:
            for row, sign in (("label", ""), ("count", ""), ("tab", BAR_LINE), ("names", "")):
                rows[row] += padded(sign, len(BAR_LINE))
        width = _cell_width(column, marks)
        at = text_width(rows["tab"])
        label = padded(rows["label"], at)
        rows["label"] = label + column.label if text_width(label) == at else f"{label} {column.label}".rstrip()
        rows["count"] = padded(rows["count"], at) + padded(column.count, width)
        tab = padded(column.tab, width)
        if column.breathes_after:
            tab = padded(column.tab, width - len(marks.breath) - 1) + marks.breath + " "
        rows["tab"] += tab
        rows["names"] = padded(rows["names"], at) + padded(column.names, width)
    rows["tab"] += "|"
    texts = [rows[name].rstrip() for name in ("label", "count", "tab", "names")]
    return [text for text in texts if text]


def set_systems(columns: Sequence[Column], *, width: int, marks: Marks, margin: int = MARGIN) -> list[list[str]]:
    """The systems of a tab, each a list of rows.

    margin : columns before the first bar line.
    """
    return [_set_line(line, marks, margin) for line in _lines(columns, width, marks, margin)]
