"""Spans of time found by where they lie, without looking through all of them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from fractions import Fraction
from itertools import accumulate


class SpanIndex:
    """Spans of beats in the order of their onsets; they may overlap."""

    def __init__(self, spans: Iterable[tuple[Fraction, Fraction]]) -> None:
        given = list(spans)
        self._onsets = [onset for onset, _ in given]
        # the furthest end so far never falls, so that it can be searched though ends may
        self._reach = list(accumulate((end for _, end in given), max))

    def starting(self, onset: Fraction, end: Fraction) -> range:
        """Indices of the spans that start in a stretch, its end left out."""
        return range(bisect_left(self._onsets, onset), bisect_left(self._onsets, end))

    def near(self, onset: Fraction, end: Fraction) -> range:
        """
        Indices of all spans that share time with a stretch, and now and then of one that is over before it.

        >>> spans = SpanIndex([(Fraction(0), Fraction(1)), (Fraction(1), Fraction(2)), (Fraction(2), Fraction(3))])
        >>> spans.near(Fraction(1), Fraction(2))
        range(1, 2)
        """
        return range(bisect_right(self._reach, onset), bisect_left(self._onsets, end))
