"""A fret tab from its lines to the bars that a phrase is built of."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import partial
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import Place, ReadError
from reedpath.phrase import Metre, Ornaments
from reedpath.readers.bars import Note, WrittenBar
from reedpath.readers.fret_tab.layout import NumberedLine, StringSystem, SystemMarks, lay_out, marks_of
from reedpath.readers.fret_tab.rhythm import with_rhythm
from reedpath.readers.fret_tab.signs import TabSigns, Technique, customary_signs, with_legend
from reedpath.readers.fret_tab.staff import Staff, Stroke, TabBar, join_systems, with_strokes
from reedpath.readers.fret_tab.string_notes import StringNote, read_string
from reedpath.readers.fret_tab.stringing import open_strings
from reedpath.readers.limits import Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option
from reedpath.readers.typed_tab.heading import TypedHeading, read_heading
from reedpath.readers.typed_tab.lengths import cut_into_bars, usual_metre
from reedpath.readers.typed_tab.text import part_names, times_in_words

# semitones from which a slide from nowhere starts, and to which one to nowhere goes; common practice, no source
_SLIDE_IN, _SLIDE_OUT = 2, 3

# -- what stands around the notes ------------------------------------------------------------------------


def _numbers_bars(marks: SystemMarks, bars: Sequence[TabBar]) -> bool:
    """Whether a line that looks like counts numbers the bars under it instead: one running number over each."""
    counts = marks.counts
    return (
        1 < len(bars) == len(counts)
        and all(count.offset == 0 for count in counts)
        and all(later.beat == earlier.beat + 1 for earlier, later in pairwise(counts))
    )


def _marks_of_systems(staff: Staff, omissions: Omissions) -> list[SystemMarks]:
    found: list[SystemMarks] = []
    for index, system in enumerate(staff.systems):
        marks = marks_of(system, shift=staff.shift_of(index), omissions=omissions)
        first = bisect_left(staff.bars, index, key=lambda bar: bar.system)
        after = bisect_right(staff.bars, index, key=lambda bar: bar.system)
        if _numbers_bars(marks, staff.bars[first:after]):
            marks.counts, marks.rhythm_line = (), 0
        found.append(marks)
    return found


def _parts(
    systems: Sequence[StringSystem], texts: Sequence[NumberedLine], staff: Staff, marks: Sequence[SystemMarks]
) -> list[tuple[int, str]]:
    """Column and name of each part: those over a system by their column, those apart at the next system's start."""
    found: list[tuple[int, str]] = []
    near: set[int] = set()
    for offset, of_system in zip(staff.offsets, marks, strict=True):
        for line, column, name in of_system.labels:
            near.add(line)
            found.append((max(column, offset), name))
    starts = [system.strings[0].number for system in systems]
    for number, text in texts:
        later = bisect_right(starts, number)
        if later < len(starts) and number not in near:
            found += [(staff.offsets[later], name) for _, name in part_names(text)]
    return sorted(found, key=lambda one: one[0])


def _labels(parts: Sequence[tuple[int, str]], bars: Sequence[TabBar]) -> dict[int, list[tuple[Fraction, str]]]:
    """Index of a bar -> onsets and names of the parts that begin in it.

    A part begins at the first note under its name or after; with the bar, where that is the bar's first.
    """
    found: dict[int, list[tuple[Fraction, str]]] = {}
    ends = [bar.end for bar in bars]
    for column, name in parts:
        index = bisect_right(ends, column)
        if index == len(bars):
            continue
        strokes = bars[index].strokes
        later = bisect_left(strokes, column, key=lambda stroke: stroke.column)
        if strokes and later == len(strokes):  # after the bar's last note
            index, later = index + 1, 0
        onset = strokes[later].onset if later else Fraction(0)
        if index < len(bars):
            found.setdefault(index, []).append((onset, name))
    return found


def _endings(bar: TabBar, marks: SystemMarks) -> frozenset[int]:
    over = [numbers for numbers, start, end in marks.endings if start < bar.end and end > bar.start + 1]
    return frozenset().union(*over)


def _under(strokes: Sequence[Stroke], columns: Sequence[int], bar: TabBar) -> set[int]:
    """Indexes of the strokes that stand under marks of a bar: the last one that begins up to a column after."""
    found = (bisect_right(strokes, column + 1, key=lambda stroke: stroke.column) - 1 for column in columns)
    return {index for index, column in zip(found, columns, strict=True) if index >= 0 and bar.holds(column)}


# -- notes -----------------------------------------------------------------------------------------------


class _Pitches(Struct, frozen=True):
    """What it takes to say a note's pitch: open strings (MIDI), semitones of harmonics by fret, and the staff."""

    open_midi: tuple[int, ...]
    harmonics: Mapping[int, int]
    staff: Staff

    def midi_of(self, note: StringNote) -> int:
        """MIDI number of a note as fretted; ReadError for one that has none."""
        fret = note.fret or 0
        midi = self.open_midi[note.string] + (self.harmonics.get(fret, fret) if note.harmonic else fret)
        if not 0 <= midi <= 127:
            raise ReadError("tab.pitch", where=self.staff.where(note.string, note.column), midi=midi)
        return midi

    def lead_in(self, note: StringNote, leads: Sequence[StringNote]) -> tuple[int | None, tuple[int, ...]]:
        """Where a note slides from, and its grace notes; a lead that is slid from is no grace note."""
        before = [lead for lead in leads if lead.string == note.string and lead.fret is not None]
        first = note
        while first.link is Technique.SLIDE and first.before is not None:
            first = first.before
            if not before or before[-1] is not first:
                break
            before.pop()
        graces = tuple(self.midi_of(lead) for lead in before)
        midi = self.midi_of(note)
        if first is not note:
            start = self.midi_of(first) + round(first.height)
            return (start if start != midi else None), graces
        return (midi - note.slide_in * _SLIDE_IN if note.slide_in else None), graces


