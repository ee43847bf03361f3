"""One system of the ribbon: where its beats and holes lie, its cords, beats, bars, comb, part labels and spots."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from reedpath.lesson import Lesson, in_language
from reedpath.page.drawing.drawing_data import Measures
from reedpath.page.drawing.shapes import Box, CombHole, Label, Shape, circle, comb_hole, line, rounded_box
from reedpath.phrase import Bar, Part, Phrase, PrintedBar, bars

# halvings by which a beat is found from its place along a course: to a billionth of the system
HALVINGS = 30
# beats; so that a phrase of nothing has a bar
LEAST = Fraction(1, 64)
# rows; how far the grid reaches beyond its outer cords
BEYOND = 0.5
# rows; side of a hole in the comb, and the rounding of the comb's ends
HOLE, COMB_ROUND = 0.66, 0.25
# rows; heights of the lanes above and below the cords
PART_LANE, NUMBER_LANE, SPOT_LANE, SILENT_LANE = 0.85, 0.62, 0.85, 0.8
# roles of the grid, from back to front
_GRID_ROLES = ("cord", "beat", "bar", "end_bar", "number_text", "metre_text")


@dataclass(frozen=True, slots=True)
class SystemFrame:
    """Where beats and holes lie in one system, in rows from its upper left corner.

    onset, end : beats that the system spans.
    left : x of the first beat.
    rows_per_beat : width of a beat.
    lowest, highest : holes that have a cord.
    top : y of the highest hole's cord; hole 1 lies lowest, as the low notes do on a staff.
    step : rows of sag for a semitone.
    silent_y : y of the lane for events that are not played.
    course : how many rows right of ``left`` a beat lies, never falling; evenly where it is None.
    """

    onset: Fraction
    end: Fraction
    left: float
    rows_per_beat: float
    lowest: int
    highest: int
    top: float
    step: float
    silent_y: float = 0.0
    course: Callable[[float], float] | None = None

    @property
    def right(self) -> float:
        """Rows, x of the last beat's end."""
        return self.x_of(self.end)

    @property
    def bottom(self) -> float:
        """Rows, y of the lowest hole's cord."""
        return self.y_of(self.lowest)

    def x_of(self, beats: Fraction | float) -> float:
        """Rows, x of a beat."""
        if self.course is not None:
            return self.left + self.course(float(beats))
        return self.left + (float(beats) - float(self.onset)) * self.rows_per_beat

    def beats_at(self, x: float) -> float:
        """The beat at x rows."""
        if self.course is None:
            return float(self.onset) + (x - self.left) / self.rows_per_beat
        low, high = float(self.onset), float(self.end)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if self.x_of(middle) < x else (low, middle)
        return (low + high) / 2

    def y_of(self, hole: int, semitones: float = 0.0) -> float:
        """Rows, y of a hole's cord, or of a pitch so many semitones above its natural note."""
        return self.top + (self.highest - hole) - semitones * self.step


@dataclass(frozen=True, slots=True)
class SpotSpan:
    """A spot to practise, numbered from 1, in beats."""

    number: int
    onset: Fraction
    end: Fraction


def comb_of(frame: SystemFrame, holes: int, m: Measures) -> tuple[list[Shape], tuple[CombHole, ...]]:
    """The body of the comb, and its holes.

    Where the harp goes on beyond the holes shown, the comb is cut straight.
    """
    top, bottom = frame.top - BEYOND, frame.bottom + BEYOND
    cut = [side for side, goes_on in (("top", frame.highest < holes), ("bottom", frame.lowest > 1)) if goes_on]
    body: list[Shape] = [rounded_box("comb", Box(0.03, top, m.comb, bottom), COMB_ROUND, square=cut)]
    half, x = HOLE / 2, m.comb / 2 + 0.015
    return body, tuple(
        comb_hole(hole, x, frame.y_of(hole), half_width=half, half_height=half, letters=m.text)
        for hole in range(frame.lowest, frame.highest + 1)
    )


