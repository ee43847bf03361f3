"""Forms: the rounds of chords that a blues goes through, as data files.

A form file is TOML::

    title = "twelve-bar blues"
    mode = "major"                  # or "minor", or "any": which keys it suits
    bars = ["I7", "I7", "I7 IV7"]   # chords of each bar, sharing it evenly
    ending = ["I7"]                 # what the last bars of the last round are instead
    turns = [4, 8, 12]              # bars that lead into the next line: there the band has a fill
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Annotated, Literal

from msgspec import Meta, Struct

from reedpath.data import read_toml, shipped_names, shipped_text
from reedpath.errors import Place, SettingsError
from reedpath.harmony.chords import Chord, parse_chord
from reedpath.pitch import Key

# bars; more than any common form, a bound for hand-made files
MOST_BARS = 64
# chords that may share a bar; common practice, no source
CHORDS_IN_A_BAR = (1, 2, 4)


@dataclass(frozen=True, slots=True)
class Form:
    """A round of chords.

    name : short name, also the file's. title : words for people. mode : "major", "minor" or "any".
    bars : names of the chords of each bar. ending : the same for the end of the last round.
    turns : bars of a round, counted from 1, that lead into the next line; they come again after the last of them.
    """

    name: str
    title: str
    mode: str
    bars: tuple[tuple[str, ...], ...]
    ending: tuple[tuple[str, ...], ...] = ()
    turns: tuple[int, ...] = ()

    def turns_after(self, bar: int) -> bool:
        """Whether a bar of a round, counted from 0, leads into the next line of the form."""
        turns = self.turns or (len(self.bars),)
        return bar % turns[-1] + 1 in turns

    def chords_of_bar(self, bar: int, key: Key, *, last_round: bool = False) -> tuple[Chord, ...]:
        """Chords of a bar, counted from 0, going round the form; they share the bar evenly."""
        place = bar % len(self.bars)
        late = place - (len(self.bars) - len(self.ending))
        names = self.ending[late] if last_round and late >= 0 else self.bars[place]
        return tuple(parse_chord(name, key) for name in names)


class _FormFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A form file's text by its fields."""

    bars: Annotated[tuple[str, ...], Meta(min_length=1, max_length=MOST_BARS)]
    ending: Annotated[tuple[str, ...], Meta(max_length=MOST_BARS)] = ()
    turns: tuple[Annotated[int, Meta(ge=1, le=MOST_BARS)], ...] = ()
    mode: Literal["major", "minor", "any"] = "any"
    title: str = ""
    source: str = ""


def _chord_names(rows: Sequence[str], place: Place) -> tuple[tuple[str, ...], ...]:
    """The chords of each bar, checked."""
    for number, row in enumerate(rows, start=1):
        where = Place(bar=number).inside(place)
        if len(row.split()) not in CHORDS_IN_A_BAR:
            raise SettingsError("harmony.chords_in_a_bar", where=where, row=row)
        for name in row.split():
            try:
                parse_chord(name, Key(0))
            except SettingsError as error:
                raise error.inside(where) from None
    return tuple(tuple(row.split()) for row in rows)


def parse_form(text: str, *, name: str) -> Form:
    """Read a form file's text; errors name the file, the field and the bar."""
    file = f"{name}.toml"
    data = read_toml(text, _FormFile, file=file)
    if len(data.ending) > len(data.bars):
        raise SettingsError("harmony.long_ending", where=Place(file=file, field="ending"))
    if any(now <= before for before, now in pairwise(data.turns)):
        raise SettingsError("harmony.turns_ascend", where=Place(file=file, field="turns"))
    bars, ending = (
        _chord_names(rows, Place(file=file, field=field))
        for field, rows in (("bars", data.bars), ("ending", data.ending))
    )
    return Form(name, data.title or name, data.mode, bars, ending, data.turns)


def form_names() -> tuple[str, ...]:
    """Names of the forms that ship with the program."""
    return shipped_names("reedpath.harmony", "forms")


@cache
def load_form(name: str) -> Form:
    """The shipped form of that name."""
    if name not in form_names():
        raise SettingsError("harmony.unknown_form", name=name, known=form_names())
    return parse_form(shipped_text("reedpath.harmony", f"forms/{name}.toml"), name=name)
