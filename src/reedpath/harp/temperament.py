"""Temperaments: how far each note lies from equal temperament."""

from __future__ import annotations

from dataclasses import dataclass

from reedpath.errors import TuningError

__all__ = ["EQUAL", "Temperament"]


@dataclass(frozen=True, slots=True)
class Temperament:
    """Cents off equal temperament for each of the twelve steps above the harp's key note.

    name : short name.
    cents : twelve numbers; step 0 is the key note.
    source : where the numbers come from.
    """

    name: str
    cents: tuple[float, ...]
    source: str = ""

    def __post_init__(self) -> None:
        if len(self.cents) != 12:
            raise TuningError(f"a temperament gives 12 steps, not {len(self.cents)}")


EQUAL = Temperament("equal", (0.0,) * 12, "definition")