def grid_of(frame: SystemFrame, bars: Iterable[tuple[Bar, PrintedBar]], m: Measures, *, last: bool) -> list[Shape]:
    """Cords, beats and bars with their numbers in the source and metres."""
    top, bottom = frame.top - BEYOND, frame.bottom + BEYOND
    lines: list[Shape] = [
        line("cord", (m.comb, frame.y_of(hole)), (frame.right, frame.y_of(hole)))
        for hole in range(frame.lowest, frame.highest + 1)
    ]
    metre = None
    for bar, printed in bars:
        changed = metre is not None and bar.metre.signature != metre
        metre = bar.metre.signature
        if not frame.onset <= bar.onset < frame.end and not frame.onset < bar.end <= frame.end:
            continue
        for beat in bar.beats[1:]:
            if frame.onset < beat < frame.end:
                lines.append(line("beat", (frame.x_of(beat), top), (frame.x_of(beat), bottom)))
        if frame.onset <= bar.onset < frame.end:
            lines += _bar_start(bar, printed.mark, frame, m, new_metre=changed or bar.onset == 0)
    role = "end_bar" if last else "bar"
    lines.append(line(role, (frame.right, top), (frame.right, bottom)))
    return sorted(lines, key=lambda shape: _GRID_ROLES.index(shape.role))


def _bar_start(bar: Bar, mark: str, frame: SystemFrame, m: Measures, *, new_metre: bool) -> list[Shape]:
    x, y = frame.x_of(bar.onset), number_y(frame)
    shapes: list[Shape] = []
    if bar.onset > frame.onset:
        shapes.append(line("bar", (x, frame.top - BEYOND), (x, frame.bottom + BEYOND)))
    if mark:
        shapes.append(Label("number_text", x + 0.08, y, m.small_text, mark, "start"))
    if new_metre:
        text = bar.metre.name
        at_start = bar.onset == frame.onset
        place = m.comb / 2 if at_start else x + 0.75
        shapes.append(Label("metre_text", place, y, m.small_text, text, "middle" if at_start else "start"))
    return shapes


def number_y(frame: SystemFrame) -> float:
    """Rows, y of the lane with the bars' numbers: the first thing above the grid's sky."""
    return frame.silent_y - SILENT_LANE / 2 - NUMBER_LANE / 2


def parts_of(frame: SystemFrame, parts: Sequence[Part], m: Measures) -> list[Shape]:
    """Labels of the parts that begin in a system, and a line over each part's length."""
    shapes: list[Shape] = []
    y = number_y(frame) - NUMBER_LANE / 2
    for part in parts:
        onset, end = max(part.onset, frame.onset), min(part.end, frame.end)
        if onset >= end:
            continue
        x, until = frame.x_of(onset) + 0.04, frame.x_of(end) - 0.12
        begins = part.onset >= frame.onset
        points = [(x, y + 0.22), (x, y), (until, y)] if begins else [(x, y), (until, y)]
        shapes.append(line("part", *points))
        if begins:
            shapes.append(Label("part_text", x, y - 0.38, m.label_text, part.label, "start"))
    return shapes


def spots_of(
    frame: SystemFrame, spots: Collection[SpotSpan], m: Measures, *, depth: float
) -> tuple[list[Shape], list[Shape]]:
    """Shading behind the spots to practise, and the numbered brackets under them.

    depth : rows that the system's events reach below the lowest cord.
    """
    shades: list[Shape] = []
    brackets: list[Shape] = []
    top, bottom = frame.top - BEYOND, frame.bottom + BEYOND
    y = frame.bottom + depth + SPOT_LANE * 0.5
    for spot in spots:
        onset, end = max(spot.onset, frame.onset), min(spot.end, frame.end)
        if onset >= end:
            continue
        x, until = frame.x_of(onset), frame.x_of(end)
        shades.append(rounded_box("shade", Box(x, top, until, bottom)))
        points = [(x + 0.06, y), (until - 0.06, y)]
        if spot.onset >= frame.onset:
            points.insert(0, (x + 0.06, y - 0.26))
        if spot.end <= frame.end:
            points.append((until - 0.06, y - 0.26))
        middle = (x + until) / 2
        brackets += [
            line("spot", *points),
            circle("spot_disc", middle, y, 0.3),
            Label("spot_text", middle, y, m.small_text, str(spot.number)),
        ]
    return shades, brackets


def bars_of(phrase: Phrase) -> tuple[Bar, ...]:
    """The bars that a phrase fills, at least one; the last is whole."""
    return bars(phrase, until=max(phrase.end, phrase.pickup, LEAST))


def parts_in_beats(lesson: Lesson, language: str = "") -> tuple[Part, ...]:
    """The parts of a lesson as stretches of beats, each up to the next one's first note.

    language : in which they are called as a person calls them there; by their labels for none.
    """
    lesson = in_language(lesson, language)
    events = lesson.route.events
    onsets = [events[part.first].event.onset for part in lesson.parts]
    ends = [*onsets[1:], events[lesson.parts[-1].last].event.end] if lesson.parts else []
    return tuple(Part(part.label, onset, end) for part, onset, end in zip(lesson.parts, onsets, ends, strict=True))
