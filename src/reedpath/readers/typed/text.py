"""What the typed formats share of text: plain characters, names of parts, lines of chord names, options."""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from reedpath.errors import Place, ReadError
from reedpath.readers.limits import Limits
from reedpath.readers.registry import Option
from reedpath.readers.texts import decode_text, split_lines

__all__ = ["is_chord_line", "part_names", "plain_characters", "text_option", "typed_lines", "yes_or_no_option"]

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

_PART = re.compile(r"\[([^\[\]\d][^\[\]]{0,60})\]")
_CHORD = re.compile(
    r"(?:N\.?C\.?|[A-G][#b]?(?:maj|min|dim|aug|sus|add|m|M|\+|-|°|ø)?\d{0,2}(?:(?:sus|add|maj|b|#)\d{1,2})*"
    r"(?:/[A-G][#b]?)?)"
)

_YES, _NO = ("yes", "true", "1"), ("no", "false", "0")


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
        limits.check("line_characters", len(plain), what="columns", where=Place(line=number))
        lines.append(plain)
    return lines


def part_names(text: str) -> tuple[tuple[int, str], ...]:
    """
    Columns (0-based) and names of the parts on a line of nothing but [names]; empty for any other line.

    >>> part_names("[Call]    [Answer]"), part_names("[4] 5")
    (((0, 'Call'), (10, 'Answer')), ())
    """
    if _PART.sub("", text).strip():
        return ()
    return tuple((match.start(), match[1].strip()) for match in _PART.finditer(text))


def is_chord_line(text: str) -> bool:
    """
    Whether a line holds nothing but names of chords.

    >>> is_chord_line("E7   A7/C#  | Bm7b5"), is_chord_line("A man")
    (True, False)
    """
    words = text.replace("|", " ").split()
    return bool(words) and all(_CHORD.fullmatch(word) for word in words)


def text_option(value: Option | None) -> str | None:
    """An option as text, None where it is not given."""
    return None if value is None else str(value)


def yes_or_no_option(value: Option | None, *, name: str) -> bool | None:
    """
    An option that is yes or no, None where it is not given; ReadError, by its name, for anything else.

    >>> yes_or_no_option("yes", name="x"), yes_or_no_option(False, name="x")
    (True, False)
    """
    if value is None or isinstance(value, bool):
        return value
    if str(value).lower() in _YES:
        return True
    if str(value).lower() in _NO:
        return False
    raise ReadError("tab.yes_or_no", name=name, value=str(value))
