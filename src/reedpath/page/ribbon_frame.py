"""The frame of one system: where beats and holes lie."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Frame"]


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
        return self.left + (float(beats) - float(self.onset)) * self.rows_per_beat

    def beats_at(self, x: float) -> float:
        """The beat at x rows."""
        return float(self.onset) + (x - self.left) / self.rows_per_beat

    def y_of(self, hole: int, semitones: float = 0.0) -> float:
        """Rows, y of a hole's cord, or of a pitch so many semitones above its natural note."""
        return self.top + (self.highest - hole) - semitones * self.step
