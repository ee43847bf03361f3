"""Measures: bars of typed tab checked against the stated metre, and made where no bar lines are typed."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import ceil

from reedpath.errors import ReadError
from reedpath.readers.bars import Bar, Note

__all__ = ["bar_must_be_full", "cut_into_bars", "usual_metre"]


def usual_metre(lengths: Sequence[Fraction]) -> tuple[int, int] | None:
    """
    The metre that most of some bars have, by their lengths in beats; None where no metre has that length.

    >>> usual_metre([Fraction(1), Fraction(3), Fraction(3), Fraction(2)])
    (3, 4)
    """
    if not lengths:
        return None
    usual = Counter(lengths[1:-1] or lengths).most_common(1)[0][0]
    for unit in (4, 8, 16):
        count = usual * unit / 4
        if count.denominator == 1 and count > 0:
            return int(count), unit
    return None


def bar_must_be_full(length: Fraction, metre: tuple[int, int], *, number: int, last: int, where: str) -> None:
    """Raise ReadError where a bar's lengths do not make the stated metre; the first and last may be short."""
    full = Fraction(4 * metre[0], metre[1])
    if length == full or (number in (1, last) and length < full):
        return
    raise ReadError(
        f"the lengths of bar {number} make {length} beats, of {full} in a bar of {metre[0]}/{metre[1]}",
        where=where,
        hint="a beat is a quarter note",
    )


def cut_into_bars(stretches: Sequence[Bar], full: Fraction, *, first: Fraction = Fraction(0)) -> list[Bar]:
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
            Bar(
                f"bar {number}",
                until - since,
                tuple(replace(note, onset=note.onset - since) for note in inside),
                stretches[0].metre,
                labels=tuple((onset - since, label) for onset, label in named),
            )
        )
    return bars


def _from(notes: Sequence[Note], onset: Fraction) -> int:
    return bisect_left(notes, onset, key=lambda note: note.onset)
