"""The staff: all systems laid end to end, string by string, cut at the bar lines, repeat signs read."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from reedpath.errors import ReadError
from reedpath.readers.bars import Signs
from reedpath.readers.fret_tab.layout import System
from reedpath.readers.limits import Limits

__all__ = ["BarSpan", "Staff", "join_systems"]

# signs beside a bar line that make it a repeat; common practice, no source
_DOTS = ":o*"
_BAR_LINE = re.compile(r"\|")
_TIMES = re.compile(r"\(?(?:[x*]\s*(\d+)|(\d+)\s*[x*]|.*?\b(\d+)\s*(?:times|fois|mal)\b)", re.IGNORECASE)
# times; more than that is a typing error
_MOST_TIMES = 64


@dataclass(frozen=True, slots=True)
class BarSpan:
    """One bar.

    start, end : columns of the staff between its bar lines.
    system : index of its system.
    signs : repeats that start or end here.
    closed : whether a bar line ends it.
    """

    start: int
    end: int
    system: int
    signs: Signs = field(default_factory=Signs)
    closed: bool = True

    def holds(self, column: int) -> bool:
        """Whether a column stands between its bar lines."""
        return self.start <= column < self.end


@dataclass(frozen=True, slots=True)
class Staff:
    """All systems end to end.

    strings : what stands on each string, equally long.
    systems : the systems as they stand in the file.
    offsets : column of the staff at which each system's body begins.
    bars : in order.
    """

    strings: tuple[str, ...]
    systems: tuple[System, ...]
    offsets: tuple[int, ...]
    bars: tuple[BarSpan, ...]

    def where(self, string: int, column: int) -> str:
        """Line and column, 1-based, of a place on a string."""
        index = max(0, bisect_right(self.offsets, column) - 1)
        line = self.systems[index].strings[string]
        return f"line {line.number}, column {line.start + column - self.offsets[index] + 1}"

    def column_of(self, system: int, column: int) -> int:
        """Column of the staff under a column (0-based) of a line that stands over or under a system."""
        return self.offsets[system] + column - self.systems[system].start


def _squared(system: System) -> list[str]:
    """The bodies of a system, equally long, each with the bar line at its left edge."""
    bodies = [line.body for line in system.strings]
    edged = [body.startswith("|") for body in bodies]
    if any(edged) and not all(edged):
        line = system.strings[edged.index(not Counter(edged).most_common(1)[0][0])]
        raise ReadError(
            "this string does not begin like the others: a bar line before all or none",
            where=f"line {line.number}, column {line.start + 1}",
        )
    width = max(len(body) for body in bodies)
    filled = [body.ljust(width, "-") for body in bodies]
    _check_bar_lines(system, filled)
    return filled if all(edged) else ["|" + body for body in filled]


def _check_bar_lines(system: System, bodies: Sequence[str]) -> None:
    """Raise ReadError where bar lines do not stand under one another."""
    columns = [[match.start() for match in _BAR_LINE.finditer(body)] for body in bodies]
    usual = Counter(map(tuple, columns)).most_common(1)[0][0]
    for line, found in zip(system.strings, columns, strict=True):
        odd = sorted(set(found) ^ set(usual))
        if odd:
            missing = odd[0] in usual
            raise ReadError(
                "no bar line here, where the other strings have one"
                if missing
                else "a bar line here, where the other strings have none",
                where=f"line {line.number}, column {line.start + odd[0] + 1}",
                hint="bar lines stand under one another on all strings; a fret of two digits takes two columns",
            )


def _dots(bodies: Sequence[str], column: int) -> bool:
    """Whether repeat dots stand in a column: signs on some strings, nothing else on the others."""
    if not 0 <= column < len(bodies[0]):
        return False
    signs = [body[column] for body in bodies]
    before = [body[column - 1] if column else "-" for body in bodies]
    dotted = [sign in _DOTS and not left.isdigit() for sign, left in zip(signs, before, strict=True)]
    return any(dotted) and all(dot or sign in "- " for dot, sign in zip(dotted, signs, strict=True))


def _times(system: System) -> int:
    """How often the tail after a system says that it is played, 0 where it says nothing."""
    for line in system.strings:
        match = _TIMES.match(line.tail)
        if match:
            digits = next(group for group in match.groups() if group)
            times = int(digits) if len(digits) < 4 else 0
            if not 1 <= times <= _MOST_TIMES:
                raise ReadError(
                    f"repeated {digits} times, of 1 to {_MOST_TIMES} allowed", where=f"line {line.number}"
                )
            return times
    return 0


@dataclass(slots=True)
class _Found:
    """A bar as found in a system: span in the system's columns, and the repeat signs at its edges."""

    start: int
    end: int
    starts: bool
    ends: bool
    closed: bool


def _bars_of(bodies: list[str]) -> list[_Found]:
    """Bars of a system; repeat dots are cleared from the bodies."""
    width = len(bodies[0])
    found: list[_Found] = []
    column = 0
    while column < width:
        start = column
        while start < width and bodies[0][start] == "|":
            start += 1
        end = bodies[0].find("|", start)
        closed = end >= 0
        end = end if closed else width
        starts, ends = _dots(bodies, start), closed and end - 1 > start and _dots(bodies, end - 1)
        for dotted in [start] * starts + [end - 1] * ends:
            for index, body in enumerate(bodies):
                bodies[index] = f"{body[:dotted]}-{body[dotted + 1 :]}"
        if end > start:
            found.append(_Found(start + starts, end - ends, starts, ends, closed))
        column = end
    return found


def _is_empty(bodies: Sequence[str], bar: _Found) -> bool:
    return all(set(body[bar.start : bar.end]) <= set("- ") for body in bodies)


def _spans(system: System, index: int, bodies: list[str], offset: int) -> list[BarSpan]:
    found = [bar for bar in _bars_of(bodies) if not (_is_empty(bodies, bar) and _is_trifle(bar))]
    times = _times(system)
    spans = [
        BarSpan(
            offset + bar.start,
            offset + bar.end,
            index,
            Signs(starts=bar.starts, times=2 if bar.ends else 1),
            bar.closed,
        )
        for bar in found
    ]
    if spans and times:
        ended = found[-1].ends
        spans[-1] = replace(spans[-1], signs=replace(spans[-1].signs, times=times))
        if not ended:  # a system played several times, without repeat signs
            spans[0] = replace(spans[0], signs=replace(spans[0].signs, starts=True))
    return spans


def _is_trifle(bar: _Found) -> bool:
    """Whether a span is the gap in a double bar line, or the open end of a system, and no bar."""
    return bar.end - bar.start < 2 or not bar.closed


def join_systems(systems: Sequence[System], *, limits: Limits) -> Staff:
    """
    Lay systems end to end.

    Raises
    ------
    ReadError
        Naming line and column, where bar lines do not stand under one another, and for too many bars.
    """
    strings = [""] * len(systems[0].strings)
    pieces: list[list[str]] = [[] for _ in strings]
    offsets: list[int] = []
    bars: list[BarSpan] = []
    width = 0
    for index, system in enumerate(systems):
        bodies = _squared(system)
        shift = 0 if system.strings[0].body.startswith("|") else 1
        bars += _spans(system, index, bodies, width)
        limits.check("bars", len(bars), what="bars", where=f"line {system.strings[0].number}")
        for piece, body in zip(pieces, bodies, strict=True):
            piece.append(body)
        offsets.append(width + shift)
        width += len(bodies[0])
    return Staff(tuple("".join(piece) for piece in pieces), tuple(systems), tuple(offsets), tuple(bars))
