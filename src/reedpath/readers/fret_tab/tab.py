"""A fret tab, read but not yet put in time: its heading, strings, bars and strokes, marks and parts."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from reedpath.errors import ReadError
from reedpath.readers.fret_tab.layout import Layout, lay_out
from reedpath.readers.fret_tab.marks import SystemMarks, marks_of
from reedpath.readers.fret_tab.signs import Signs, customary_signs, with_legend
from reedpath.readers.fret_tab.staff import BarSpan, Staff, join_systems
from reedpath.readers.fret_tab.string_notes import Touch, read_string
from reedpath.readers.fret_tab.stringing import stringing_of_labels, stringing_of_words
from reedpath.readers.fret_tab.strokes import BarStrokes, strokes_of
from reedpath.readers.limits import Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed import TypedHeading, part_names, read_heading

__all__ = ["Choices", "Tab", "read_tab"]

_COMMON_TIME = (4, 4)
# fret; the highest that leaves a playable neck (common practice, no source)
_HIGHEST_CAPO = 24


@dataclass(frozen=True, slots=True)
class Choices:
    """What the user says of a tab, over what its file says; None leaves it to the file.

    tuning : a name or letters, low to high.
    capo : fret.
    high_string_on_top : whether the top line is the highest string.
    """

    tuning: str | None = None
    capo: str | None = None
    high_string_on_top: bool | None = None


@dataclass(frozen=True, slots=True)
class Tab:
    """What a tab holds.

    open_midi : MIDI numbers of the strings as they sound open, capo included, top line first.
    signs : meanings, legend included.
    marks : over and under each system.
    parts : column of the staff at which each part begins, and its name.
    """

    heading: TypedHeading
    staff: Staff
    open_midi: tuple[int, ...]
    signs: Signs
    bars: tuple[BarStrokes, ...]
    marks: tuple[SystemMarks, ...]
    parts: tuple[tuple[int, str], ...]

    @property
    def metre(self) -> tuple[int, int]:
        """Count and unit, 4/4 where the heading says nothing."""
        return self.heading.metre or _COMMON_TIME

    @property
    def full(self) -> Fraction:
        """Beats of a full bar."""
        return Fraction(4 * self.metre[0], self.metre[1])

    def where(self, bar: BarStrokes) -> str:
        """Place of a bar's first note."""
        first = bar.strokes[0]
        return self.staff.where(first.touches[0].string, first.column)


def _capo(heading: TypedHeading, option: str | None) -> int:
    text = option if option is not None else heading.texts.get("capo", "0")
    word = text.lower().split(" ")[0]
    if word in ("no", "none", "without", "sans", "ohne", "keiner"):
        return 0
    digits = "".join(character for character in word if character in "0123456789")
    if not digits or len(digits) > 2 or int(digits) > _HIGHEST_CAPO:
        where = heading.where("capo") if option is None else None
        raise ReadError(f"{text[:40]!r} is no fret for a capo", where=where, hint="write capo: 2")
    return int(digits)


def _open_strings(layout: Layout, heading: TypedHeading, choices: Choices) -> tuple[int, ...]:
    on_top = choices.high_string_on_top
    labels = layout.systems[0].labels
    found = stringing_of_labels(labels, high_string_on_top=on_top)
    for system in layout.systems[1:]:
        if all(system.labels) and stringing_of_labels(system.labels, high_string_on_top=on_top) != found:
            raise ReadError(
                "the letters before the strings are others than before",
                where=f"line {system.strings[0].number}",
                hint="keep one instrument and one tuning",
            )
    words = choices.tuning if choices.tuning is not None else heading.texts.get("tuning")
    if words is not None:
        where = heading.where("tuning") if choices.tuning is None else None
        found = stringing_of_words(words, len(labels), where=where)
        found = found[::-1] if on_top is False else found
    raised = _capo(heading, choices.capo)
    return tuple(midi + raised for midi in found)


def _parts(layout: Layout, staff: Staff, marks: Sequence[SystemMarks]) -> tuple[tuple[int, str], ...]:
    """Parts in order: those over a system by their column, those apart at the next system's start."""
    found: list[tuple[int, str]] = []
    near: set[int] = set()
    for index, system_marks in enumerate(marks):
        for label in system_marks.labels:
            near.add(label.line)
            column = staff.column_of(index, label.column)
            found.append((max(column, staff.offsets[index]), label.text))
    starts = [system.strings[0].number for system in layout.systems]
    for line in layout.texts:
        later = bisect_right(starts, line.number)
        if later < len(starts) and line.number not in near:
            found += [(staff.offsets[later], name) for _, name in part_names(line.text)]
    return tuple(sorted(found, key=lambda one: one[0]))


def _numbers_bars(marks: SystemMarks, bars: Sequence[BarSpan]) -> bool:
    """Whether a line that looks like counts numbers the bars under it instead: one running number over each."""
    counts = marks.counts
    return (
        len(bars) > 1
        and len(counts) == len(bars)
        and all(count.offset == 0 for count in counts)
        and all(later.beat == earlier.beat + 1 for earlier, later in pairwise(counts))
    )


def _without_bar_numbers(staff: Staff, marks: Sequence[SystemMarks]) -> None:
    """Forget counts that number bars."""
    for index, system_marks in enumerate(marks):
        bars = [bar for bar in staff.bars if bar.system == index] if system_marks.counts else []
        if bars and _numbers_bars(system_marks, bars):
            system_marks.counts, system_marks.rhythm_line = (), 0


def _touches(staff: Staff, signs: Signs, limits: Limits, omissions: Omissions) -> list[Touch]:
    touches: list[Touch] = []
    for index, text in enumerate(staff.strings):
        touches += read_string(
            index,
            text,
            signs,
            where=lambda column, string=index: staff.where(string, column),  # type: ignore[misc]
            note=lambda what, place: omissions.note(what, place),
        )
        limits.check("events", len(touches), what="notes")
    return touches


def read_tab(lines: Sequence[str], choices: Choices, *, limits: Limits, omissions: Omissions) -> Tab:
    """
    Read the lines of a fret tab, in plain characters.

    Raises
    ------
    ReadError
        Naming line and, where there is one, column.
    """
    layout = lay_out(lines)
    if not layout.systems:
        raise ReadError(
            "no tab in the source",
            hint="a tab has 4 to 8 string lines under one another, such as e|---5---|, one per string",
        )
    heading, of_heading = read_heading((line.number, line.text) for line in layout.texts)
    words = [line.text for line in layout.texts if line.number not in of_heading]
    signs = with_legend(customary_signs(), words)
    open_midi = _open_strings(layout, heading, choices)
    staff = join_systems(layout.systems, limits=limits)
    marks = tuple(marks_of(system, note=lambda what, place: omissions.note(what, place)) for system in layout.systems)
    _without_bar_numbers(staff, marks)
    bars = strokes_of(staff, _touches(staff, signs, limits, omissions))
    return Tab(heading, staff, open_midi, signs, tuple(bars), marks, _parts(layout, staff, marks))
