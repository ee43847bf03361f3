"""Rhythm of a tab: when each stroke is played, by a line of lengths or counts over its system, or by its spacing."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction

from msgspec.structs import replace

from reedpath.errors import Place, ReadError
from reedpath.phrase import Metre, beat_of
from reedpath.readers.fret_tab.layout import SystemMarks
from reedpath.readers.fret_tab.spacing import Spacing, find_spacing, guess_pickup, spaced_bar, unbarred
from reedpath.readers.fret_tab.staff import Staff, Stroke, TabBar
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed_tab.heading import TypedHeading
from reedpath.readers.typed_tab.lengths import CountMark, LengthMark, bar_must_be_full

# columns by which a length may stand beside its note; ours
_NEAR = 1
# parts of a beat to which notes between two counts are rounded; ours
_BETWEEN_COUNTS = 4

# -- letters -------------------------------------------------------------------------------------------


def _matched(strokes: Sequence[Stroke], marks: Sequence[LengthMark]) -> dict[int, int]:
    """Index of a length -> index of the stroke under it: the nearest one not further than a column away."""
    at_column: dict[int, list[int]] = {}
    for index, stroke in enumerate(strokes):
        at_column.setdefault(stroke.column, []).append(index)
    found: dict[int, int] = {}
    for distance in range(_NEAR + 1):
        for index, mark in enumerate(marks):
            under = at_column.get(mark.column - distance) or at_column.get(mark.column + distance)
            if under and index not in found:
                found[index] = under.pop(0)
    return found


def _prolongs(stroke: Stroke, column: int) -> bool:
    """Whether a length stands over signs that hold, shake, bend or release the note before."""
    return column < stroke.held_to or any(
        start - _NEAR <= column < end for note in stroke.notes for start, end in note.cells
    )


def _fold_leads(bar: TabBar, times: dict[int, tuple[Fraction, Fraction]], staff: Staff) -> tuple[Stroke, ...]:
    """Strokes in time. Those without a length lead into one that they are tied to, others are an error.

    Of ``5h7`` under one length the last note takes it, wherever it stands.
    """
    folded: list[Stroke] = []
    leads: list[Stroke] = []
    for index, stroke in enumerate(bar.strokes):
        if index in times:
            onset, end = times[index]
            before = tuple(note for lead in leads for note in (*lead.graces, *lead.notes))
            folded.append(replace(stroke, onset=onset, end=end, leads=before))
            leads = []
        elif folded and stroke.is_reached and not folded[-1].is_bent:
            owner = folded.pop()
            before = (*owner.leads, *owner.graces, *owner.notes)
            folded.append(replace(stroke, onset=owner.onset, end=owner.end, leads=before))
        elif index + 1 < len(bar.strokes) and bar.strokes[index + 1].is_reached and not stroke.is_bent:
            leads.append(stroke)
        else:
            raise ReadError("tab.no_length", where=staff.where_struck(stroke))
    return tuple(folded)


def _lettered_bar(bar: TabBar, marks: Sequence[LengthMark], staff: Staff) -> TabBar:
    """
    A bar with lengths over its notes.

    A length over no note is a rest, unless signs of the note before stand there: then it prolongs that.

    Raises `ReadError`, naming line and column of a note without a length.
    """
    matched = _matched(bar.strokes, marks)
    times: dict[int, tuple[Fraction, Fraction]] = {}
    known: list[tuple[int, Fraction]] = []
    onset = Fraction(0)
    sounding: int | None = None
    for index, mark in enumerate(marks):
        known.append((mark.column, onset))
        end = onset + mark.beats
        if index in matched:
            sounding = matched[index]
            times[sounding] = (onset, end)
        elif sounding is not None and _prolongs(bar.strokes[sounding], mark.column):
            times[sounding] = (times[sounding][0], end)
        else:
            sounding = None
        onset = end
    return replace(bar, strokes=_fold_leads(bar, times, staff), length=onset, column_beats=tuple(known))


# -- counts --------------------------------------------------------------------------------------------


def _count_onsets(marks: Sequence[CountMark], metre: Metre) -> list[tuple[int, Fraction]]:
    """Columns of the counts and their beats; where a beat is three units, it may be counted or its units."""
    unit, beat = Fraction(4, metre.unit), beat_of(metre)
    thirds: dict[Fraction, Fraction] = {}
    if beat == 3 * unit and max(mark.beat for mark in marks) <= metre.bar / beat:
        unit = beat
        thirds = {Fraction(1, 2): Fraction(1, 3), Fraction(3, 4): Fraction(2, 3)}
    return [(mark.column, (mark.beat - 1 + thirds.get(mark.offset, mark.offset)) * unit) for mark in marks]


def _between(column: int, known: Sequence[tuple[int, Fraction]], end: tuple[int, Fraction]) -> Fraction:
    """Beats of a column, in proportion between the counts on both sides of it."""
    later = bisect_right(known, column, key=lambda one: one[0])
    before = known[max(later - 1, 0)]
    after = known[later] if later < len(known) else end
    if abs(before[0] - column) <= _NEAR:
        return before[1]
    if abs(after[0] - column) <= _NEAR:
        return after[1]
    share = Fraction(column - before[0], max(1, after[0] - before[0]))
    exact = before[1] + share * (after[1] - before[1])
    return Fraction(round(exact * _BETWEEN_COUNTS), _BETWEEN_COUNTS)


def _counted_bar(bar: TabBar, marks: Sequence[CountMark], metre: Metre, staff: Staff) -> TabBar:
    """
    A bar with counts over it.

    Raises `ReadError`, naming line and column where two notes fall on one count, or a note stands before the first.
    """
    known = sorted(_count_onsets(marks, metre))
    first = known[0][1] if marks[0].beat > 1 else Fraction(0)
    length = metre.bar - first
    known = [(column, beats - first) for column, beats in known]
    onsets: list[Fraction] = []
    for stroke in bar.strokes:
        onset = _between(stroke.column, known, (bar.end, length))
        if stroke.column < known[0][0] - _NEAR or onset >= length or (onsets and onset <= onsets[-1]):
            raise ReadError("tab.no_count", where=staff.where_struck(stroke))
        onsets.append(onset)
    return bar.played(onsets, length, known)


# -- the whole tab -------------------------------------------------------------------------------------


def _marked_bar(bar: TabBar, marks: SystemMarks, metre: Metre, staff: Staff) -> TabBar:
    lengths = [mark for mark in marks.lengths if bar.holds(mark.column)]
    counts = [mark for mark in marks.counts if bar.holds(mark.column)]
    if lengths:
        return _lettered_bar(bar, lengths, staff)
    if counts:
        return _counted_bar(bar, counts, metre, staff)
    if bar.strokes:
        key = "tab.bar_without_lengths" if marks.lengths else "tab.bar_without_counts"
        raise ReadError(key, where=staff.where_struck(bar.strokes[0]), line=marks.rhythm_line)
    return replace(bar, length=metre.bar)


def _spacing(bars: Sequence[TabBar], spaced: Sequence[TabBar], full: Fraction, pickup: Fraction) -> Spacing:
    """How columns are counted, told by the bars that are not a pickup."""
    whole = [bar for bar in spaced if not pickup or bar is not bars[0]]
    return find_spacing(whole or spaced, full)


def _hold_over(bars: list[TabBar]) -> None:
    """Let the last note of a bar sound on into the next ones as far as signs of holding go."""
    for index, bar in enumerate(bars):
        if not bar.strokes or bar.strokes[-1].end < bar.length:
            continue
        last = bar.strokes[-1]
        end = last.end
        for later in bars[index + 1 :]:
            if last.held_to <= later.start:
                break
            end += _first_free(later, last.held_to)
            if later.strokes or last.held_to <= later.end:
                break
        if end != last.end:
            bars[index] = replace(bar, strokes=(*bar.strokes[:-1], replace(last, end=end)))


def _first_free(bar: TabBar, column: int) -> Fraction:
    """Beats from the bar line to the first known place from a column on, or to the first stroke."""
    until = next((beats for at, beats in bar.column_beats if at >= column), bar.length)
    return min(until, bar.strokes[0].onset) if bar.strokes else until


def with_rhythm(
    bars: Sequence[TabBar],
    staff: Staff,
    marks: Sequence[SystemMarks],
    heading: TypedHeading,
    omissions: Omissions,
) -> list[TabBar]:
    """
    The bars of a tab in time: each system by its own line of lengths or counts, the others by their spacing.

    Raises `ReadError`, naming line and column of a note without length or count, or the line of lengths that make no
    bar.
    """
    full = heading.common_metre.bar
    has_bar_lines = any(bar.closed for bar in bars)
    spaced = [bar for bar in bars if not marks[bar.system].rhythm_line]
    pickup = heading.pickup
    if pickup is None:
        pickup = guess_pickup(spaced, full) if len(spaced) == len(bars) else Fraction(0)
    spacing = _spacing(bars, spaced, full, pickup)
    timed: list[TabBar] = []
    for index, bar in enumerate(bars):
        if marks[bar.system].rhythm_line:
            timed.append(_marked_bar(bar, marks[bar.system], heading.common_metre, staff))
            continue
        if has_bar_lines:
            timed.append(spaced_bar(bar, pickup if pickup and not index else full, spacing))
        else:
            timed.append(unbarred(bar))
        if bar.strokes:
            omissions.note("lengths-from-spacing", staff.where_struck(bar.strokes[0]))
    for number, bar in enumerate(timed, start=1):
        if heading.metre and marks[bar.system].lengths:
            where = Place(line=marks[bar.system].rhythm_line)
            bar_must_be_full(bar.length, heading.metre, number=number, last=len(timed), where=where)
    _hold_over(timed)
    return timed
