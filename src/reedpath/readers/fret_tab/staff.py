"""The staff: all systems laid end to end, cut at the bar lines into bars, and these into strokes."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from reedpath.errors import Place, ReadError
from reedpath.readers.bars import OrderSigns
from reedpath.readers.fret_tab.layout import StringSystem
from reedpath.readers.fret_tab.string_notes import StringNote
from reedpath.readers.limits import Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed_tab.text import checked_times, is_times_alone, times_in_words

# signs beside a bar line that make it a repeat; common practice, no source
_DOTS = ":o*"
_BAR_LINE = re.compile(r"\|")


class Stroke(Struct, frozen=True):
    """Notes struck together.

    column : of the staff, where the first of them begins.
    unit : its place from the bar line, where a fret of two digits or a bend's text counts as one column.
    notes : top line first; muted ones only where all are muted.
    graces : grace notes written before it, in order.
    leads : notes that lead into it like grace notes, as the rhythm shows.
    onset, end : beats from the bar line, once the rhythm is known.
    """

    column: int
    unit: int
    notes: tuple[StringNote, ...]
    graces: tuple[StringNote, ...] = ()
    leads: tuple[StringNote, ...] = ()
    onset: Fraction = Fraction(0)
    end: Fraction = Fraction(0)

    @property
    def is_muted(self) -> bool:
        """Whether nothing of it has a pitch."""
        return all(note.fret is None for note in self.notes)

    @property
    def is_reached(self) -> bool:
        """Whether every note is hammered, pulled or slid from the one before."""
        return all(note.before is not None for note in self.notes)

    @property
    def is_bent(self) -> bool:
        """Whether a string of it is bent."""
        return any(note.bends or note.pre_bend for note in self.notes)

    @property
    def held_to(self) -> int:
        """Column after the last sign that holds it."""
        return max(note.held_to for note in self.notes)


class TabBar(Struct, frozen=True):
    """One bar.

    start, end : columns of the staff between its bar lines.
    system : index of its system.
    signs : repeats that start or end here.
    closed : whether a bar line ends it.
    strokes : in order; once the rhythm is known, none over another.
    units : its width, where the text of a note counts as one column.
    length : beats that it takes, once the rhythm is known.
    column_beats : columns of the staff and the beats that they stand for, ascending.
    """

    start: int
    end: int
    system: int
    signs: OrderSigns = field(default_factory=OrderSigns)
    closed: bool = True
    strokes: tuple[Stroke, ...] = ()
    units: int = 0
    length: Fraction = Fraction(0)
    column_beats: tuple[tuple[int, Fraction], ...] = ()

    def holds(self, column: int) -> bool:
        """Whether a column stands between its bar lines."""
        return self.start <= column < self.end

    def played(
        self, onsets: Sequence[Fraction], length: Fraction, column_beats: Sequence[tuple[int, Fraction]]
    ) -> TabBar:
        """The bar with its rhythm: each stroke sounds until the next one, or the end of the bar."""
        ends = [*onsets[1:], length][: len(onsets)]
        strokes = tuple(
            replace(stroke, onset=onset, end=end)
            for stroke, onset, end in zip(self.strokes, onsets, ends, strict=True)
        )
        return replace(self, strokes=strokes, length=length, column_beats=tuple(column_beats))


class Staff(Struct, frozen=True):
    """All systems end to end.

    strings : what stands on each string, equally long.
    systems : the systems as they stand in the file.
    offsets : column of the staff at which each system's body begins.
    bars : in order, without their strokes.
    said_times : numbers of the lines that say how often a system is played.
    """

    strings: tuple[str, ...]
    systems: tuple[StringSystem, ...]
    offsets: tuple[int, ...]
    bars: tuple[TabBar, ...]
    said_times: frozenset[int]

    def where(self, string: int, column: int) -> Place:
        """Line and column of a place on a string."""
        index = max(0, bisect_right(self.offsets, column) - 1)
        line = self.systems[index].strings[string]
        return Place(line=line.number, column=line.start + column - self.offsets[index] + 1)

    def where_struck(self, stroke: Stroke) -> Place:
        """Line and column of a stroke."""
        return self.where(stroke.notes[0].string, stroke.column)

    def shift_of(self, system: int) -> int:
        """Columns by which a system stands further right than the lines of the file do."""
        return self.offsets[system] - self.systems[system].strings[0].start


# -- bars ------------------------------------------------------------------------------------------------


def _squared(system: StringSystem, omissions: Omissions) -> list[str]:
    """The bodies of a system, equally long, each with the bar line at its left edge."""
    bodies = [line.body for line in system.strings]
    edged = [body.startswith("|") for body in bodies]
    if any(edged) and not all(edged):
        line = system.strings[edged.index(not Counter(edged).most_common(1)[0][0])]
        raise ReadError("tab.string_begins_otherwise", where=Place(line=line.number, column=line.start + 1))
    width = max(len(body) for body in bodies)
    filled = [body.ljust(width, "-") for body in bodies]
    aligned = _aligned(system, filled, omissions)
    return aligned if all(edged) else ["|" + body for body in aligned]


def _aligned(system: StringSystem, bodies: Sequence[str], omissions: Omissions) -> list[str]:
    """
    The bodies of a system with their bar lines under one another.

    Where a string has as many as the others, but elsewhere, they are counted and moved, and that is told.

    Raises `ReadError`, naming line and column, where a string has more or fewer, or no dashes that can be taken away.
    """
    columns = [tuple(match.start() for match in _BAR_LINE.finditer(body)) for body in bodies]
    usual = Counter(columns).most_common(1)[0][0]
    aligned = []
    for line, body, found in zip(system.strings, bodies, columns, strict=True):
        odd = sorted(set(found) ^ set(usual))
        moved = _with_bar_lines_at(body, found, usual) if odd else body
        if odd:
            place = Place(line=line.number, column=line.start + odd[0] + 1)
            if moved is None:
                raise ReadError("tab.bar_line_missing" if odd[0] in usual else "tab.bar_line_alone", where=place)
            omissions.note("moved-bar-lines", place)
        aligned.append(moved or body)
    return aligned


def _with_bar_lines_at(body: str, found: Sequence[int], wanted: Sequence[int]) -> str | None:
    """
    A body with its bar lines moved, dashes put in or taken away before each; None where that cannot be.

    >>> _with_bar_lines_at("|-5--|-7---|", (0, 5, 11), (0, 6, 11))
    '|-5---|-7--|'
    """
    if len(found) != len(wanted):
        return None
    pieces = []
    starts, ends = [-1, *found], [*found, len(body)]
    widths = [end - start - 1 for start, end in pairwise([-1, *wanted, len(body)])]
    for start, end, width in zip(starts, ends, widths, strict=True):
        piece = body[start + 1 : end]
        excess = len(piece) - width
        if excess > 0:
            after = min(excess, len(piece) - len(piece.rstrip("- ")))
            before = excess - after
            if before > len(piece) - len(piece.lstrip("- ")):
                return None
            piece = piece[before : len(piece) - after]
        pieces.append(piece.ljust(width, "-"))
    return "|".join(pieces)


def _has_dots(bodies: Sequence[str], column: int) -> bool:
    """Whether repeat dots stand in a column: signs on some strings, nothing else on the others."""
    if not 0 <= column < len(bodies[0]):
        return False
    signs = [body[column] for body in bodies]
    before = [body[column - 1] if column else "-" for body in bodies]
    dotted = [sign in _DOTS and not left.isdigit() for sign, left in zip(signs, before, strict=True)]
    return any(dotted) and all(dot or sign in "- " for dot, sign in zip(dotted, signs, strict=True))


def _times(system: StringSystem) -> tuple[int, int]:
    """How often a system is said to be played, after it or under it, and the line that says so; 0 for nothing."""
    said = [(line.number, line.tail) for line in system.strings]
    said += [(number, text) for number, text in system.below if is_times_alone(text)]
    for number, text in said:
        times = times_in_words(text)
        if times is not None:
            return checked_times(times, Place(line=number)), number
    return 0, 0


def _is_bar(bodies: Sequence[str], bar: TabBar) -> bool:
    """Whether a span between bar lines is a bar, not the gap in a double one or the open end of a system."""
    wide = bar.closed and bar.end - bar.start >= 2
    return wide or any(set(body[bar.start : bar.end]) - set("- ") for body in bodies)


def _bars_of(bodies: list[str], system: int) -> list[TabBar]:
    """Bars of a system, in its own columns; repeat dots are cleared from the bodies."""
    width = len(bodies[0])
    found: list[TabBar] = []
    column = 0
    while column < width:
        start = column
        while start < width and bodies[0][start] == "|":
            start += 1
        end = bodies[0].find("|", start)
        closed = end >= 0
        end = end if closed else width
        starts, ends = _has_dots(bodies, start), closed and end - 1 > start and _has_dots(bodies, end - 1)
        for dotted in [start] * starts + [end - 1] * ends:
            for index, body in enumerate(bodies):
                bodies[index] = f"{body[:dotted]}-{body[dotted + 1 :]}"
        if end > start:
            signs = OrderSigns(starts=starts, times=2 if ends else 1)
            found.append(TabBar(start + starts, end - ends, system, signs, closed))
        column = end
    return [bar for bar in found if _is_bar(bodies, bar)]


def _with_times(bars: list[TabBar], times: int) -> list[TabBar]:
    """Bars of a system that is played so many times, 0 where that is not said."""
    if bars and times:
        ended = bars[-1].signs.times > 1
        bars[-1] = replace(bars[-1], signs=replace(bars[-1].signs, times=times))
        if not ended:  # a system played several times, without repeat signs
            bars[0] = replace(bars[0], signs=replace(bars[0].signs, starts=True))
    return bars


def join_systems(systems: Sequence[StringSystem], *, limits: Limits, omissions: Omissions) -> Staff:
    """
    Lay systems end to end.

    Raises `ReadError`, naming line and column, where bar lines do not stand under one another, and for too many bars.
    """
    strings: list[list[str]] = [[] for _ in systems[0].strings]
    offsets: list[int] = []
    bars: list[TabBar] = []
    said_times: list[int] = []
    width = 0
    for index, system in enumerate(systems):
        bodies = _squared(system, omissions)
        shift = 0 if system.strings[0].body.startswith("|") else 1
        times, line = _times(system)
        found = _with_times(_bars_of(bodies, index), times)
        said_times.append(line)
        bars += [replace(bar, start=bar.start + width, end=bar.end + width) for bar in found]
        limits.check("bars", len(bars), what="bars", where=system.place)
        for pieces, body in zip(strings, bodies, strict=True):
            pieces.append(body)
        offsets.append(width + shift)
        width += len(bodies[0])
    return Staff(
        tuple("".join(pieces) for pieces in strings),
        tuple(systems),
        tuple(offsets),
        tuple(bars),
        frozenset(said_times),
    )


# -- strokes ---------------------------------------------------------------------------------------------


def _grouped(notes: Iterable[StringNote]) -> list[list[StringNote]]:
    """Notes whose frets share a column, together."""
    groups: list[list[StringNote]] = []
    reach = -1
    for note in sorted(notes, key=lambda one: (one.column, one.string)):
        if groups and note.column < reach and all(one.string != note.string for one in groups[-1]):
            groups[-1].append(note)
            reach = max(reach, note.end)
        else:
            groups.append([note])
            reach = note.end
    return groups


def _swallowed(staff: Staff, bar: TabBar, notes: Sequence[StringNote]) -> list[int]:
    """Columns that only hold the text of a note begun before: second digits, bends, releases."""
    by_string: dict[int, set[int]] = {string: set() for string in range(len(staff.strings))}
    for note in notes:
        for start, end in ((note.column + 1, note.end), *note.cells):
            by_string[note.string].update(range(start, end))
    return sorted(
        column
        for column in set().union(*by_string.values())
        if bar.holds(column)
        and all(column in by_string[string] or text[column] in "- " for string, text in enumerate(staff.strings))
    )


def _strokes(
    notes: Sequence[StringNote], bar: TabBar, swallowed: Sequence[int], graces: list[StringNote]
) -> Iterator[Stroke]:
    """Strokes of a bar; ``graces`` holds those that wait for the next stroke, before and after."""
    for group in _grouped(notes):
        if all(note.grace for note in group):
            graces += group
            continue
        pitched = [note for note in group if note.fret is not None]
        column = min(note.column for note in group)
        yield Stroke(
            column,
            column - bar.start - bisect_left(swallowed, column),
            tuple(sorted(pitched or group, key=lambda note: note.string)),
            tuple(note for note in graces if note.fret is not None),
        )
        graces.clear()


def with_strokes(staff: Staff, notes: Sequence[StringNote]) -> list[TabBar]:
    """The bars of a staff with what is struck in them."""
    ordered = sorted(notes, key=lambda note: note.column)
    found: list[TabBar] = []
    graces: list[StringNote] = []
    first = 0
    for bar in staff.bars:
        after = bisect_left(ordered, bar.end, lo=first, key=lambda note: note.column)
        inside = ordered[first:after]
        first = after
        swallowed = _swallowed(staff, bar, inside)
        strokes = tuple(_strokes(inside, bar, swallowed, graces))
        found.append(replace(bar, strokes=strokes, units=bar.end - bar.start - len(swallowed)))
    return found
