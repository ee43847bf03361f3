"""What is played several times in a row, drawn once on a ribbon between repeat signs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from reedpath.page.drawing.drawing_data import Measures
from reedpath.page.drawing.shapes import Label, Shape, circle, line
from reedpath.page.ribbon.grid import SystemFrame, number_y

# rows; radius of a repeat sign's dots, how far they stand from its line, and from the middle of the cords
REPEAT_DOT, DOT_BESIDE, DOT_APART = 0.11, 0.27, 0.24
# rows; how far an ending's bracket is under the bars' numbers and within its bars, how long its hooks are, how far
# its number stands from its start
BRACKET_UNDER, BRACKET_IN, BRACKET_HOOK, ENDING_BESIDE = 0.42, 0.06, 0.22, 2.0


@dataclass(frozen=True, slots=True)
class RepeatedSpan:
    """What is played several times in a row.

    onset, end : beats of the first time.
    times : how often; twice where endings differ.
    ending, other : beats at the end of the first time that are played then only, and of what is played for them the
        last time.
    """

    onset: Fraction
    end: Fraction
    times: int
    ending: Fraction = Fraction(0)
    other: Fraction = Fraction(0)

    @property
    def until(self) -> Fraction:
        """Where the last time ends, but for an ending of its own, beats."""
        return self.end + (self.end - self.ending - self.onset) * (self.times - 1)

    @property
    def endings(self) -> tuple[tuple[Fraction, Fraction], ...]:
        """Beats from which to which each ending goes, where they differ."""
        return ((self.end - self.ending, self.end), (self.until, self.until + self.other)) if self.ending else ()

    def back_to_first(self, beats: Fraction) -> Fraction:
        """Beats from the same place of the first time to this one; none where that is not drawn for it."""
        if not self.end <= beats < self.until:
            return Fraction(0)
        length = self.end - self.onset
        return (beats - self.onset) // length * length


def repeats_in(frame: SystemFrame, repeats: Sequence[RepeatedSpan], m: Measures) -> list[Shape]:
    """Repeat signs where what is repeated begins and ends in a system, and how often it is played."""
    shapes: list[Shape] = []
    middle = (frame.top + frame.bottom) / 2
    for one in repeats:
        for beats, inwards in ((one.onset, 1.0), (one.end, -1.0)):
            is_here = frame.onset <= beats < frame.end if inwards > 0 else frame.onset < beats <= frame.end
            if not is_here:
                continue
            x = frame.x_of(beats)
            shapes.append(line("end_bar", (x, frame.top), (x, frame.bottom)))
            shapes += [
                circle("spot_disc", x + inwards * DOT_BESIDE, middle + y, REPEAT_DOT) for y in (-DOT_APART, DOT_APART)
            ]
        if frame.onset < one.end <= frame.end and not one.ending:
            size = m.small_text
            shapes.append(Label("metre_text", frame.x_of(one.end), number_y(frame), size, f"×{one.times}", "end"))
        for number, (onset, end) in enumerate(one.endings, start=1):
            shapes += _bracket(frame, onset, end, number, m)
    return shapes


def _bracket(frame: SystemFrame, onset: Fraction, end: Fraction, number: int, m: Measures) -> list[Shape]:
    """What of an ending's bracket is in a system, under the bars' numbers; the first closes, the last stays open."""
    left, right = max(onset, frame.onset), min(end, frame.end)
    if left >= right:
        return []
    y = number_y(frame) + BRACKET_UNDER
    x, until = frame.x_of(left) + BRACKET_IN, frame.x_of(right) - BRACKET_IN
    points = [(x, y), (until, y)]
    shapes: list[Shape] = []
    if left == onset:
        points.insert(0, (x, y + BRACKET_HOOK))
        # beside the bar's number, be it "108 (2)", where there is room
        beside = x + min(ENDING_BESIDE, (until - x) / 2)
        shapes.append(Label("metre_text", beside, number_y(frame), m.small_text, f"{number}.", "start"))
    if right == end and number == 1:
        points.append((until, y + BRACKET_HOOK))
    return [line("part", *points), *shapes]
