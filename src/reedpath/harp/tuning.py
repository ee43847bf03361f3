"""Tunings: which note each reed gives, as data files anybody can write.

A tuning file is TOML::

    title = "standard major"
    key_note = "C4"                 # the note that names the harp's key
    blow = ["C4", "E4", "G4", ...]  # one note per hole
    draw = ["D4", "G4", "B4", ...]
    source = "..."
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from reedpath.errors import PitchError, TuningError
from reedpath.pitch import parse_midi

__all__ = ["Tuning", "load_tuning", "parse_tuning", "tuning_names"]

# holes; from one to the longest diatonic layouts made, 14, with room to spare (common practice)
MOST_HOLES = 24


@dataclass(frozen=True, slots=True)
class Tuning:
    """The reeds of a harp, in semitones above the note that names its key.

    name : short name, also the file's name.
    title : words for people.
    blow, draw : semitones above the key note, one per hole.
    source : where the table comes from.
    """

    name: str
    title: str
    blow: tuple[int, ...]
    draw: tuple[int, ...]
    source: str = ""

    def __post_init__(self) -> None:
        if len(self.blow) != len(self.draw) or not 1 <= len(self.blow) <= MOST_HOLES:
            raise TuningError(
                f"{len(self.blow)} blow and {len(self.draw)} draw reeds: a harp has as many of each, "
                f"1 to {MOST_HOLES}"
            )

    @property
    def holes(self) -> int:
        """How many holes."""
        return len(self.blow)


def _row(data: dict[str, Any], breath: str, key_midi: int) -> tuple[int, ...]:
    notes = data.get(breath)
    if not isinstance(notes, list) or not notes:
        raise TuningError(f"field '{breath}' must list one note per hole", where=f"field '{breath}'")
    row = []
    for hole, name in enumerate(notes, start=1):
        try:
            row.append(parse_midi(name) - key_midi)
        except (PitchError, AttributeError) as error:
            raise TuningError(
                f"{name!r} is not a note", where=f"hole {hole}, field '{breath}'", hint="write C4, Bb3, F#5"
            ) from error
    return tuple(row)


def parse_tuning(text: str, *, name: str) -> Tuning:
    """Read a tuning file's text; errors name the field and the hole."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise TuningError(f"not a TOML file: {error}") from error
    unknown = sorted(set(data) - {"title", "key_note", "blow", "draw", "source"})
    if unknown:
        raise TuningError(f"unknown field {unknown[0]!r}", hint="use title, key_note, blow, draw, source")
    try:
        key_midi = parse_midi(data.get("key_note", "C4"))
    except (PitchError, AttributeError) as error:
        raise TuningError(f"{data.get('key_note')!r} is not a note", where="field 'key_note'") from error
    return Tuning(
        name=name,
        title=str(data.get("title", name)),
        blow=_row(data, "blow", key_midi),
        draw=_row(data, "draw", key_midi),
        source=str(data.get("source", "")),
    )


@cache
def tuning_names() -> tuple[str, ...]:
    """Names of the tunings that ship with the program, the standard one first."""
    folder = files("reedpath.harp") / "tunings"
    names = sorted(
        entry.name.removesuffix(".toml") for entry in folder.iterdir() if entry.name.endswith(".toml")
    )
    return tuple(sorted(names, key=lambda name: name != "standard"))


@cache
def load_tuning(name: str) -> Tuning:
    """The shipped tuning of that name."""
    if name not in tuning_names():
        raise TuningError(f"no tuning is named {name!r}", hint=f"the tunings are {', '.join(tuning_names())}")
    text = (files("reedpath.harp") / "tunings" / f"{name}.toml").read_text(encoding="utf-8")
    return parse_tuning(text, name=name)
