"""Forms: the round of chords that a band plays, as data files, and chords as blues players say them: "I7", "bVIm7".

A form file is TOML::

    title = "twelve-bar blues"
    mode = "major"                  # or "minor", or "any": which keys it suits
    bars = ["I7", "I7", "I7 IV7"]   # chords of each bar, sharing it evenly
    ending = ["I7"]                 # what the last bars of the last round are instead
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Literal

from msgspec import Meta, Struct

from reedpath.data import read_toml
from reedpath.errors import Place, SettingsError
from reedpath.pitch import Key
from reedpath.sound._data import data_names, data_text

__all__ = ["Chord", "Form", "form_names", "load_form", "parse_chord", "parse_form"]

# semitones above the tonic of each numeral of the major scale
NUMERALS = {"I": 0, "II": 2, "III": 4, "IV": 5, "V": 7, "VI": 9, "VII": 11}
# semitones above the root of each kind of chord (any handbook of harmony)
KINDS = {
    "": (0, 4, 7),
    "6": (0, 4, 7, 9),
    "7": (0, 4, 7, 10),
    "9": (0, 4, 7, 10, 14),
    "m": (0, 3, 7),
    "m7": (0, 3, 7, 10),
}
# the kind that "*" stands for: a blues chord of the key's own mode; common practice, no source
OWN_KIND = {"major": "7", "minor": "m7"}
_CHORD = re.compile(r"(b|#)?(VII|VI|IV|V|III|II|I)(\*|m7|m|6|7|9|)")


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord in a key, as blues players name it by its place there: "I7", "IV7", "bVIm7".

    root : pitch class, 0 = C to 11 = B.
    steps : semitones above the root, ascending from 0.
    """

    root: int
    steps: tuple[int, ...]

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Pitch classes of all its notes."""
        return frozenset((self.root + step) % 12 for step in self.steps)

    @property
    def third(self) -> int:
        """Semitones of its third."""
        return self.steps[1]

    @property
    def seventh(self) -> int:
        """Semitones of its seventh, or the minor one where it has none."""
        return self.steps[3] if len(self.steps) > 3 and self.steps[3] > 9 else 10


def parse_chord(text: str, key: Key) -> Chord:
    """
    Read a chord in a key; "*" is the blues chord of the key's own mode.

    >>> parse_chord("IV7", Key(4)).root, parse_chord("I*", Key(9, "minor")).steps
    (9, (0, 3, 7, 10))
    """
    match = _CHORD.fullmatch(text)
    if match is None:
        raise SettingsError("sound.unknown_chord", name=text, kinds=[kind for kind in KINDS if kind])
    sign, numeral, kind = match.groups()
    shift = {"b": -1, "#": 1, None: 0}[sign]
    steps = KINDS[OWN_KIND[key.mode] if kind == "*" else kind]
    return Chord((key.tonic + NUMERALS[numeral] + shift) % 12, steps)


# bars; more than any common form, a bound for hand-made files
MOST_BARS = 64
# chords that may share a bar; common practice, no source
CHORDS_IN_A_BAR = (1, 2, 4)


@dataclass(frozen=True, slots=True)
class Form:
    """A round of chords.

    name : short name, also the file's. title : words for people. mode : "major", "minor" or "any".
    bars : names of the chords of each bar. ending : the same for the end of the last round.
    """

    name: str
    title: str
    mode: str
    bars: tuple[tuple[str, ...], ...]
    ending: tuple[tuple[str, ...], ...] = ()

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
    mode: Literal["major", "minor", "any"] = "any"
    title: str = ""
    source: str = ""


def _chord_names(rows: Sequence[str], place: Place) -> tuple[tuple[str, ...], ...]:
    """The chords of each bar, checked."""
    for number, row in enumerate(rows, start=1):
        where = Place(bar=number).inside(place)
        if len(row.split()) not in CHORDS_IN_A_BAR:
            raise SettingsError("sound.chords_in_a_bar", where=where, row=row)
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
        raise SettingsError("sound.long_ending", where=Place(file=file, field="ending"))
    bars, ending = (
        _chord_names(rows, Place(file=file, field=field))
        for field, rows in (("bars", data.bars), ("ending", data.ending))
    )
    return Form(name, data.title or name, data.mode, bars, ending)


def form_names() -> tuple[str, ...]:
    """Names of the forms that ship with the program."""
    return data_names("band/forms")


@cache
def load_form(name: str) -> Form:
    """The shipped form of that name."""
    if name not in form_names():
        raise SettingsError("sound.unknown_form", name=name, known=form_names())
    return parse_form(data_text(f"band/forms/{name}.toml"), name=name)
