"""Forms: the round of chords that a band plays, as data files.

A form file is TOML::

    title = "twelve-bar blues"
    mode = "major"                  # or "minor", or "any": which keys it suits
    bars = ["I7", "I7", "I7 IV7"]   # chords of each bar, sharing it evenly
    ending = ["I7"]                 # what the last bars of the last round are instead
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from reedpath.errors import SettingsError
from reedpath.pitch import Key
from reedpath.sound._data import data_names, data_text, parse_toml
from reedpath.sound.band.chords import Chord, parse_chord

__all__ = ["Form", "form_names", "load_form", "parse_form"]

# bars; more than any common form, a bound for hand-made files
MOST_BARS = 64
MODES = ("major", "minor", "any")
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


def _bars(data: dict[str, Any], field: str, file: str) -> tuple[tuple[str, ...], ...]:
    listed = data.get(field, [])
    if not isinstance(listed, list) or len(listed) > MOST_BARS:
        raise SettingsError(f"'{field}' lists the chords of each bar, at most {MOST_BARS}", where=file)
    found = []
    for number, text in enumerate(listed, start=1):
        names = tuple(text.split()) if isinstance(text, str) else ()
        if len(names) not in CHORDS_IN_A_BAR:
            raise SettingsError(f"bar {number} of '{field}' = {text!r}: one, two or four chords", where=file)
        for name in names:
            try:
                parse_chord(name, Key(0))
            except SettingsError as error:
                raise error.add_context(f"{file}, bar {number} of '{field}'") from error
        found.append(names)
    return tuple(found)


def parse_form(text: str, *, name: str) -> Form:
    """Read a form file's text; errors name the file, the field and the bar."""
    file = f"{name}.toml"
    data = parse_toml(text, file=file)
    unknown = sorted(set(data) - {"title", "mode", "bars", "ending", "source"})
    if unknown:
        raise SettingsError(f"unknown key '{unknown[0]}'", where=file, hint="use title, mode, bars, ending, source")
    mode = data.get("mode", "any")
    if mode not in MODES:
        raise SettingsError(f"mode = {mode!r}: {', '.join(MODES)}", where=file)
    bars, ending = _bars(data, "bars", file), _bars(data, "ending", file)
    if not bars or len(ending) > len(bars):
        raise SettingsError("a form has at least one bar, and an ending no longer than itself", where=file)
    return Form(name, str(data.get("title", name)), mode, bars, ending)


def form_names() -> tuple[str, ...]:
    """Names of the forms that ship with the program."""
    return data_names("band/forms")


@cache
def load_form(name: str) -> Form:
    """The shipped form of that name."""
    if name not in form_names():
        raise SettingsError(f"no form is named {name!r}", hint=f"the forms are {', '.join(form_names())}")
    return parse_form(data_text(f"band/forms/{name}.toml"), name=name)
