"""Tunings: which note each reed gives, as data files anybody can write.

A tuning file is TOML::

    title = "standard major"
    key_note = "C4"                 # the note that names the harp's key
    blow = ["C4", "E4", "G4", ...]  # one note per hole
    draw = ["D4", "G4", "B4", ...]
    source = "..."
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from reedpath.errors import PitchError, TuningError
from reedpath.harp._data import data_names, data_text, toml_of
from reedpath.pitch import parse_midi

__all__ = ["Tuning", "load_tuning", "parse_tuning", "tuning_names"]

# holes; from one to the longest diatonic layouts made, 14, with room to spare (common practice)
MOST_HOLES = 24
# semitones between the two reeds of a hole, beyond which a wrong octave is likelier than a tuning; common
# practice, no source: no shipped layout passes four
MOST_GAP = 12
FIELDS = ("title", "key_note", "blow", "draw", "source")


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
        raise TuningError("a list of one note per hole is wanted", where=f"field '{breath}'")
    row = []
    for hole, name in enumerate(notes, start=1):
        try:
            row.append(parse_midi(name) - key_midi)
        except (PitchError, AttributeError) as error:
            raise TuningError(
                f"{name!r} is not a note", where=f"hole {hole}, field '{breath}'", hint="write C4, Bb3, F#5"
            ) from error
    return tuple(row)


def _words(data: dict[str, Any], field: str, otherwise: str) -> str:
    words = data.get(field, otherwise)
    if not isinstance(words, str):
        raise TuningError(f"words are wanted, not {words!r}", where=f"field {field!r}")
    return words


def _check_rows(blow: tuple[int, ...], draw: tuple[int, ...]) -> None:
    if len(blow) != len(draw):
        short = "blow" if len(blow) < len(draw) else "draw"
        hole = min(len(blow), len(draw)) + 1
        raise TuningError(
            f"no note is given: {len(blow)} blow and {len(draw)} draw notes",
            where=f"hole {hole}, field '{short}'",
        )
    for hole, (low, high) in enumerate(zip(blow, draw, strict=True), start=1):
        if abs(high - low) > MOST_GAP:
            raise TuningError(
                f"the two reeds lie {abs(high - low)} semitones apart, more than {MOST_GAP}",
                where=f"hole {hole}, field 'draw'",
                hint="look at the octaves of the two notes",
            )


def parse_tuning(text: str, *, name: str) -> Tuning:
    r"""
    Read a tuning file's text; a TuningError names the field and the hole that do not hold.

    >>> parse_tuning('blow = ["C4"]\ndraw = ["D4"]', name="one hole").draw
    (2,)
    """
    data = toml_of(text, error=TuningError)
    unknown = sorted(set(data) - set(FIELDS))
    if unknown:
        raise TuningError("there is no such field", where=f"field {unknown[0]!r}", hint=f"use {', '.join(FIELDS)}")
    key_note = _words(data, "key_note", "C4")
    try:
        key_midi = parse_midi(key_note)
    except PitchError as error:
        raise TuningError(
            f"{key_note!r} is not a note", where="field 'key_note'", hint="write C4, Bb3, F#5"
        ) from error
    blow, draw = _row(data, "blow", key_midi), _row(data, "draw", key_midi)
    _check_rows(blow, draw)
    return Tuning(
        name=name,
        title=_words(data, "title", name),
        blow=blow,
        draw=draw,
        source=_words(data, "source", ""),
    )


@cache
def tuning_names() -> tuple[str, ...]:
    """Names of the tunings that ship with the program, the standard one first."""
    return tuple(sorted(data_names("tunings"), key=lambda name: name != "standard"))


@cache
def load_tuning(name: str) -> Tuning:
    """The shipped tuning of that name."""
    if name not in tuning_names():
        raise TuningError(f"no tuning is named {name!r}", hint=f"the tunings are {', '.join(tuning_names())}")
    return parse_tuning(data_text(f"tunings/{name}.toml"), name=name)
