"""Rhythm guessed from spacing: where in its bar a note stands says when it is played.

Tab without lengths is spaced by ear, more or less evenly. Two ways of counting columns are tried (as they
stand; or a fret of two digits and a bend's text as one), and how many of them lead in after a bar line. For
each bar a grid of so many places a beat is chosen; the whole file takes the way whose bars together cost least:

    (distance from the grid in columns)^2 / (2 sigma^2)  +  price of the grid

All prices are ours. Without bar lines, the commonest distance between two notes is taken for an eighth.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from statistics import median

from msgspec import Struct

from reedpath.readers.fret_tab.staff import TabBar

# price of so many places a beat, in units of the sum above
_GRIDS = {1: 0.0, 2: 0.5, 4: 1.0, 3: 1.5, 8: 2.5, 6: 3.0, 12: 5.0, 16: 5.0}
# price of so many leading columns
_LEADS = {1: 0.0, 0: 0.1, 2: 0.5, 3: 1.0}
# price of taking a bar for so many columns wider than it is: bars are closed a little early or late
_SLACKS = {0: 0.0, 1: 0.6, -1: 0.6, 2: 0.9}
# price of a bar that no grid holds, whose notes are then spread evenly
_CROWDED = 20.0
# price of not counting columns as they stand
_UNITS_PRICE = 0.3
# columns; how far a typist strays
_SIGMA_COLUMNS = 0.35
# share of the usual bar's width up to which a first bar is taken for a pickup, and how far the others may differ
_PICKUP_SHARE, _EVEN_SHARE = 0.6, 0.1


class Spacing(Struct, frozen=True):
    """How the columns of a file are counted.

    as_units : whether the text of a note counts as one column.
    lead : columns between a bar line and the first beat.
    """

    as_units: bool = False
    lead: int = 1

    def places(self, bar: TabBar) -> tuple[tuple[int, ...], int]:
        """Places of a bar's strokes after the lead, and how many there are in all."""
        places = [stroke.unit if self.as_units else stroke.column - bar.start for stroke in bar.strokes]
        width = bar.units if self.as_units else bar.end - bar.start
        lead = min(self.lead, *places, width - 1) if places else 0
        return tuple(place - lead for place in places), max(1, width - lead)


def _snapped(places: Sequence[int], width: int, beats: Fraction, grid: int) -> tuple[float, list[int]] | None:
    """Cost and grid places of a bar's notes; None where two would fall together or past the bar."""
    scale, divisor = beats.numerator * grid, width * beats.denominator
    most = -(-scale // beats.denominator)  # places of the grid in the bar
    column = divisor / scale  # columns that one place of the grid takes
    found: list[int] = []
    cost = _GRIDS[grid]
    for place in places:
        index = (2 * place * scale + divisor) // (2 * divisor)
        if index >= most or (found and index <= found[-1]):
            return None
        stray = (place - index * column) / _SIGMA_COLUMNS
        cost += stray * stray / 2
        found.append(index)
    return cost, found


def _best(bar: TabBar, beats: Fraction, spacing: Spacing) -> tuple[float, int, list[int]]:
    """Cost, places a beat and place of each stroke; no places a beat where no grid holds them."""
    places, width = spacing.places(bar)
    found: list[tuple[float, int, list[int]]] = []
    for slack, price in _SLACKS.items():
        for grid in _GRIDS:
            way = _snapped(places, max(1, width + slack), beats, grid)
            if way is not None:
                found.append((way[0] + price, grid, way[1]))
    return min(found, default=(_CROWDED + len(places), 0, []))


def spaced_bar(bar: TabBar, beats: Fraction, spacing: Spacing) -> TabBar:
    """A bar of so many beats whose rhythm is guessed from its spacing."""
    _, grid, places = _best(bar, beats, spacing)
    count = len(bar.strokes)
    onsets = [Fraction(place, grid) for place in places] if grid else [beats * each / count for each in range(count)]
    _, width = spacing.places(bar)
    known = [(stroke.column, onset) for stroke, onset in zip(bar.strokes, onsets, strict=True)]
    quarters = [
        (bar.start + spacing.lead + round(width * quarter / (beats * 4)), Fraction(quarter, 4))
        for quarter in range(int(beats * 4))
    ]
    return bar.played(onsets, beats, sorted(known + quarters))


def find_spacing(bars: Sequence[TabBar], beats: Fraction) -> Spacing:
    """The way of counting columns that makes the simplest rhythm of all bars."""
    struck = [bar for bar in bars if bar.strokes]
    ways: list[tuple[float, int, Spacing]] = []
    for as_units in (False, True):
        for lead, price in _LEADS.items():
            spacing = Spacing(as_units, lead)
            firsts = ((bar.strokes[0], bar.start) for bar in struck)
            if any((first.unit if as_units else first.column - start) < lead for first, start in firsts):
                continue  # a note stands before the first beat
            cost = sum(_best(bar, beats, spacing)[0] for bar in struck)
            ways.append((cost + price + _UNITS_PRICE * as_units, len(ways), spacing))
    return min(ways)[2]


def guess_pickup(bars: Sequence[TabBar], beats: Fraction) -> Fraction:
    """Beats of a first bar that is narrower than all the others, which are alike; 0 for none."""
    if len(bars) < 3 or not bars[0].strokes:
        return Fraction(0)
    first, *widths = (bar.end - bar.start for bar in bars)
    usual = median(widths)
    even = all(abs(width - usual) <= _EVEN_SHARE * usual for width in widths[:-1])
    if not even or first > _PICKUP_SHARE * usual:
        return Fraction(0)
    halves = round((first - 1) / (usual - 1) * float(beats) * 2)
    return Fraction(max(1, halves), 2)


def unbarred(bar: TabBar) -> TabBar:
    """A stretch without bar lines, its rhythm guessed from its spacing."""
    gaps = [later.unit - earlier.unit for earlier, later in pairwise(bar.strokes)]
    counts = Counter(gaps)
    usual = max(counts, key=lambda gap: (counts[gap], -gap), default=1)
    onsets = [Fraction(0)]
    for gap in gaps:
        onsets.append(onsets[-1] + Fraction(max(1, round(Fraction(gap, usual) * 2)), 4))
    onsets = onsets[: len(bar.strokes)]
    known = [(stroke.column, onset) for stroke, onset in zip(bar.strokes, onsets, strict=True)]
    return bar.played(onsets, onsets[-1] + 1 if onsets else Fraction(1), known)
