"""Regions of a bar: which stretches are written plainly and which as tuplets.

Plain places are those a halving of the beat reaches. Where notes start or end elsewhere, the smallest
stretch of the bar's tree that no such note straddles becomes a tuplet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from reedpath.page.score.bars import Division, Grid, Span

# beats of the longest stretch written as one tuplet; a whole bar of common time, common practice
LONGEST_TUPLET = 4
# equal parts of a tuplet that may reach over several beats; common practice, no source
WIDE_TUPLETS = (3, 5, 7)


@dataclass(frozen=True, slots=True)
class Region:
    """A span of the bar's tree written plainly, or as ``actual`` notes in the time of ``normal``."""

    span: Span
    actual: int = 1
    normal: int = 1

    @property
    def scale(self) -> Fraction:
        """How much longer its notes are written than they last."""
        return Fraction(self.actual, self.normal)


def _is_plain(place: Fraction) -> bool:
    return place.denominator & (place.denominator - 1) == 0


def _odd_part(number: int) -> int:
    return number // (number & -number)


def _half_below(odd: int, first: int) -> int:
    normal = first
    while normal * 2 < odd:
        normal *= 2
    return normal


def _ratio(span: Span, places: Sequence[Fraction]) -> tuple[int, int]:
    """Actual and normal notes of the tuplet that makes all places of a span plain."""
    odd = lcm(*(_odd_part((place - span.start).denominator) for place in places))
    if _odd_part(span.length.numerator) != 3:
        return odd, _half_below(odd, 1)
    if all(_is_plain((place - span.start) * odd / span.length) for place in places):
        return odd, _half_below(odd, 3)
    return odd * 3, _half_below(odd, 1) * 3


@dataclass(frozen=True, slots=True)
class _RegionSearch:
    """What the search for regions looks at all along: the tree, the stretches, the places off the halves."""

    grid: Grid
    stretches: Sequence[Span]
    odd_places: Sequence[Fraction]

    def can_cut(self, place: Fraction, *, is_beyond_beat: bool) -> bool:
        """Whether a cut here leaves every straddling stretch writable."""
        crossing = next((one for one in self.stretches if one.start < place < one.end), None)
        if crossing is None:
            return True
        ends = (_is_plain(crossing.start), _is_plain(crossing.end))
        return any(ends) if is_beyond_beat else all(ends)

    def is_wide_tuplet(self, span: Span) -> bool:
        """Whether a span longer than a beat is best one tuplet: all its places lie on its equal parts."""
        if self.grid.strict or span.length > LONGEST_TUPLET:
            return False
        places = (edge for one in self.stretches for edge in (one.start, one.end))
        shares = [(place - span.start) / span.length for place in places if span.start < place < span.end]
        return lcm(*(share.denominator for share in shares)) in WIDE_TUPLETS

    def regions(self, span: Division) -> list[Region]:
        """The regions of one span of the tree, in order."""
        inside = [place for place in self.odd_places if span.start < place < span.end]
        if not inside:
            return [Region(span)]
        children = span.parts
        is_beyond = span.length > self.grid.longest_beat
        is_cut = all(self.can_cut(child.start, is_beyond_beat=is_beyond) for child in children[1:])
        if is_cut or (is_beyond and not self.is_wide_tuplet(span)):
            return [region for child in children for region in self.regions(child)]
        return [Region(span, *_ratio(span, inside))]


def plan_regions(grid: Grid, stretches: Sequence[Span]) -> list[Region]:
    """The regions of a bar whose notes and rests are these, plain neighbours joined."""
    odd = sorted({p for one in stretches for p in (one.start, one.end) if not _is_plain(p)})
    joined: list[Region] = []
    for region in _RegionSearch(grid, stretches, odd).regions(grid.whole):
        if joined and joined[-1].actual == region.actual == 1:
            joined[-1] = Region(Span(joined[-1].span.start, region.span.end))
        else:
            joined.append(region)
    return joined
