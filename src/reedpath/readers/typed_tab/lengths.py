"""Note lengths in typed tab, a line of letters (``q e e. et``) or counts (``1 e & a``) by column, and bars of them.

Letters: w whole, h half, q quarter, e eighth, s sixteenth; a dot adds half, two dots three quarters; t makes it
one of a triplet (two thirds). Capitals are read alike, but for a line of nothing but E, which is a chord.
Counts: the number of the beat, & or + for its half, e and a for its second and fourth quarter; ``trip let`` or
``la li`` for the rest of a triplet. Common practice, no source.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import Place, ReadError
from reedpath.phrase import MOST_METRE_COUNT, Metre
from reedpath.readers.bars import Note, WrittenBar, metre_of_length

_BEATS = {"w": Fraction(4), "h": Fraction(2), "q": Fraction(1), "e": Fraction(1, 2), "s": Fraction(1, 4)}
_DOTS = {"": Fraction(1), ".": Fraction(3, 2), "..": Fraction(7, 4)}
_TRIPLET = Fraction(2, 3)
_LETTER = re.compile(r"([whqes])(\.{0,2})(t?)", re.IGNORECASE | re.ASCII)
_WORD = re.compile(r"[^\s|]+")
_SHARE = re.compile(r"(\d{1,4})/([1-9]\d{0,3})", re.ASCII)

# where in its beat a count stands
_OFFBEATS = {
    "e": Fraction(1, 4),
    "&": Fraction(1, 2),
    "+": Fraction(1, 2),
    "and": Fraction(1, 2),
    "a": Fraction(3, 4),
    "trip": Fraction(1, 3),
    "la": Fraction(1, 3),
    "let": Fraction(2, 3),
    "li": Fraction(2, 3),
}
# number of the last beat of a bar that is counted aloud; common practice, no source
_MOST_COUNT = 16


class LengthMark(Struct, frozen=True):
    """A length and the column it stands at (0-based); ``beats`` are quarter notes."""

    column: int
    beats: Fraction


class CountMark(Struct, frozen=True):
    """A count and the column it stands at (0-based).

    beat : number of the beat in its bar, 1-based.
    offset : where in the beat, 0 to 1.
    """

    column: int
    beat: int
    offset: Fraction


def parse_length(text: str) -> Fraction | None:
    """
    Beats of one length in letters, None for anything else.

    >>> str(parse_length("q.")), str(parse_length("et")), parse_length("z")
    ('3/2', '1/3', None)
    """
    match = _LETTER.fullmatch(text)
    if match is None:
        return None
    return _BEATS[match[1].lower()] * _DOTS[match[2]] * (_TRIPLET if match[3] else 1)


def parse_lengths(line: str, *, shift: int = 0) -> tuple[LengthMark, ...] | None:
    """
    The lengths of a line of letters, None where the line is anything else; ``shift`` is added to their columns.

    >>> [(mark.column, str(mark.beats)) for mark in parse_lengths("q   e e. ")]
    [(0, '1'), (4, '1/2'), (6, '3/4')]
    """
    marks = []
    for word in _WORD.finditer(line):
        beats = parse_length(word[0])
        if beats is None:
            return None
        marks.append(LengthMark(word.start() + shift, beats))
    if not marks or set(line) <= set("E |"):
        return None
    return tuple(marks)


def parse_count(text: str) -> int | Fraction | None:
    """
    The number of a unit that is counted, or where in its unit a count stands; None for anything else.

    >>> parse_count("12"), str(parse_count("&")), str(parse_count("1/3")), parse_count("4/4")
    (12, '1/2', '1/3', None)
    """
    if text.isdecimal() and text.isascii():
        return int(text) if len(text) <= 2 and 1 <= int(text) <= MOST_METRE_COUNT else None
    share = _SHARE.fullmatch(text)
    if share is None:
        return _OFFBEATS.get(text.lower())
    found = Fraction(int(share[1]), int(share[2]))
    return found if 0 < found < 1 else None


def parse_counts(line: str, *, shift: int = 0) -> tuple[CountMark, ...] | None:
    """
    The counts of a line, None where the line is anything else; it takes two beats at least to be one.

    ``shift`` is added to their columns.

    >>> [(mark.beat, str(mark.offset)) for mark in parse_counts("1 e & a 2")]
    [(1, '0'), (1, '1/4'), (1, '1/2'), (1, '3/4'), (2, '0')]
    """
    marks: list[CountMark] = []
    for word in _WORD.finditer(line):
        text = word[0].lower()
        if text.isdecimal() and text.isascii() and len(text) <= 2 and 1 <= int(text) <= _MOST_COUNT:
            marks.append(CountMark(word.start() + shift, int(text), Fraction(0)))
        elif text in _OFFBEATS and marks:
            marks.append(CountMark(word.start() + shift, marks[-1].beat, _OFFBEATS[text]))
        else:
            return None
    starts = [mark.beat for mark in marks if mark.offset == 0]
    in_order = all(later in (earlier + 1, 1) for earlier, later in pairwise(starts))
    return tuple(marks) if len(starts) >= 2 and in_order else None


# -- bars -----------------------------------------------------------------------------------------------


def usual_metre(lengths: Sequence[Fraction]) -> Metre | None:
    """
    The metre that most of some bars have, by their lengths in beats; None where no metre has that length.

    >>> usual_metre([Fraction(1), Fraction(3), Fraction(3), Fraction(2)])
    Metre(onset=Fraction(0, 1), count=3, unit=4)
    """
    if not lengths:
        return None
    usual = Counter(lengths[1:-1] or lengths).most_common(1)[0][0]
    signature = metre_of_length(usual, (4, 8, 16))
    return Metre(Fraction(0), *signature) if signature else None


def bar_must_be_full(length: Fraction, metre: Metre, *, number: int, last: int, where: Place) -> None:
    """Raise ReadError where a bar's lengths do not make the stated metre; the first and last may be short."""
    if length == metre.bar or (number in (1, last) and length < metre.bar):
        return
    count, unit = metre.count, metre.unit
    raise ReadError("tab.bar_not_full", where=where, bar=number, beats=length, full=metre.bar, count=count, unit=unit)


def cut_into_bars(
    stretches: Sequence[WrittenBar], full: Fraction, *, first: Fraction = Fraction(0)
) -> list[WrittenBar]:
    """Stretches laid end to end and cut where bars are full; ``first`` is the length of a pickup."""
    notes: list[Note] = []
    labels: list[tuple[Fraction, str]] = []
    end = Fraction(0)
    for stretch in stretches:
        notes += [replace(note, onset=note.onset + end) for note in stretch.notes]
        labels += [(onset + end, label) for onset, label in stretch.labels]
        end += stretch.length
    count = max(0, ceil((end - first) / full))
    lines = [*([Fraction(0)] if first else []), *(first + full * index for index in range(count))]
    bars = []
    for number, (since, until) in enumerate(pairwise([*lines, end]), start=1):
        inside = notes[_from(notes, since) : _from(notes, until)]
        named = labels[bisect_left(labels, (since, "")) : bisect_left(labels, (until, ""))]
        bars.append(
            WrittenBar(
                Place(bar=number),
                until - since,
                tuple(replace(note, onset=note.onset - since) for note in inside),
                stretches[0].metre,
                labels=tuple((onset - since, label) for onset, label in named),
            )
        )
    return bars


def _from(notes: Sequence[Note], onset: Fraction) -> int:
    return bisect_left(notes, onset, key=lambda note: note.onset)
