"""Bars and the weight of places in them: where a reader of music expects a note to start or to be cut.

A bar is divided like a tree: into halves or groups, these into beats, a beat into two (or into three where
the metre is compound), and so on by two. The depth at which a place first appears as an edge is its weight:
0 for the bar line, more for weaker places (common practice, no source).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import accumulate, pairwise

from reedpath.errors import PageError
from reedpath.phrase import Metre, Phrase, PrintedBar, bars, groups_of, printed_bars

# divisions under the bar at which the search for a place stops
DEEPEST = 16
# bars, more than any phrase for a lesson has
MOST_BARS = 20_000
# beats; so that a phrase of nothing has a bar
SHORTEST = Fraction(1, 64)
# lower numbers of a time signature; common practice, no source
UNITS = (1, 2, 4, 8, 16, 32, 64)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a bar's tree, in beats from the tree's start."""

    start: Fraction
    end: Fraction

    @property
    def length(self) -> Fraction:
        """Beats."""
        return self.end - self.start


@dataclass(frozen=True, eq=False)
class Division(Span):
    """A span that the tree itself has, and what it is divided into."""

    grid: Grid

    @cached_property
    def parts(self) -> tuple[Division, ...]:
        """The next finer division."""
        inner = [place for place in self.grid.beats if self.start <= place <= self.end]
        count, unit = len(inner) - 1, self.grid.unit
        if count > 1:
            edges = inner[:: count // 2 if count % 2 == 0 and count > 2 else 1]
        else:
            parts = int(self.length / unit) if self.length in (2 * unit, 3 * unit) else 2
            edges = [self.start + self.length * index / parts for index in range(parts + 1)]
        return tuple(Division(a, b, self.grid) for a, b in pairwise(edges))

    @cached_property
    def starts(self) -> tuple[Fraction, ...]:
        """Where its parts begin."""
        return tuple(part.start for part in self.parts)

    @cached_property
    def ends(self) -> tuple[Fraction, ...]:
        """Where its parts end."""
        return tuple(part.end for part in self.parts)


@dataclass(frozen=True, eq=False)
class Grid:
    """The tree of a full bar (or of a tuplet, which is divided likewise).

    unit : beats of the metre's lower number.
    beats : the places of the beats and the end, beats from the start.
    strict : whether a note crossing a beat must be cut there unless it fills whole beats (compound and
        uneven metres).
    """

    unit: Fraction
    beats: tuple[Fraction, ...]
    strict: bool = False

    @cached_property
    def whole(self) -> Division:
        """The full bar."""
        return Division(Fraction(0), self.beats[-1], self)

    @cached_property
    def beat_spans(self) -> tuple[Span, ...]:
        """The beats, in order."""
        return tuple(Span(a, b) for a, b in pairwise(self.beats))

    @cached_property
    def longest_beat(self) -> Fraction:
        """Length of the longest beat."""
        return max(span.length for span in self.beat_spans)

    @cached_property
    def beat_depth(self) -> int:
        """Depth at which the weakest beat appears."""
        return max(self.depth(place) for place in self.beats)

    def depth(self, place: Fraction) -> int:
        """Weight of a place of the bar: 0 for its edges, more for weaker ones."""
        if place in (self.whole.start, self.whole.end):
            return 0
        division = self.whole
        for depth in range(1, DEEPEST):
            at = bisect_left(division.ends, place)
            after = division.parts[at] if at < len(division.parts) else division
            if place in (after.start, after.end):
                return depth
            division = after
        return DEEPEST

    def strongest_inside(self, start: Fraction, end: Fraction) -> tuple[int, list[Fraction]]:
        """The depth of the strongest places strictly between two others, and these places in order."""
        division: Division | None = self.whole
        for depth in range(1, DEEPEST):
            if division is None:
                break
            starts = division.starts
            found = starts[max(1, bisect_right(starts, start)) : bisect_left(starts, end)]
            if found:
                return depth, list(found)
            around = division.parts[max(0, bisect_right(starts, start) - 1)]
            division = around if around.start <= start and end <= around.end else None
        return DEEPEST, []


@dataclass(frozen=True, slots=True)
class ScoreBar:
    """One bar of a phrase.

    number : 1 for the first full bar, 0 for a pickup.
    printed : its number in the source, and which time it is played.
    onset, end : beats of the phrase.
    metre : its time signature.
    offset : beats of the tree before the bar's own start (a pickup is the end of a bar).
    shows_metre : whether its time signature is to be shown.
    """

    number: int
    printed: PrintedBar
    onset: Fraction
    end: Fraction
    metre: Metre
    offset: Fraction
    shows_metre: bool

    @property
    def grid(self) -> Grid:
        """The tree of a full bar of this metre."""
        return grid_of(*self.metre.signature)

    @property
    def is_full(self) -> bool:
        """Whether the bar is as long as its metre says."""
        return self.end - self.onset == self.metre.bar

    def place(self, beat: Fraction) -> Fraction:
        """Where a beat of the phrase lies in the bar's tree."""
        return beat - self.onset + self.offset

    def beat_at(self, place: Fraction) -> Fraction:
        """The beat of the phrase at a place in the bar's tree."""
        return place - self.offset + self.onset


@lru_cache(maxsize=64)
def grid_of(count: int, unit: int) -> Grid:
    """The tree of a metre of ``count`` notes of 1/``unit``."""
    if count < 1 or unit not in UNITS:
        raise PageError("page.no_metre", count=count, unit=unit, known=UNITS)
    unit_beats = Fraction(4, unit)
    groups = groups_of(Metre(Fraction(0), count, unit))
    return Grid(unit_beats, tuple(accumulate(groups, initial=Fraction(0))), strict=3 * unit_beats in groups)


def bars_of(phrase: Phrase, *, end: Fraction | None = None) -> tuple[ScoreBar, ...]:
    """The bars that cover a phrase, at least one.

    end : beats to cover, the end of the phrase where none is given.
    """
    last = max(phrase.end if end is None else end, SHORTEST)
    found: list[ScoreBar] = []
    shown: tuple[int, int] | None = None
    counted = bars(phrase, until=last)
    for bar, printed in zip(counted, printed_bars(phrase, counted), strict=True):
        full, length = bar.metre.bar, bar.end - bar.onset
        # a pickup is the end of a bar, one longer than a bar is whole bars after such an end
        at, stop = bar.onset, bar.onset + (length % full or full) if length > full else bar.end
        while at < bar.end:
            offset = full - (stop - at) if bar.number == 0 else Fraction(0)
            found.append(ScoreBar(bar.number, printed, at, stop, bar.metre, offset, bar.metre.signature != shown))
            at, stop, shown = stop, stop + full, bar.metre.signature
    if len(found) > MOST_BARS:
        raise PageError("page.too_many_bars", most=MOST_BARS)
    return tuple(found)
