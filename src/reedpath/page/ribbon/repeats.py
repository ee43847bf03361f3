"""What is played several times in a row, drawn once on a ribbon between repeat signs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from reedpath.page.drawing.measures import Measures
from reedpath.page.drawing.shapes import Label, Shape, circle, line
from reedpath.page.ribbon.grid import SystemFrame, number_y

__all__ = ["RepeatedSpan", "repeats_in"]

# rows; radius of a repeat sign's dots, how far they stand from its line, and from the middle of the cords
REPEAT_DOT, DOT_BESIDE, DOT_APART = 0.11, 0.27, 0.24


@dataclass(frozen=True, slots=True)
class RepeatedSpan:
    """What is played several times in a row.

    onset, end : beats of the first time.
    times : how often.
    """

    onset: Fraction
    end: Fraction
    times: int

    @property
    def until(self) -> Fraction:
        """Where the last time ends, beats."""
        return self.onset + (self.end - self.onset) * self.times

    def back_to_first(self, beats: Fraction) -> Fraction:
        """Beats from the same place of the first time to this one; none where it is not in a later time."""
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
        if frame.onset < one.end <= frame.end:
            size = m.small_text
            shapes.append(Label("metre_text", frame.x_of(one.end), number_y(frame), size, f"×{one.times}", "end"))
    return shapes
