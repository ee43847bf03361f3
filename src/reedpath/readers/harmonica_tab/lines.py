"""Lines of a harmonica tab file: its heading, names of parts, lengths over the notes, and what may be tab."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from reedpath.readers.harmonica_tab.slots import TypedLine, prepared
from reedpath.readers.typed import (
    LengthMark,
    TypedHeading,
    is_chord_line,
    parse_lengths,
    part_names,
    read_heading,
)

__all__ = ["Page", "lay_out"]

_DIGIT = re.compile(r"[0-9①-⑳０-９]")
_NAMED = re.compile(r"\s*([^\W\d_][^\W_]*(?: [^\W_]+){0,4}):\s+(?=\S)")


@dataclass(frozen=True, slots=True)
class Page:
    """A file, line by line.

    heading : what it says of the whole.
    lines : those that may be tab, with the lengths over them.
    parts : number of a line and name of the part that begins at the next line of tab from there.
    """

    heading: TypedHeading
    lines: tuple[TypedLine, ...]
    parts: tuple[tuple[int, str], ...]


def lay_out(lines: Sequence[str]) -> Page:
    """
    Lay out the lines of a file, in plain characters.

    Raises
    ------
    ReadError
        Naming the line of a heading that means nothing.
    """
    numbered = [(number, line) for number, line in enumerate(lines, start=1) if line.strip()]
    heading, of_heading = read_heading(numbered)
    found: list[TypedLine] = []
    parts: list[tuple[int, str]] = []
    over: tuple[int, tuple[LengthMark, ...]] = (0, ())
    for number, text in numbered:
        if number in of_heading or text.lstrip().startswith("#"):
            continue
        names = part_names(text)
        if names:
            parts.append((number, names[0][1]))
            continue
        lengths = parse_lengths(text)
        if lengths is not None:
            over = (number, lengths)
            continue
        named = _NAMED.match(text[:80])
        if named is not None:
            parts.append((number, named[1]))
            text = " " * named.end() + text[named.end() :]
        if _DIGIT.search(text) and not is_chord_line(text):
            line = prepared(number, text)
            found.append(replace(line, over=over[1]) if over[0] == number - 1 else line)
    return Page(heading, tuple(found), tuple(parts))
