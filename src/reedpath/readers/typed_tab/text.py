"""What the typed formats share of text: plain characters, names of parts, lines of chord names, options."""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from reedpath.errors import Place, ReadError
from reedpath.readers.decoding import decode_text, split_lines
from reedpath.readers.limits import Limits
from reedpath.readers.playing_order import MOST_TIMES
from reedpath.readers.registry import Option

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

_TIMES = re.compile(r"(?i:(?<![\w.])(?:[x*]\s*(\d{1,4})(?!\d)|(\d{1,4})\s*(?:[x*](?!\w)|(?:times|fois|mal)\b)))")
_TWICE = re.compile(
    r"(?i:\b(?:repeat(?:ed|s)?|twice|bis|zweimal|wiederholen|wiederholung|reprise|répéter|répétez)\b)"
)
# what may stand beside the words of a line that says nothing else
_BESIDE_TIMES = re.compile(r"(?i:\b(?:play|played|jouer|jouez|all|tout|this|line|ligne|à)\b|[\s()\[\].:!-])")

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


def times_in_words(text: str) -> int | None:
    """
    How often something is said to be played, None where nothing is said.

    >>> [times_in_words(text) for text in ("x2", "(3x)", "play 4 times", "(repeat)", "bis", "5 frets up")]
    [2, 3, 4, 2, 2, None]
    """
    number = _TIMES.search(text)
    if number is not None:
        return int(number[1] or number[2])
    return 2 if _TWICE.search(text) else None


def checked_times(times: int, where: Place) -> int:
    """How often something is played; ReadError where that can't be."""
    if not 1 <= times <= MOST_TIMES:
        raise ReadError("tab.times", where=where, times=times, most=MOST_TIMES)
    return times


def is_times_alone(text: str) -> bool:
    """
    Whether a line says how often something is played, and nothing else.

    >>> [is_times_alone(text) for text in ("(repeat x2)", "Play twice.", "repeat from the sign")]
    [True, True, False]
    """
    rest = _TWICE.sub("", _TIMES.sub("", text))
    return rest != text and not _BESIDE_TIMES.sub("", rest)


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
