"""From strokes in time to the notes and bars that a phrase is built of."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from reedpath.errors import ReadError
from reedpath.phrase import Ornaments
from reedpath.readers.bars import Bar, Note
from reedpath.readers.fret_tab.rhythm import TimedBar, TimedStroke
from reedpath.readers.fret_tab.signs import Technique
from reedpath.readers.fret_tab.string_notes import Touch
from reedpath.readers.fret_tab.tab import Tab
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed import cut_into_bars, usual_metre

__all__ = ["GHOST", "MUTED", "written_bars"]

# what is not carried over, kinds of `LeftOut`
MUTED = "muted-strokes"
GHOST = "ghost-notes"

# semitones from which a slide from nowhere starts, and to which one to nowhere goes; common practice, no source
_SLIDE_IN, _SLIDE_OUT = 2, 3


def _pitch(tab: Tab, touch: Touch) -> int:
    fret = touch.fret or 0
    midi = tab.open_midi[touch.string] + (tab.signs.harmonics.get(fret, fret) if touch.harmonic else fret)
    if not 0 <= midi <= 127:
        raise ReadError(
            f"a pitch of MIDI number {midi}, of 0 to 127 allowed", where=tab.staff.where(touch.string, touch.column)
        )
    return midi


def _arrived(tab: Tab, touch: Touch) -> int:
    """MIDI number at which a touch ends, bends and releases done."""
    return _pitch(tab, touch) + round(touch.height)


def _within(midi: int | None) -> int | None:
    return None if midi is None else min(max(midi, 0), 127)


def _led(tab: Tab, touch: Touch, leads: Sequence[Touch]) -> tuple[int | None, tuple[int, ...]]:
    """Where a touch slides from, and its grace notes; a lead that is slid from is no grace note."""
    before = [lead for lead in leads if lead.string == touch.string and lead.fret is not None]
    first = touch
    while first.link is Technique.SLIDE and first.before is not None:
        first = first.before
        if not before or before[-1] is not first:
            break
        before.pop()
    graces = tuple(_pitch(tab, lead) for lead in before)
    if first is not touch:
        start = _arrived(tab, first)
        return (start if start != _pitch(tab, touch) else None), graces
    return (_pitch(tab, touch) - touch.slide_in * _SLIDE_IN if touch.slide_in else None), graces


def _note(tab: Tab, one: TimedStroke, touch: Touch) -> Note:
    leads = [lead for stroke in one.leads for lead in (*stroke.graces, *stroke.touches)]
    slide_from, graces = _led(tab, touch, leads)
    midi = _pitch(tab, touch)
    graces = (*(_pitch(tab, grace) for grace in one.stroke.graces), *graces)
    ornaments = Ornaments(
        slide_from=_within(slide_from),
        slide_to=_within(midi + touch.slide_out * _SLIDE_OUT) if touch.slide_out else None,
        vibrato=touch.vibrato,
        accent=touch.accent,
        graces=graces,
    )
    return Note(
        one.onset,
        one.end - one.onset,
        midi,
        ornaments=ornaments,
        pre_bend=touch.pre_bend,
        bends=tuple(touch.bends),
        voice=str(touch.string),
        place=tab.staff.where(touch.string, touch.column),
    )


def _notes(tab: Tab, bar: TimedBar, omissions: Omissions) -> list[Note]:
    notes: list[Note] = []
    for one in bar.strokes:
        place = tab.staff.where(one.stroke.touches[0].string, one.stroke.column)
        if one.stroke.is_muted:
            omissions.note(MUTED, place)
            continue
        for touch in one.stroke.touches:
            if touch.ghost:
                omissions.note(GHOST, place)
            notes.append(_note(tab, one, touch))
    return notes


def _mark_strokes(tab: Tab, bars: Sequence[TimedBar]) -> None:
    """Give the accents and vibrato written over a system to the strokes under them."""
    for bar in bars:
        marks = tab.marks[bar.bar.span.system]
        shift = tab.staff.column_of(bar.bar.span.system, 0)
        for columns, is_accent in ((marks.accents, True), (marks.vibratos, False)):
            for column in columns:
                under = [one for one in bar.strokes if one.stroke.column <= column + shift + 1]
                if not under or not bar.bar.span.holds(column + shift):
                    continue
                for touch in under[-1].stroke.touches:
                    touch.accent = touch.accent or is_accent
                    touch.vibrato = touch.vibrato or not is_accent


def _labels(tab: Tab, bars: Sequence[TimedBar]) -> dict[int, list[tuple[Fraction, str]]]:
    """Index of a bar -> onsets and names of the parts that begin in it.

    A part begins at the first note under its name or after; with the bar, where that is the bar's first.
    """
    found: dict[int, list[tuple[Fraction, str]]] = {}
    ends = [bar.bar.span.end for bar in bars]
    for column, text in tab.parts:
        index = bisect_right(ends, column)
        if index == len(bars):
            continue
        strokes = bars[index].strokes
        later = bisect_left(strokes, column, key=lambda one: one.stroke.column)
        if strokes and later == len(strokes):  # after the bar's last note
            index, later = index + 1, 0
        onset = strokes[later].onset if later else Fraction(0)
        if index < len(bars):
            found.setdefault(index, []).append((onset, text))
    return found


def _endings(tab: Tab, bar: TimedBar) -> frozenset[int]:
    marks = tab.marks[bar.bar.span.system]
    shift = tab.staff.column_of(bar.bar.span.system, 0)
    numbers: set[int] = set()
    for found, start, end in marks.endings:
        if start + shift < bar.bar.span.end and end + shift > bar.bar.span.start + 1:
            numbers |= found
    return frozenset(numbers)


def _metre(tab: Tab, bars: Sequence[TimedBar]) -> tuple[int, int]:
    """The metre stated, or the one that most bars with lengths have, or 4/4."""
    lettered = all(tab.marks[bar.bar.span.system].lengths for bar in bars)
    if tab.heading.metre is None and lettered:
        return usual_metre([bar.length for bar in bars]) or tab.metre
    return tab.metre


def written_bars(tab: Tab, timed: Sequence[TimedBar], omissions: Omissions) -> list[Bar]:
    """The bars of a tab in time, as all readers build phrases of them."""
    _mark_strokes(tab, timed)
    metre, labels = _metre(tab, timed), _labels(tab, timed)
    bars = [
        Bar(
            f"bar {index + 1}",
            bar.length,
            tuple(_notes(tab, bar, omissions)),
            metre,
            labels=tuple(labels.get(index, ())),
            signs=replace(bar.bar.span.signs, endings=_endings(tab, bar)),
        )
        for index, bar in enumerate(timed)
    ]
    if not any(bar.bar.span.closed for bar in timed):
        bars = cut_into_bars(bars, tab.full)
    if bars and tab.heading.bpm is not None:
        bars[0] = replace(bars[0], tempos=((Fraction(0), tab.heading.bpm),))
    return bars
