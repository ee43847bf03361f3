"""Measures: the bars of a sheet filled with pieces that one note value each writes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reedpath.page.score.bars import ScoreBar
from reedpath.page.score.rhythm import RhythmPiece, Stretch, write_bar
from reedpath.page.score.sheet import Sheet, WrittenNote


@dataclass(frozen=True, slots=True)
class Measure:
    """A bar and its pieces, in order, without a gap."""

    bar: ScoreBar
    pieces: tuple[RhythmPiece, ...]


def _stretches(bar: ScoreBar, notes: Sequence[WrittenNote], sources: Sequence[int]) -> Iterator[Stretch]:
    at = bar.onset
    for source in sources:
        onset, end = max(notes[source].onset, bar.onset), min(notes[source].end, bar.end)
        if onset > at:
            yield Stretch(at, onset, None)
        yield Stretch(onset, end, source)
        at = end
    if at < bar.end:
        yield Stretch(at, bar.end, None)


def measures_of(sheet: Sheet) -> tuple[Measure, ...]:
    """The measures of a sheet; the ``source`` of a piece is the index of its written note."""
    measures, first = [], 0
    for bar in sheet.bars:
        while first < len(sheet.notes) and sheet.notes[first].end <= bar.onset:
            first += 1
        last = first
        while last < len(sheet.notes) and sheet.notes[last].onset < bar.end:
            last += 1
        stretches = tuple(_stretches(bar, sheet.notes, range(first, last)))
        measures.append(Measure(bar, write_bar(bar, stretches)))
    return tuple(measures)
