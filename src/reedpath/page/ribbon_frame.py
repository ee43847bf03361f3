"""The frame of one system: where beats and holes lie."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Frame"]

# halvings by which a beat is found from its place along a course: to a billionth of the system
HALVINGS = 30


@dataclass(frozen=True, slots=True)
class Frame:
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
