"""Characters of typed tab: the many dashes, bars and blanks of Unicode read as the plain ones."""

from __future__ import annotations

import unicodedata
from functools import cache

from reedpath.readers.limits import Limits
from reedpath.readers.texts import decode_text, split_lines

__all__ = ["plain_characters", "typed_lines"]

# columns between tab stops; common practice, no source
_TAB_STOP = 8

# one character for one, so that columns stay where they are; names after the Unicode Standard 15
_PLAIN = {
    "-": "‐‑‒–—―−─━┄┅┈┉╌╍═﹣⁃",  # hyphens, dashes, minus, box drawings light, heavy and double horizontal
    "|": "│┃║┆┇┊┋╎╏¦∣❘┌┍┎┏┐┑┒┓└┕┖┗┘┙┚┛├┝┞┟┠┡┢┣┤┥┦┧┨┩┪┫┬┯┰┳┴┷┸┻┼╂╋╔╗╚╝╠╣╦╩╬╟╢╒╕╘╛╞╡‖",
    "~": "∼～〜˜∿≈",
    "/": "⁄∕╱",
    "\\": "╲∖",
    "'": "’‘ʹ′",
    " ": "\u00a0\u2007\u202f\u2009\u200a\u3000",
    "x": "×✕",
    "*": "•●∙·",
    "b": "♭",
    "#": "♯",
}


@cache
def _table() -> dict[int, str]:
    table = {ord(each): plain for plain, alike in _PLAIN.items() for each in alike}
    for wide in range(0xFF01, 0xFF5F):  # full-width forms of ASCII
        table.setdefault(wide, unicodedata.normalize("NFKC", chr(wide)))
    return table


def plain_characters(line: str) -> str:
    """
    A line with look-alike characters read as one, and tab characters as blanks, column for column.

    >>> plain_characters("e│──５─│")
    'e|--5-|'
    """
    return line.expandtabs(_TAB_STOP).translate(_table()).rstrip()


def typed_lines(data: bytes, *, limits: Limits) -> list[str]:
    """The lines of a typed source in plain characters; ReadError for what is no text, or too much of it."""
    limits.check_size(data)
    lines = []
    for number, line in enumerate(split_lines(decode_text(data), limits=limits), start=1):
        plain = plain_characters(line)
        limits.check("line_characters", len(plain), what="columns", where=f"line {number}")
        lines.append(plain)
    return lines
