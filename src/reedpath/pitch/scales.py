"""Scales: steps above a tonic, read from a data file that anybody can extend."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from reedpath.errors import PitchError
from reedpath.pitch._data import data_text

__all__ = ["MODES", "Scale", "load_scale", "parse_scales", "scale_names"]

# the seven church modes in the order of the positions that give them on a standard harp, 1 to 6 and 12
MODES = ("ionian", "mixolydian", "dorian", "aeolian", "phrygian", "locrian", "lydian")


@dataclass(frozen=True, slots=True)
class Scale:
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
            raise PitchError(f"steps ascend from 0 to at most 11, unlike {list(self.steps)}", where=self.name)
        if len(self.degrees) != len(self.steps):
            raise PitchError(f"{len(self.steps)} steps have {len(self.degrees)} names", where=self.name)

    def pitch_classes(self, tonic: int) -> tuple[int, ...]:
        """Pitch classes (C = 0) of the scale on a tonic, in the order of its steps.

        >>> load_scale("blues").pitch_classes(7)
        (7, 10, 0, 1, 2, 5)
        """
        return tuple((tonic + step) % 12 for step in self.steps)


def _scale(name: str, data: Any) -> Scale:
    if not isinstance(data, dict):
        raise PitchError(f"a table [{name}] is wanted", where=name)
    kinds = {"title": str, "steps": list, "degrees": list, "source": str}
    unknown = sorted(set(data) - set(kinds))
    if unknown:
        raise PitchError(f"unknown key {unknown[0]!r}", where=name, hint=f"the keys are {', '.join(kinds)}")
    for key, kind in kinds.items():
        if not isinstance(data.get(key), kind):
            raise PitchError(f"key {key!r} is missing or not of the right kind: {data.get(key)!r}", where=name)
    if not all(isinstance(step, int) and not isinstance(step, bool) for step in data["steps"]):
        raise PitchError(f"steps are whole numbers, unlike {data['steps']!r}", where=name)
    degrees = tuple(str(degree) for degree in data["degrees"])
    return Scale(name, data["title"], tuple(data["steps"]), degrees, data["source"])


def parse_scales(text: str) -> Mapping[str, Scale]:
    """Read a scales file's text: a table for each scale; a PitchError names scale and key."""
    try:
        tables = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise PitchError(f"not a TOML file: {error}") from error
    return MappingProxyType({name: _scale(name, data) for name, data in tables.items()})


@cache
def _shipped() -> Mapping[str, Scale]:
    return parse_scales(data_text("scales.toml"))


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
        raise PitchError(f"no scale is named {name!r}", hint=f"the scales are {', '.join(scale_names())}") from None
