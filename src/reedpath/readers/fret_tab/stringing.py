"""Stringings: the pitch of each open string, from the letters before the lines or from words."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from reedpath.errors import PitchError, ReadError, SettingsError
from reedpath.pitch import parse_midi, parse_pitch_class

__all__ = ["Stringing", "parse_stringings", "stringing_of_labels", "stringing_of_words"]

_FILE = "stringings.toml"
_LETTER = re.compile(r"([A-Ha-h][#b]?)(\d?)")


@dataclass(frozen=True, slots=True)
class Stringing:
    """Open strings of an instrument.

    name, title : of the stringing; empty for one spelt out by letters.
    midi : MIDI number of each open string, the first string (top line of a tab) first.
    words : what people call it.
    """

    name: str
    title: str
    midi: tuple[int, ...]
    words: tuple[str, ...] = ()


def parse_stringings(text: str, *, name: str = _FILE) -> tuple[Stringing, ...]:
    """Read a table of stringings; SettingsError names file, stringing and string."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"not a TOML file: {error}", where=name) from error
    found = []
    for key, table in data.items():
        try:
            midi = tuple(parse_midi(note) for note in table["strings"])
            found.append(Stringing(key, str(table["title"]), midi, tuple(table.get("words", ()))))
        except (PitchError, KeyError, TypeError) as error:
            raise SettingsError(
                f"a title and strings such as E4 are needed: {error}", where=f"{name}, [{key}]"
            ) from error
    return tuple(found)


@cache
def _shipped() -> tuple[Stringing, ...]:
    return parse_stringings((files("reedpath.readers.fret_tab") / _FILE).read_text(encoding="utf-8"))


def _usual(count: int) -> Stringing:
    return next(one for one in _shipped() if len(one.midi) == count)


def _pitch_class(letter: str) -> int:
    """Of a string's letter; H is the B natural of German, Dutch and Nordic players."""
    return 11 if letter.upper() == "H" else parse_pitch_class(letter)


def _nearest(pitch_class: int, midi: int) -> int:
    """The note of that pitch class nearest to another, the lower of two equally near: strings go down."""
    below = midi - (midi - pitch_class) % 12
    return below if midi - below <= 6 else below + 12


def _distance(classes: Sequence[int], midi: Sequence[int]) -> int:
    return sum(abs(_nearest(one, open_midi) - open_midi) for one, open_midi in zip(classes, midi, strict=True))


def _spelt(labels: Sequence[str], *, flip: bool | None) -> tuple[int, ...] | None:
    """Pitches of letters from the top line down; None where any is no letter."""
    matches = [_LETTER.fullmatch(label) for label in labels]
    if any(match is None for match in matches):
        return None
    classes = [_pitch_class(match[1]) for match in matches if match]
    octaves = [match[2] for match in matches if match]
    same_count = [one.midi for one in _shipped() if len(one.midi) == len(labels)]
    upright = [(_distance(classes, midi), 0, midi) for midi in same_count]
    flipped = [(_distance(classes, midi[::-1]), 1, midi[::-1]) for midi in same_count]
    ways = [*([] if flip is True else upright), *([] if flip is False else flipped)]
    _, _, near = min(ways, key=lambda way: way[:2])
    return tuple(
        12 * (int(octave) + 1) + one if octave else _nearest(one, midi)
        for one, octave, midi in zip(classes, octaves, near, strict=True)
    )


def stringing_of_labels(labels: Sequence[str], *, high_string_on_top: bool | None = None) -> tuple[int, ...]:
    """
    MIDI numbers of the open strings, top line first, from the letters before the lines (empty: as usual).

    The octave is that of the stringing the letters are nearest to; letters with octave numbers say it
    themselves. Letters from low to high turn the tab over, unless it is said which string is on top.

    >>> stringing_of_labels(list("eBGDAD")), stringing_of_labels(list("EADGBe"))
    ((64, 59, 55, 50, 45, 38), (40, 45, 50, 55, 59, 64))
    """
    flip = None if high_string_on_top is None else not high_string_on_top
    found = _spelt(labels, flip=flip)
    if found is not None:
        return found
    usual = _usual(len(labels)).midi
    return usual[::-1] if flip else usual


def stringing_of_words(text: str, count: int, *, where: str | None = None) -> tuple[int, ...]:
    """
    MIDI numbers of the open strings, first string first, from a name ("drop D") or letters, low to high.

    >>> stringing_of_words("Drop D", 6)[-1], stringing_of_words("D A D G A D", 6)
    (38, (62, 57, 55, 50, 45, 38))

    Raises
    ------
    ReadError
        When the words name no stringing of that many strings.
    """
    text = re.sub(r"\(.*?\)", "", text[:200]).strip()
    lower = text.lower()
    named = [one for one in _shipped() if len(one.midi) == count and lower in (one.name, *one.words)]
    if named:
        return named[0].midi
    if lower.split(" ")[0] in ("standard", "normal", "regular"):
        return _usual(count).midi
    run_together = len(text) == count and text.isalpha()
    letters = list(text) if run_together else re.findall(r"[A-Ha-h][#b]?\d?", text)
    if len(letters) == count and not re.sub(r"[A-Ha-h][#b]?\d?|[\s,\-/]", "", text):
        spelt = _spelt(letters[::-1], flip=None)
        if spelt is not None:
            return spelt
    known = ", ".join(one.words[0] for one in _shipped() if len(one.midi) == count and one.words)
    raise ReadError(
        f"{text!r} is no tuning of {count} strings",
        where=where,
        hint=f"write the letters from low to high, such as E A D G B E{', or ' + known if known else ''}",
    )
