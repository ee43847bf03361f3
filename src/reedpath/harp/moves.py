"""Moves: the ways to sound something on a harp, whatever its key.

A move says hole or holes, breath, alteration and embouchure. It says nothing of pitch: the same move on
another harp sounds other notes (see `reach`).
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.errors import TuningError

# semitones that a file may bend or overbend by, more than any two reeds lie apart; ours
MOST_SEMITONES = 24


class Breath(StrEnum):
    """Direction of the air."""

    BLOW = "blow"
    DRAW = "draw"

    @property
    def other(self) -> Breath:
        """The opposite direction."""
        return Breath.DRAW if self is Breath.BLOW else Breath.BLOW


class Alteration(StrEnum):
    """What is done to the natural note of a hole and breath."""

    NATURAL = "natural"
    BEND = "bend"
    OVERBLOW = "overblow"
    OVERDRAW = "overdraw"

    @property
    def is_overbend(self) -> bool:
        """Whether the opening reed is made to speak, above the pair."""
        return self in (Alteration.OVERBLOW, Alteration.OVERDRAW)


class Embouchure(StrEnum):
    """How the mouth picks its holes."""

    PUCKER = "pucker"  # lips alone: one hole, or neighbours by opening wider
    TONGUE = "tongue-block"  # the tongue covers the holes between


class Move(Struct, frozen=True, order=True):
    """One way to sound an event on a harp.

    holes : sounding holes, 1-based, ascending; several for a chord or a split.
    breath : blow or draw.
    alteration : natural, bend, overblow or overdraw (natural for several holes).
    semitones : sounding pitch less the natural note of the same hole and breath: -2 for a whole-step
        bend, 3 for a 6 overblow, 0 for a natural note and for the shallow bend (dip) of a hole whose reeds
        lie a semitone apart.
    embouchure : pucker, or tongue-block.
    """

    holes: tuple[Annotated[int, Meta(ge=1)], ...]
    breath: Breath
    alteration: Alteration = Alteration.NATURAL
    semitones: Annotated[int, Meta(ge=-MOST_SEMITONES, le=MOST_SEMITONES)] = 0
    embouchure: Embouchure = Embouchure.PUCKER

    def __post_init__(self) -> None:
        if not self.holes or any(hole < 1 for hole in self.holes):
            raise TuningError("harp.move_holes", holes=self.holes)
        if tuple(sorted(set(self.holes))) != self.holes:
            raise TuningError("harp.move_order", holes=self.holes)
        if len(self.holes) > 1 and self.alteration is not Alteration.NATURAL:
            raise TuningError("harp.move_alters_several", holes=self.holes)

    @property
    def is_split(self) -> bool:
        """Whether the tongue covers holes between the sounding ones."""
        return len(self.holes) > 1 and self.holes[-1] - self.holes[0] >= len(self.holes)

    @property
    def is_dip(self) -> bool:
        """Whether this is a shallow bend of less than a semitone."""
        return self.alteration is Alteration.BEND and self.semitones == 0

    @property
    def centre(self) -> float:
        """Place of the mouth, in holes."""
        return (self.holes[0] + self.holes[-1]) / 2
