"""Tunings: which note each reed gives, as data files anybody can write.

A tuning file is TOML::

    title = "standard major"
    key_note = "C4"                 # the note that names the harp's key
    blow = ["C4", "E4", "G4", ...]  # one note per hole
    draw = ["D4", "G4", "B4", ...]
    source = "..."
"""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any

from msgspec import Meta, Struct
from msgspec.structs import force_setattr

from reedpath.data import read_toml
from reedpath.errors import PitchError, Place, TuningError, clean_text
from reedpath.harp.named_texts import named_text, names_in
from reedpath.pitch import parse_midi

# holes; from one to the longest diatonic layouts made, 14, with room to spare (common practice)
MOST_HOLES = 24
# semitones between the two reeds of a hole, beyond which a wrong octave is likelier than a tuning; common
# practice, no source: no shipped layout passes four
MOST_GAP = 12
# semitones above the key note, of MIDI numbers both
Reed = Annotated[int, Meta(ge=-127, le=127)]


class Tuning(Struct, frozen=True):
    """The reeds of a harp, in semitones above the note that names its key.

    name : short name, also the file's name.
    title : words for people.
    blow, draw : semitones above the key note, one per hole.
    source : where the table comes from.
    """

    name: str
    title: str
    blow: tuple[Reed, ...]
    draw: tuple[Reed, ...]
    source: str = ""

    def __post_init__(self) -> None:
        for field in ("name", "title", "source"):
            force_setattr(self, field, clean_text(getattr(self, field)))
        if len(self.blow) != len(self.draw) or not 1 <= len(self.blow) <= MOST_HOLES:
            raise TuningError("harp.reed_counts", blow=len(self.blow), draw=len(self.draw), most=MOST_HOLES)

    @property
    def holes(self) -> int:
        """How many holes."""
        return len(self.blow)


class _TuningFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A tuning as its file says it: names of notes, looked at hole by hole."""

    blow: tuple[Any, ...]
    draw: tuple[Any, ...]
    title: str = ""
    key_note: str = "C4"
    source: str = ""


def _midi(note: Any, where: Place) -> int:
    try:
        return parse_midi(str(note))
    except PitchError as error:
        raise TuningError("harp.no_note", where=where, name=str(note)) from error


def _row(notes: tuple[Any, ...], breath: str, key_midi: int) -> tuple[int, ...]:
    return tuple(_midi(note, Place(hole=hole, field=breath)) - key_midi for hole, note in enumerate(notes, start=1))


def _check_rows(blow: tuple[int, ...], draw: tuple[int, ...]) -> None:
    if len(blow) != len(draw):
        short = "blow" if len(blow) < len(draw) else "draw"
        place = Place(hole=min(len(blow), len(draw)) + 1, field=short)
        raise TuningError("harp.note_missing", where=place, blow=len(blow), draw=len(draw))
    for hole, (low, high) in enumerate(zip(blow, draw, strict=True), start=1):
        if abs(high - low) > MOST_GAP:
            place = Place(hole=hole, field="draw")
            raise TuningError("harp.reeds_far_apart", where=place, semitones=abs(high - low), most=MOST_GAP)


def parse_tuning(text: str, *, name: str) -> Tuning:
    r"""
    Read a tuning file's text; a TuningError names the field and the hole that do not hold.

    >>> parse_tuning('blow = ["C4"]\ndraw = ["D4"]', name="one hole").draw
    (2,)
    """
    data = read_toml(text, _TuningFile, file="", error=TuningError)
    key_midi = _midi(data.key_note, Place(field="key_note"))
    blow, draw = _row(data.blow, "blow", key_midi), _row(data.draw, "draw", key_midi)
    _check_rows(blow, draw)
    return Tuning(name, data.title or name, blow, draw, data.source)


@cache
def tuning_names() -> tuple[str, ...]:
    """Names of the tunings that ship with the program, the standard one first."""
    return names_in("tunings")


@cache
def load_tuning(name: str) -> Tuning:
    """The tuning of that name, shipped or added."""
    return parse_tuning(named_text("tunings", name, unknown="harp.unknown_tuning", error=TuningError), name=name)
