"""Rhythm of a tab: when each stroke is played, from letters or counts over the strings, or from spacing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from reedpath.errors import ReadError
from reedpath.readers.fret_tab.spacing import Spacing, onsets_in_bar
from reedpath.readers.fret_tab.staff import Staff
from reedpath.readers.fret_tab.strokes import BarStrokes, Stroke
from reedpath.readers.typed import CountMark, LengthMark

__all__ = ["TimedBar", "TimedStroke", "counted_bar", "in_sequence", "lettered_bar", "spaced_bar"]

# columns by which a length may stand beside its note; ours
_NEAR = 1
# parts of a beat to which notes between two counts are rounded; ours
_BETWEEN_COUNTS = 4


@dataclass(slots=True)
class TimedStroke:
    """A stroke and its time in its bar, in beats; ``leads`` are strokes that lead into it like grace notes."""

    stroke: Stroke
    onset: Fraction
    end: Fraction
    leads: list[Stroke] = field(default_factory=list)


@dataclass(slots=True)
class TimedBar:
    """A bar in time.

    length : beats that it takes.
    strokes : in order, not overlapping.
    column_beats : columns of the staff and the beats that they stand for, ascending.
    """

    bar: BarStrokes
    length: Fraction
    strokes: list[TimedStroke]
    column_beats: list[tuple[int, Fraction]]

    def first_free(self, column: int) -> Fraction:
        """Beats from the bar line to the first known place from a column on, or to the first stroke."""
        later = [beats for at, beats in self.column_beats if at >= column]
        until = later[0] if later else self.length
        return min(until, self.strokes[0].onset) if self.strokes else until


def in_sequence(strokes: Sequence[Stroke], onsets: Sequence[Fraction], length: Fraction) -> list[TimedStroke]:
    """Strokes that sound until the next one, or the end of the bar."""
    ends = [*onsets[1:], length] if onsets else []
    return [TimedStroke(*each) for each in zip(strokes, onsets, ends, strict=True)]


def spaced_bar(bar: BarStrokes, beats: Fraction, spacing: Spacing) -> TimedBar:
    """A bar of so many beats whose rhythm is guessed from its spacing."""
    onsets = onsets_in_bar(bar, beats, spacing)
    _, width = spacing.places(bar)
    known = [(stroke.column, onset) for stroke, onset in zip(bar.strokes, onsets, strict=True)]
    quarters = [
        (bar.span.start + spacing.lead + round(width * quarter / (beats * 4)), Fraction(quarter, 4))
        for quarter in range(int(beats * 4))
    ]
    return TimedBar(bar, beats, in_sequence(bar.strokes, onsets, beats), sorted(known + quarters))


# -- letters -------------------------------------------------------------------------------------------


def _matched(bar: BarStrokes, marks: Sequence[tuple[int, Fraction]]) -> dict[int, Stroke]:
    """Index of a length -> the stroke under it: the nearest one not further than a column away."""
    found: dict[int, Stroke] = {}
    free = list(bar.strokes)
    for tolerance in range(_NEAR + 1):
        for index, (column, _) in enumerate(marks):
            if index in found:
                continue
            near = [stroke for stroke in free if abs(stroke.column - column) == tolerance]
            if near:
                found[index] = near[0]
                free.remove(near[0])
    return found


def _prolongs(stroke: Stroke, column: int) -> bool:
    """Whether a length stands over signs that hold, shake, bend or release the note before."""
    return column < stroke.held_to or any(
        start - _NEAR <= column < end for touch in stroke.touches for start, end in touch.cells
    )


def _fold_leads(bar: BarStrokes, timed: list[TimedStroke], staff: Staff) -> list[TimedStroke]:
    """Strokes without a length: those tied to one that has a length lead into it, others are an error.

    Of ``5h7`` under one length the last note takes it, wherever it stands.
    """
    by_stroke = {id(one.stroke): one for one in timed}
    folded: list[TimedStroke] = []
    leads: list[Stroke] = []
    owner: TimedStroke | None = None
    for index, stroke in enumerate(bar.strokes):
        own = by_stroke.get(id(stroke))
        if own is not None:
            if owner is not None:
                folded.append(owner)
            owner, own.leads = own, leads
            leads = []
        elif owner is not None and stroke.is_reached and not owner.stroke.is_bent:
            owner.leads.append(owner.stroke)
            owner.stroke = stroke
        elif index + 1 < len(bar.strokes) and bar.strokes[index + 1].is_reached and not stroke.is_bent:
            leads.append(stroke)
        else:
            raise ReadError(
                "no length stands over this note",
                where=staff.where(stroke.touches[0].string, stroke.column),
                hint="write one of w h q e s over each note, or leave the line of lengths out",
            )
    return [*folded, owner] if owner is not None else folded


def lettered_bar(bar: BarStrokes, marks: Sequence[LengthMark], staff: Staff) -> TimedBar:
    """
    A bar with lengths over its notes; columns of the marks are columns of the staff.

    A length over no note is a rest, unless signs of the note before stand there: then it prolongs that.

    Raises
    ------
    ReadError
        Naming line and column of a note without a length.
    """
    columns = [(mark.column, mark.beats) for mark in marks]
    matched = _matched(bar, columns)
    timed: list[TimedStroke] = []
    known: list[tuple[int, Fraction]] = []
    onset = Fraction(0)
    sounding = False
    for index, (column, beats) in enumerate(columns):
        known.append((column, onset))
        if index in matched:
            timed.append(TimedStroke(matched[index], onset, onset + beats))
            sounding = True
        elif sounding and _prolongs(timed[-1].stroke, column):
            timed[-1].end = onset + beats
        else:
            sounding = False
        onset += beats
    return TimedBar(bar, onset, _fold_leads(bar, timed, staff), known)


# -- counts --------------------------------------------------------------------------------------------


def _count_onsets(marks: Sequence[CountMark], metre: tuple[int, int]) -> list[tuple[int, Fraction]]:
    """Columns of the counts and their beats; in 6/8, 9/8 and 12/8 the count may go by dotted quarters."""
    count, unit = metre
    compound = unit == 8 and count % 3 == 0 and max(mark.beat for mark in marks) <= count // 3
    if compound:
        thirds = {Fraction(1, 2): Fraction(1, 3), Fraction(3, 4): Fraction(2, 3)}
        return [
            (mark.column, (mark.beat - 1 + thirds.get(mark.offset, mark.offset)) * Fraction(3, 2)) for mark in marks
        ]
    return [(mark.column, (mark.beat - 1 + mark.offset) * Fraction(4, unit)) for mark in marks]


def _between(column: int, known: Sequence[tuple[int, Fraction]], end: tuple[int, Fraction]) -> Fraction:
    """Beats of a column, in proportion between the counts on both sides of it."""
    before = max((one for one in known if one[0] <= column), default=known[0])
    after = min((one for one in known if one[0] > column), default=end)
    if abs(before[0] - column) <= _NEAR:
        return before[1]
    if abs(after[0] - column) <= _NEAR:
        return after[1]
    share = Fraction(column - before[0], max(1, after[0] - before[0]))
    exact = before[1] + share * (after[1] - before[1])
    return Fraction(round(exact * _BETWEEN_COUNTS), _BETWEEN_COUNTS)


def counted_bar(bar: BarStrokes, marks: Sequence[CountMark], metre: tuple[int, int], staff: Staff) -> TimedBar:
    """
    A bar with counts over it; columns of the marks are columns of the staff.

    Raises
    ------
    ReadError
        Naming line and column where two notes fall on one count, or a note stands before the first.
    """
    known = sorted(_count_onsets(marks, metre))
    first = known[0][1] if marks[0].beat > 1 else Fraction(0)
    length = Fraction(4 * metre[0], metre[1]) - first
    known = [(column, beats - first) for column, beats in known]
    onsets: list[Fraction] = []
    for stroke in bar.strokes:
        onset = _between(stroke.column, known, (bar.span.end, length))
        if stroke.column < known[0][0] - _NEAR or onset >= length or (onsets and onset <= onsets[-1]):
            raise ReadError(
                "this note falls on no count of its own",
                where=staff.where(stroke.touches[0].string, stroke.column),
                hint="put the counts over their notes: 1 e & a 2 ...",
            )
        onsets.append(onset)
    return TimedBar(bar, length, in_sequence(bar.strokes, onsets, length), known)
