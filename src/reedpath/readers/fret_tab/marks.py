"""Marks over and under a system: lengths, counts, part labels, endings, accents, vibrato; the rest is words."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from reedpath.readers.fret_tab.layout import System, TextLine
from reedpath.readers.typed import (
    CountMark,
    LengthMark,
    is_chord_line,
    parse_counts,
    parse_lengths,
    part_names,
)

__all__ = ["CHORD_NAMES", "PALM_MUTE", "Label", "SystemMarks", "marks_of"]

# what is not carried over, kinds of `LeftOut`
PALM_MUTE = "palm-mute"
CHORD_NAMES = "chord-lines"

_ENDING = re.compile(r"(?P<numbers>\d(?:,\s?\d)*)[.)][ _-]*")
_ENDINGS_ONLY = re.compile(r"[ |_-]*(?:\d(?:,\s?\d)*[.)][ _|-]*)+")
_PALM = re.compile(r"\s*P\.?\s?M\.?[\s.\-_|PM]*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Label:
    """A part's name, and the line and column (0-based) at which it stands."""

    text: str
    line: int
    column: int


@dataclass(slots=True)
class SystemMarks:
    """What stands over and under one system; columns are 0-based columns of the file's lines.

    lengths, counts : marks of the rhythm line, and the number of that line.
    labels : parts that begin in the system.
    endings : numbers of an ending and the columns that its bracket spans.
    accents, vibratos : columns.
    """

    lengths: tuple[LengthMark, ...] = ()
    counts: tuple[CountMark, ...] = ()
    rhythm_line: int = 0
    labels: list[Label] = field(default_factory=list)
    endings: list[tuple[frozenset[int], int, int]] = field(default_factory=list)
    accents: list[int] = field(default_factory=list)
    vibratos: list[int] = field(default_factory=list)


def _endings(text: str) -> list[tuple[frozenset[int], int, int]]:
    found = []
    for match in _ENDING.finditer(text):
        numbers = frozenset(int(digit) for digit in re.findall(r"\d", match["numbers"]))
        found.append((numbers, match.start(), match.end()))
    return found


def _columns(text: str, sign: str) -> list[int]:
    return [match.start() for match in re.finditer(rf"{re.escape(sign)}+", text)]


def _read_line(line: TextLine, marks: SystemMarks, note: Callable[[str, str], None]) -> None:
    text = line.text
    if not marks.rhythm_line:
        lengths, counts = parse_lengths(text), parse_counts(text)
        if lengths or counts:
            marks.lengths, marks.counts, marks.rhythm_line = lengths or (), counts or (), line.number
            return
    labels = [Label(name, line.number, column) for column, name in part_names(text)]
    if labels:
        marks.labels += labels
    elif _PALM.fullmatch(text):
        note(PALM_MUTE, f"line {line.number}")
    elif set(text) <= set("> |"):
        marks.accents += _columns(text, ">")
    elif set(text) <= set("~ |"):
        marks.vibratos += _columns(text, "~")
    elif is_chord_line(text):
        note(CHORD_NAMES, f"line {line.number}")
    elif _ENDINGS_ONLY.fullmatch(text):
        marks.endings += _endings(text)


def marks_of(system: System, *, note: Callable[[str, str], None]) -> SystemMarks:
    """The marks over and under a system; ``note`` is told what is not carried over, and its place."""
    marks = SystemMarks()
    for line in (*system.above, *system.below):
        _read_line(line, marks, note)
    return marks
