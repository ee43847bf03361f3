"""A fret tab put in time: each system by its own line of lengths or counts, the others by their spacing."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from reedpath.errors import ReadError
from reedpath.readers.fret_tab.marks import SystemMarks
from reedpath.readers.fret_tab.rhythm import TimedBar, counted_bar, in_sequence, lettered_bar, spaced_bar
from reedpath.readers.fret_tab.spacing import Spacing, find_spacing, guess_pickup, onsets_without_bars
from reedpath.readers.fret_tab.strokes import BarStrokes
from reedpath.readers.fret_tab.tab import Tab
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed import bar_must_be_full

__all__ = ["GUESSED", "timed_bars"]

# what the source does not say, a kind of `LeftOut`
GUESSED = "lengths-from-spacing"


def _has_bar_lines(tab: Tab) -> bool:
    return any(bar.span.closed for bar in tab.bars)


def _over(tab: Tab, bar: BarStrokes, marks: SystemMarks) -> SystemMarks:
    """The lengths and counts over a bar, their columns those of the staff."""
    shift = tab.staff.column_of(bar.span.system, 0)
    return SystemMarks(
        lengths=tuple(mark.moved(shift) for mark in marks.lengths if bar.span.holds(mark.column + shift)),
        counts=tuple(mark.moved(shift) for mark in marks.counts if bar.span.holds(mark.column + shift)),
        rhythm_line=marks.rhythm_line,
    )


def _marked(tab: Tab, bar: BarStrokes, marks: SystemMarks) -> TimedBar:
    over = _over(tab, bar, marks)
    if over.lengths:
        return lettered_bar(bar, over.lengths, tab.staff)
    if over.counts:
        return counted_bar(bar, over.counts, tab.metre, tab.staff)
    if bar.strokes:
        what = "lengths" if marks.lengths else "counts"
        raise ReadError(
            f"no {what} stand over this bar, though line {marks.rhythm_line} has them", where=tab.where(bar)
        )
    return TimedBar(bar, tab.full, [], [])


def _without_bars(bar: BarStrokes) -> TimedBar:
    onsets = onsets_without_bars(bar)
    length = onsets[-1] + 1 if onsets else Fraction(1)
    known = [(stroke.column, onset) for stroke, onset in zip(bar.strokes, onsets, strict=True)]
    return TimedBar(bar, length, in_sequence(bar.strokes, onsets, length), known)


def _spacing(tab: Tab) -> tuple[Spacing, Fraction]:
    """How columns are counted, and the beats of a pickup."""
    spaced = [bar for bar in tab.bars if not tab.marks[bar.span.system].rhythm_line]
    pickup = tab.heading.pickup
    if pickup is None:
        pickup = guess_pickup(spaced, tab.full) if len(spaced) == len(tab.bars) else Fraction(0)
    whole = [bar for bar in spaced if not pickup or bar is not tab.bars[0]]
    return find_spacing(whole or spaced, tab.full), pickup


def _check_full(tab: Tab, bars: Sequence[TimedBar]) -> None:
    """Where a metre is stated, the lengths over a bar fill it."""
    for number, bar in enumerate(bars, start=1):
        marks = tab.marks[bar.bar.span.system]
        if tab.heading.metre and marks.lengths:
            where = f"line {marks.rhythm_line}"
            bar_must_be_full(bar.length, tab.metre, number=number, last=len(bars), where=where)


def _hold_over(bars: Sequence[TimedBar]) -> None:
    """Let the last note of a bar sound on into the next ones as far as signs of holding go."""
    for index, bar in enumerate(bars):
        if not bar.strokes or bar.strokes[-1].end < bar.length:
            continue
        last = bar.strokes[-1]
        held_to = last.stroke.held_to
        for later in bars[index + 1 :]:
            if held_to <= later.bar.span.start:
                break
            last.end += later.first_free(held_to)
            if later.strokes or held_to <= later.bar.span.end:
                break


def timed_bars(tab: Tab, omissions: Omissions) -> list[TimedBar]:
    """
    The bars of a tab in time.

    Raises
    ------
    ReadError
        Naming line and column of a note without length or count, or the line of lengths that make no bar.
    """
    spacing, pickup = _spacing(tab)
    timed: list[TimedBar] = []
    for index, bar in enumerate(tab.bars):
        marks = tab.marks[bar.span.system]
        if marks.rhythm_line:
            timed.append(_marked(tab, bar, marks))
            continue
        if _has_bar_lines(tab):
            timed.append(spaced_bar(bar, pickup if pickup and not index else tab.full, spacing))
        else:
            timed.append(_without_bars(bar))
        if bar.strokes:
            omissions.note(GUESSED, tab.where(bar))
    _check_full(tab, timed)
    _hold_over(timed)
    return timed
