"""Widths of text in a monospace face, in columns."""

from __future__ import annotations

import re
import unicodedata

__all__ = ["padded", "text_width", "wrapped"]

# where a line may be broken; not the spaces that hold words together, as French has them before a colon
_BLANKS = re.compile(r"[ \t\r\n\f\v]+")


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
