"""Breaking a ribbon into systems: whole bars where they fit, evenly filled.

Each bar asks for a least width of its beats, given by its densest notes. Among all ways to break the bars into
systems we take the one whose squared stretch is least (the total-fit idea of Knuth & Plass, "Breaking
paragraphs into lines", Softw. Pract. Exper. 11, 1981; ours has no hyphens, and only stretches).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from reedpath.phrase import Bar


@dataclass(frozen=True, slots=True)
class SystemSpan:
    """What one system holds.

    onset, end : beats.
    rows_per_beat : width of a beat.
    """

    onset: Fraction
    end: Fraction
    rows_per_beat: float


# how far a lone or last system may be spread out to fill the width, and how far it is where it would not,
# times its natural width
FILLED, LOOSE = 1.5, 1.15

# a span of beats -> rows per beat that its densest notes need
Need = Callable[[Fraction, Fraction], float]


def _atoms(bars: Sequence[Bar], width: float, need: Need) -> list[tuple[Fraction, Fraction]]:
    """Spans that stay together: bars, or the beats of a bar that is wider than a system."""
    atoms = []
    for bar in bars:
        if need(bar.onset, bar.end) * float(bar.end - bar.onset) <= width:
            atoms.append((bar.onset, bar.end))
        else:
            atoms += list(zip(bar.beats, [*bar.beats[1:], bar.end], strict=True))
    return atoms


def break_bars(bars: Sequence[Bar], *, width: float, need: Need) -> tuple[SystemSpan, ...]:
    """Systems for the bars.

    width : rows for the beats of a system; infinite for one system.
    need : the least width of a beat over a span, rows.
    """
    onset, end = bars[0].onset, bars[-1].end
    if math.isinf(width):
        return (SystemSpan(onset, end, need(onset, end)),)
    atoms = _atoms(bars, width, need)
    needs = [need(*atom) for atom in atoms]
    best: list[tuple[float, int]] = [(0.0, 0)]  # least cost of the atoms so far, where the last system begins
    for stop in range(1, len(atoms) + 1):
        best.append(min(_breaks_before(stop, atoms, needs, width, best)))
    cuts = [len(atoms)]
    while cuts[-1] > 0:
        cuts.append(best[cuts[-1]][1])
    cuts.reverse()
    return _justified(cuts, atoms, needs, width=width)


def _breaks_before(
    stop: int,
    atoms: Sequence[tuple[Fraction, Fraction]],
    needs: Sequence[float],
    width: float,
    best: Sequence[tuple[float, int]],
) -> list[tuple[float, int]]:
    """Every place where a system that ends with atom ``stop - 1`` may begin, with the whole cost so far."""
    ways = []
    widest = 0.0
    for begin in range(stop - 1, -1, -1):
        widest = max(widest, needs[begin])
        natural = widest * float(atoms[stop - 1][1] - atoms[begin][0])
        if natural > width and begin < stop - 1:
            break
        # the last system need not be full: up to half empty costs nothing
        slack = max(0.0, width / natural - 1.0 - (1.0 if stop == len(atoms) else 0.0))
        ways.append((best[begin][0] + slack**2 + 0.01, begin))
    return ways


def _justified(
    cuts: Sequence[int],
    atoms: Sequence[tuple[Fraction, Fraction]],
    needs: Sequence[float],
    *,
    width: float,
) -> tuple[SystemSpan, ...]:
    stretches: list[SystemSpan] = []
    for begin, stop in pairwise(cuts):
        onset, end = atoms[begin][0], atoms[stop - 1][1]
        full = width / float(end - onset)
        natural = max(needs[begin:stop])
        if stop == len(atoms) and full > FILLED * natural:  # a short last system is not spread out
            before = stretches[-1].rows_per_beat if stretches else 0.0
            full = min(full, max(natural * LOOSE, before))
        stretches.append(SystemSpan(onset, end, full))
    return tuple(stretches)