def _within(midi: int | None) -> int | None:
    return None if midi is None else min(max(midi, 0), 127)


def _note(stroke: Stroke, note: StringNote, pitches: _Pitches, *, accent: bool, vibrato: bool) -> Note:
    slide_from, graces = pitches.lead_in(note, stroke.leads)
    midi = pitches.midi_of(note)
    ornaments = Ornaments(
        slide_from=_within(slide_from),
        slide_to=_within(midi + note.slide_out * _SLIDE_OUT) if note.slide_out else None,
        vibrato=note.vibrato or vibrato,
        accent=note.accent or accent,
        graces=(*(pitches.midi_of(grace) for grace in stroke.graces), *graces),
    )
    return Note(
        stroke.onset,
        stroke.end - stroke.onset,
        midi,
        ornaments=ornaments,
        pre_bend=note.pre_bend,
        bends=tuple(note.bends),
        voice=str(note.string),
        place=pitches.staff.where(note.string, note.column),
    )


def _notes(bar: TabBar, marks: SystemMarks, pitches: _Pitches, omissions: Omissions) -> tuple[Note, ...]:
    """Notes of a bar, with the accents and vibrato written over them."""
    notes: list[Note] = []
    accents, vibratos = (_under(bar.strokes, columns, bar) for columns in (marks.accents, marks.vibratos))
    for index, stroke in enumerate(bar.strokes):
        place = pitches.staff.where_struck(stroke)
        if stroke.is_muted:
            omissions.note("muted-strokes", place)
            continue
        for note in stroke.notes:
            if note.ghost:
                omissions.note("ghost-notes", place)
            notes.append(_note(stroke, note, pitches, accent=index in accents, vibrato=index in vibratos))
    return tuple(notes)


def _string_notes(staff: Staff, signs: TabSigns, limits: Limits, omissions: Omissions) -> list[StringNote]:
    notes: list[StringNote] = []
    for string, text in enumerate(staff.strings):
        notes += read_string(string, text, signs, where=partial(staff.where, string), omissions=omissions)
        limits.check("events", len(notes), what="notes")
    return notes


# -- bars ------------------------------------------------------------------------------------------------


def _metre(heading: TypedHeading, bars: Sequence[TabBar], marks: Sequence[SystemMarks]) -> Metre:
    """The metre stated, or the one that most bars with lengths have, or 4/4."""
    if heading.metre is None and all(marks[bar.system].lengths for bar in bars):
        return usual_metre([bar.length for bar in bars]) or heading.common_metre
    return heading.common_metre


def read_tab(
    lines: Sequence[str],
    *,
    tuning: Option | None,
    capo: Option | None,
    high_string_on_top: bool | None,
    limits: Limits,
    omissions: Omissions,
) -> tuple[TypedHeading, list[WrittenBar]]:
    """
    The heading and the bars of a fret tab whose lines are in plain characters.

    tuning : a name or letters, low to high; None leaves it to the file.
    capo : fret; None leaves it to the file.
    high_string_on_top : whether the top line is the highest string; None leaves it to the file.

    Raises `ReadError`, naming line and, where there is one, column.
    """
    systems, texts = lay_out(lines)
    if not systems:
        raise ReadError("tab.no_fret_tab")
    heading, of_heading = read_heading(texts, omissions)
    heading = heading.with_options(tuning=tuning, capo=capo)
    signs = with_legend(customary_signs(), (text for number, text in texts if number not in of_heading))
    open_midi = open_strings(systems, heading, high_string_on_top=high_string_on_top)
    staff = join_systems(systems, limits=limits, omissions=omissions)
    for number, text in texts:
        if number not in of_heading and number not in staff.said_times and times_in_words(text) is not None:
            omissions.note("repeats-in-words", Place(line=number))
    marks = _marks_of_systems(staff, omissions)
    struck = with_strokes(staff, _string_notes(staff, signs, limits, omissions))
    timed = with_rhythm(struck, staff, marks, heading, omissions)
    pitches = _Pitches(open_midi, dict(signs.harmonics), staff)
    metre = _metre(heading, timed, marks)
    labels = _labels(_parts(systems, texts, staff, marks), timed)
    bars = [
        WrittenBar(
            Place(bar=index + 1),
            bar.length,
            _notes(bar, marks[bar.system], pitches, omissions),
            metre.signature,
            labels=tuple(labels.get(index, ())),
            signs=replace(bar.signs, endings=_endings(bar, marks[bar.system])),
        )
        for index, bar in enumerate(timed)
    ]
    if not any(bar.closed for bar in timed):
        bars = cut_into_bars(bars, heading.common_metre.bar)
    if bars and heading.bpm is not None:
        bars[0] = replace(bars[0], tempos=((Fraction(0), heading.bpm),))
    return heading, bars
