"""Rhythm: exact stretches of time cut into note values, dots, ties and tuplets.

Inside a plain region or a tuplet (see `regions`) a note keeps one value while the strong places that it
crosses stay readable, else it is cut there and tied; rests are cut sooner (common practice of engraving,
no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from reedpath.errors import PageError
from reedpath.page.score.bars import Grid, ScoreBar, Span
from reedpath.page.score.tuplets import Region, plan_regions

# MusicXML's names of the plain note values by their beats (MusicXML 4.0, note-type-value)
VALUES = {
    Fraction(8): "breve",
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th",
    Fraction(1, 8): "32nd",
    Fraction(1, 16): "64th",
    Fraction(1, 32): "128th",
    Fraction(1, 64): "256th",
    Fraction(1, 128): "512th",
    Fraction(1, 256): "1024th",
}


@dataclass(frozen=True, slots=True)
class Value:
    """A note value: its MusicXML name and its dots."""

    name: str
    dots: int = 0


@dataclass(frozen=True, slots=True)
class Tuplet:
    """A tuplet: ``actual`` notes in the time of ``normal``, from beat ``start`` to ``end`` of the phrase."""

    start: Fraction
    end: Fraction
    actual: int
    normal: int


@dataclass(frozen=True, slots=True)
class Stretch:
    """A note (``source`` its index) or a rest (None) inside one bar, in beats of the phrase."""

    onset: Fraction
    end: Fraction
    source: int | None


@dataclass(frozen=True, slots=True)
class RhythmPiece:
    """A stretch, or a part of one, that one note value writes.

    onset, end : beats of the phrase.
    source : index of the note, None for a rest.
    value : None for a rest that fills its bar.
    tuplet : the tuplet it stands in.
    """

    onset: Fraction
    end: Fraction
    source: int | None
    value: Value | None
    tuplet: Tuplet | None = None


def value_of(length: Fraction) -> Value | None:
    """The note value of so many beats, perhaps dotted; None where there is none."""
    if length in VALUES:
        return Value(VALUES[length])
    undotted = length * Fraction(2, 3)
    return Value(VALUES[undotted], 1) if undotted in VALUES else None


def _is_note_readable(grid: Grid, span: Span, depth: int, crossed: Sequence[Fraction]) -> bool:
    """Whether a note over these strong places still shows where the beats are."""
    ends = sorted((grid.depth(span.start), grid.depth(span.end)))
    if grid.strict and depth <= grid.beat_depth:
        return ends[1] <= grid.beat_depth and ends[0] <= depth
    is_syncopation = ends[0] == depth + 1 and len(crossed) == 1 and crossed[0] - span.start == span.end - crossed[0]
    return ends[0] <= depth or is_syncopation


def _is_rest_readable(grid: Grid, span: Span, depth: int, value: Value) -> bool:
    """Whether a rest over these strong places is usual: it starts on a stronger one, and is seldom dotted."""
    if value.dots and not (grid.strict and grid.depth(span.end) <= grid.beat_depth):
        return False
    if grid.strict and depth <= grid.beat_depth and grid.depth(span.end) > grid.beat_depth:
        return False
    return grid.depth(span.start) < depth


def _place_to_cut(grid: Grid, span: Span, *, is_rest: bool) -> Fraction | None:
    """Where a span is to be cut first; None where one value writes it."""
    value = value_of(span.length)
    depth, crossed = grid.strongest_inside(span.start, span.end)
    if value and (
        not crossed
        or (_is_rest_readable(grid, span, depth, value) if is_rest else _is_note_readable(grid, span, depth, crossed))
    ):
        return None
    if not crossed:
        raise PageError("page.no_note_value", beats=span.length)
    return crossed[-1] if grid.depth(span.start) <= depth else crossed[0]


@lru_cache(maxsize=8192)
def _cut(grid: Grid, span: Span, *, is_rest: bool) -> tuple[Span, ...]:
    """The span in parts that one value each can write; the same few come in bar after bar."""
    pieces, waiting = [], [span]
    while waiting:
        one = waiting.pop()
        place = _place_to_cut(grid, one, is_rest=is_rest)
        if place is None:
            pieces.append(one)
        else:
            waiting += (Span(place, one.end), Span(one.start, place))
    return tuple(pieces)


@lru_cache(maxsize=512)
def _tuplet_grid(unit: Fraction, parts: int) -> Grid:
    """The tree inside a tuplet of so many units, in written beats from its start."""
    step = 3 if parts > 3 and parts % 3 == 0 else 1
    return Grid(unit, tuple(unit * index for index in range(0, parts + 1, step)))


def _pieces_in(
    bar: ScoreBar, region: Region, start: Fraction, end: Fraction, source: int | None
) -> Iterator[RhythmPiece]:
    """The pieces of a stretch of a region, which lies between two places of the bar's tree."""
    is_tuplet = region.actual > 1
    origin = region.span.start if is_tuplet else Fraction(0)
    grid = _tuplet_grid(region.span.length / region.normal, region.actual) if is_tuplet else bar.grid
    tuplet, written = None, Span(start, end)
    if is_tuplet:
        edges = (bar.beat_at(region.span.start), bar.beat_at(region.span.end))
        tuplet = Tuplet(max(edges[0], bar.onset), min(edges[1], bar.end), region.actual, region.normal)
        written = Span((start - origin) * region.scale, (end - origin) * region.scale)
    for span in _cut(grid, written, is_rest=source is None):
        places = (
            (origin + place / region.scale for place in (span.start, span.end))
            if is_tuplet
            else (span.start, span.end)
        )
        onset, stop = (bar.beat_at(place) for place in places)
        yield RhythmPiece(onset, stop, source, value_of(span.length), tuplet)


def _pieces(bar: ScoreBar, stretches: Sequence[Stretch]) -> Iterator[RhythmPiece]:
    spans = [Span(bar.place(one.onset), bar.place(one.end)) for one in stretches]
    regions = plan_regions(bar.grid, spans)
    first = 0
    for stretch, span in zip(stretches, spans, strict=True):
        while first < len(regions) and regions[first].span.end <= span.start:
            first += 1
        for region in regions[first:]:
            if region.span.start >= span.end:
                break
            start, end = max(span.start, region.span.start), min(span.end, region.span.end)
            yield from _pieces_in(bar, region, start, end, stretch.source)


def write_bar(bar: ScoreBar, stretches: Sequence[Stretch]) -> tuple[RhythmPiece, ...]:
    """The pieces that write a bar filled by these notes and rests, in order.

    Raises `PageError` where a stretch has no note value (see `snapping`, which prevents it).
    """
    if len(stretches) == 1 and stretches[0].source is None and bar.is_full:
        return (RhythmPiece(bar.onset, bar.end, None, None),)
    return tuple(_pieces(bar, stretches))
