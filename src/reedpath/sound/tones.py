"""Tones: what one reed is to do, in seconds and hertz."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from reedpath.harp import Breath

# points by which a glide is drawn; enough for its corners not to be heard
GLIDE_POINTS = 7


class Attack(StrEnum):
    """How a tone starts."""

    TONGUED = "tongued"  # the tongue lets the air go
    TURNED = "turned"  # the breath turns round
    SLURRED = "slurred"  # the mouth moves on while the air flows
    SLAPPED = "slapped"  # the tongue hits the harp


class Vibrato(StrEnum):
    """What shakes a tone."""

    THROAT = "throat"
    HAND = "hand"


@dataclass(frozen=True, slots=True)
class Contour:
    """Pitch over time, straight in cents between its points, level before the first and after the last.

    seconds : ascending, on the clock of the performance.
    hz : as many.
    """

    seconds: tuple[float, ...]
    hz: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.hz or len(self.hz) != len(self.seconds):
            raise ValueError(f"a contour of {len(self.seconds)} times and {len(self.hz)} pitches")
        if list(self.seconds) != sorted(self.seconds) or min(self.hz) <= 0:
            raise ValueError("the times of a contour ascend, its pitches are over 0 Hz")

    def joined(self, other: Contour) -> Contour:
        """The contour and then the other, which starts no earlier than this one ends."""
        return Contour(self.seconds + other.seconds, self.hz + other.hz)

    def delayed(self, seconds: float) -> Contour:
        """The same course so much later."""
        return Contour(tuple(at + seconds for at in self.seconds), self.hz)


def glide(start_seconds: float, end_seconds: float, from_hz: float, to_hz: float) -> Contour:
    """A glide that sets out and arrives softly."""
    steps = [step / (GLIDE_POINTS - 1) for step in range(GLIDE_POINTS)]
    eased = [step * step * (3.0 - 2.0 * step) for step in steps]
    return Contour(
        tuple(start_seconds + (end_seconds - start_seconds) * step for step in steps),
        tuple(from_hz * (to_hz / from_hz) ** step for step in eased),
    )


@dataclass(frozen=True, slots=True)
class Tone:
    """What one reed is to do.

    start_seconds, end_seconds : when it is heard to start, and when its breath stops.
    contour : its pitch.
    reed_hz : pitch of the unbent reed: the further the contour lies under it, the duller the tone.
    breath : blow or draw.
    force : 0 to 1, how hard it is played.
    level_db : decibels louder or softer than its force alone makes it, as the reeds of a chord are.
    attack : how it starts.
    vibrato : what shakes it, None for a still tone.
    vibrato_from_seconds : when it begins to be shaken, None for its start.
    overbend : whether the hole is made to overblow or overdraw, which sounds harsher.
    seed : tones of one seed wander together, as the reeds of one chord do.
    event : index of the route event it belongs to.
    """

    start_seconds: float
    end_seconds: float
    contour: Contour
    reed_hz: float
    breath: Breath
    force: float = 0.7
    level_db: float = 0.0
    attack: Attack = Attack.TONGUED
    vibrato: Vibrato | None = None
    vibrato_from_seconds: float | None = None
    overbend: bool = False
    seed: int = 0
    event: int = 0

    @property
    def duration_seconds(self) -> float:
        """How long the breath flows."""
        return self.end_seconds - self.start_seconds

    def delayed(self, seconds: float) -> Tone:
        """The same tone so much later."""
        shaken = None if self.vibrato_from_seconds is None else self.vibrato_from_seconds + seconds
        return replace(
            self,
            start_seconds=self.start_seconds + seconds,
            end_seconds=self.end_seconds + seconds,
            contour=self.contour.delayed(seconds),
            vibrato_from_seconds=shaken,
        )
