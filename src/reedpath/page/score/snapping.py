"""Snapping: the nearest rhythm that can be written, where the exact one cannot.

Any stretch of time has an exact fraction of a beat here, but notation knows only halves, dots and tuplets.
Within each beat the boundaries of notes are kept where one of the grids below holds them all, and the bar's own
edge with them; else they move to the grid that misses them least, and the notes that moved are named. A bar whose
own edge lies on no grid (a pickup, or a bar cut short by a new metre) gets the nearest length that can be written.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm

from reedpath.errors import PageError, Place
from reedpath.page.score.bars import ScoreBar, Span

# equal parts of a beat that can be written without nesting one tuplet in another, plainest first
# (common practice, no source); beats that divide in two:
BINARY_GRIDS = (2, 4, 3, 8, 6, 12, 5, 16, 24, 7, 10, 32, 9, 20, 14, 18, 64)
# beats that divide in three:
TERNARY_GRIDS = (3, 6, 2, 12, 4, 24, 9, 18, 5, 7, 8, 10, 48, 14, 36)
# parts for beats too crowded for those, down to a 1024th of a whole note in a beat of a quarter
CROWDED_GRIDS = (96, 128, 192, 256, 80, 112, 144)
# beats of error that one step down a list of grids is worth; from trial
STEP_COST = Fraction(1, 250)
# equal parts of a beat that the edge of a bar is moved to where it lies on no grid; ours
EDGE_PARTS = 12
# phrases whose rhythm is kept: the tab, the score, the page and the hand-out of a lesson all ask for the same
KEPT_SNAPPED = 4


@dataclass(frozen=True, slots=True)
class Snapped:
    """Spans as they will be written, and which of them moved.

    spans : onset and end of each note in beats, in the order given.
    moved : indexes of the spans that are not written at their exact time.
    """

    spans: tuple[tuple[Fraction, Fraction], ...]
    moved: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Beat:
    """A beat of the phrase and how it divides.

    span : the whole beat, in beats of the phrase.
    onset, end : the part of it that lies in the bar.
    grids : equal parts that it can be written in, the plainest first.
    bar : number of its bar.
    """

    span: Span
    onset: Fraction
    end: Fraction
    grids: tuple[int, ...]
    bar: int

    def share(self, place: Fraction) -> Fraction:
        """Where a place lies in the beat, 0 to 1."""
        return (place - self.span.start) / self.span.length

    @property
    def edges(self) -> tuple[Fraction, Fraction]:
        """Where its part of the beat begins and ends, as shares of the beat."""
        return self.share(self.onset), self.share(self.end)


def _beats_of(bar: ScoreBar) -> Iterator[_Beat]:
    for span in bar.grid.beat_spans:
        start, end = bar.beat_at(span.start), bar.beat_at(span.end)
        if start < bar.end and end > bar.onset:
            grids = TERNARY_GRIDS if span.length == 3 * bar.grid.unit else BINARY_GRIDS
            yield _Beat(Span(start, end), max(start, bar.onset), min(end, bar.end), grids, bar.printed.number)


def _holds(parts: int, shares: Iterable[Fraction]) -> bool:
    """Whether shares of a beat all lie on a grid of so many parts."""
    return all(parts % share.denominator == 0 for share in shares)


def writable_lengths(bars: tuple[ScoreBar, ...]) -> dict[int, Fraction]:
    """The lengths in beats of the bars, by index, that cannot be written as long as they are."""
    lengths = {}
    for index, bar in enumerate(bars):
        for beat in () if bar.is_full else _beats_of(bar):
            if any(_holds(parts, beat.edges) for parts in beat.grids):
                continue
            step = beat.span.length / EDGE_PARTS
            length = beat.end - beat.onset
            lengths[index] = bar.end - bar.onset - length + max(1, round(length / step)) * step
    return lengths


def _nearest(parts: int, shares: list[int], whole: int, *, first: int, last: int) -> list[int] | None:
    """The step of a grid that each share of a beat goes to, all different; None where the grid has too few.

    shares : as whole parts of a beat that has ``whole`` of them, so that no fraction is made for each step.
    """
    if last - first + 1 < len(shares):
        return None
    steps: list[int] = []
    for left, share in zip(range(len(shares) - 1, -1, -1), shares, strict=True):
        step, rest = divmod(parts * share, whole)
        # of two steps equally near, the even one, as fractions are rounded
        step += 2 * rest > whole or (2 * rest == whole and step % 2 == 1)
        steps.append(min(max(step, first), last - left))
        first = steps[-1] + 1
    return steps


def _snap_beat(
    beat: _Beat, places: list[Fraction], *, start_taken: bool, end_taken: bool
) -> dict[Fraction, Fraction]:
    """Where each boundary in a beat is to be written; empty where all can stay."""
    shares, (begin, stop) = [beat.share(place) for place in places], beat.edges
    if any(_holds(parts, (begin, stop, *shares)) for parts in beat.grids):
        return {}
    length, whole = beat.span.length, lcm(*(share.denominator for share in shares))
    counted = [share.numerator * (whole // share.denominator) for share in shares]
    best: dict[Fraction, Fraction] = {}
    lowest = Fraction(10**6)
    for rank, parts in enumerate((*beat.grids, *CROWDED_GRIDS)):
        if best and parts in CROWDED_GRIDS:
            break
        if not _holds(parts, (begin, stop)):
            continue
        first, last = int(parts * begin) + start_taken, int(parts * stop) - end_taken
        steps = _nearest(parts, counted, whole, first=first, last=last)
        if steps is None:
            continue
        furthest = max(abs(step * whole - parts * share) for step, share in zip(steps, counted, strict=True))
        error = Fraction(furthest, whole) * length / parts
        if error + rank * STEP_COST < lowest:
            lowest = error + rank * STEP_COST
            new = [beat.span.start + length * Fraction(step, parts) for step in steps]
            best = dict(zip(places, new, strict=True))
    if not best:
        raise PageError("page.crowded_beat", where=Place(bar=beat.bar), count=len(places))
    return best


@lru_cache(maxsize=KEPT_SNAPPED)
def snap_spans(spans: tuple[tuple[Fraction, Fraction], ...], bars: tuple[ScoreBar, ...]) -> Snapped:
    """The spans with each boundary moved, where it must be, to a place that can be written.

    spans : onset and end of each note in beats, in order, none overlapping the next, all inside the bars.

    Raises `PageError` where more boundaries crowd into a beat than notation has values for.
    """
    beats = [beat for bar in bars for beat in _beats_of(bar)]
    starts = [beat.onset for beat in beats]
    edges = {edge for span in spans for edge in span}
    inside: defaultdict[int, list[Fraction]] = defaultdict(list)
    for edge in sorted(edges):
        inside[bisect_right(starts, edge) - 1].append(edge)
    moves: dict[Fraction, Fraction] = {}
    taken: set[Fraction] = set()
    for index, places in sorted(inside.items()):
        beat = beats[index]
        if places == [beat.onset]:
            continue
        moved = _snap_beat(
            beat, places, start_taken=places[0] != beat.onset and beat.onset in taken, end_taken=beat.end in edges
        )
        moves |= moved
        taken.update(moved.values())
    written = tuple((moves.get(start, start), moves.get(end, end)) for start, end in spans)
    return Snapped(written, tuple(i for i, (old, new) in enumerate(zip(spans, written, strict=True)) if old != new))
