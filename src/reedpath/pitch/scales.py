"""Scales: steps above a tonic, read from a data file that anybody can extend."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from msgspec import Struct

from reedpath.data import extended, read_tables, shipped_text
from reedpath.errors import PitchError, Place

# the seven church modes in the order of the positions that give them on a standard harp, 1 to 6 and 12
MODES = ("ionian", "mixolydian", "dorian", "aeolian", "phrygian", "locrian", "lydian")


class Scale(Struct, frozen=True):
    """A scale on no tonic in particular.

    name : short name.
    title : words for people.
    steps : semitones above the tonic, ascending from 0, all under 12.
    degrees : what musicians call each step: "1", "b3", "#4".
    source : where it comes from.
    """

    name: str
    title: str
    steps: tuple[int, ...]
    degrees: tuple[str, ...]
    source: str = ""

    def __post_init__(self) -> None:
        ascending = sorted(set(self.steps))
        if not self.steps or list(self.steps) != ascending or self.steps[0] != 0 or self.steps[-1] > 11:
            raise PitchError("pitch.scale_steps", where=Place(field=self.name), steps=self.steps)
        if len(self.degrees) != len(self.steps):
            place = Place(field=self.name)
            raise PitchError("pitch.scale_degrees", where=place, steps=len(self.steps), degrees=len(self.degrees))

    def pitch_classes(self, tonic: int) -> tuple[int, ...]:
        """Pitch classes (C = 0) of the scale on a tonic, in the order of its steps.

        >>> load_scale("blues").pitch_classes(7)
        (7, 10, 0, 1, 2, 5)
        """
        return tuple((tonic + step) % 12 for step in self.steps)


class _ScaleFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A scale as its file says it, under its name."""

    title: str
    steps: tuple[int, ...]
    degrees: tuple[str, ...]
    source: str


def parse_scales(text: str) -> Mapping[str, Scale]:
    """Read a scales file's text: a table for each scale; a PitchError names scale and field."""
    tables = read_tables(text, _ScaleFile, file="", error=PitchError)
    return MappingProxyType({name: extended(one, Scale, name=name) for name, one in tables.items()})


@cache
def _shipped() -> Mapping[str, Scale]:
    return parse_scales(shipped_text("reedpath.pitch", "scales.toml"))


def scale_names() -> tuple[str, ...]:
    """Names of the scales that ship with the program.

    >>> "mixolydian" in scale_names()
    True
    """
    return tuple(_shipped())


def load_scale(name: str) -> Scale:
    """The shipped scale of that name.

    >>> load_scale("minor-pentatonic").steps
    (0, 3, 5, 7, 10)
    """
    try:
        return _shipped()[name]
    except KeyError:
        raise PitchError("pitch.unknown_scale", name=name, known=scale_names()) from None
