"""Stringings: the pitch of each open string, from the letters before the lines or from words, and the capo."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache, lru_cache

import msgspec

from reedpath.data import read_tables, shipped_text
from reedpath.errors import NOWHERE, PitchError, Place, ReadError, SettingsError
from reedpath.pitch import parse_midi, parse_pitch_class
from reedpath.readers.fret_tab.layout import StringSystem
from reedpath.readers.typed_tab.heading import TypedHeading

_FILE = "stringings.toml"
_LETTER = re.compile(r"([A-Ha-h][#b]?)(\d?)")
# fret; the highest that leaves a playable neck (common practice, no source)
_HIGHEST_CAPO = 24
_NO_CAPO = ("no", "none", "without", "sans", "ohne", "keiner")


class Stringing(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Open strings of an instrument, the first string (top line of a tab) first, and what people call it."""

    title: str
    strings: tuple[str, ...]
    words: tuple[str, ...] = ()

    @property
    def midi(self) -> tuple[int, ...]:
        """MIDI number of each open string."""
        return tuple(parse_midi(string) for string in self.strings)


def parse_stringings(text: str) -> dict[str, Stringing]:
    """The stringings of a table by name; SettingsError names file, stringing and string."""
    found = read_tables(text, Stringing, file=_FILE)
    for name, one in found.items():
        try:
            _ = one.midi
        except PitchError as error:
            raise SettingsError.like(error).inside(Place(file=_FILE, field=name)) from error
    return found


@cache
def _shipped() -> dict[str, Stringing]:
    return parse_stringings(shipped_text("reedpath.readers.fret_tab", _FILE))


def _of(count: int) -> dict[str, Stringing]:
    """The stringings of so many strings, by name, the usual one first."""
    return {name: one for name, one in _shipped().items() if len(one.strings) == count}


def _usual(count: int) -> tuple[int, ...]:
    return next(iter(_of(count).values())).midi


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
    classes = [parse_pitch_class(match[1]) for match in matches if match]
    octaves = [match[2] for match in matches if match]
    same_count = [one.midi for one in _of(len(labels)).values()]
    upright = [(_distance(classes, midi), 0, midi) for midi in same_count]
    flipped = [(_distance(classes, midi[::-1]), 1, midi[::-1]) for midi in same_count]
    ways = [*([] if flip is True else upright), *([] if flip is False else flipped)]
    _, _, near = min(ways, key=lambda way: way[:2])
    return tuple(
        12 * (int(octave) + 1) + one if octave else _nearest(one, midi)
        for one, octave, midi in zip(classes, octaves, near, strict=True)
    )


@lru_cache(maxsize=256)
def stringing_of_labels(labels: tuple[str, ...], *, high_string_on_top: bool | None = None) -> tuple[int, ...]:
    """
    MIDI numbers of the open strings, top line first, from the letters before the lines (empty: as usual).

    The octave is that of the stringing the letters are nearest to; letters with octave numbers say it
    themselves. Letters from low to high turn the tab over, unless it is said which string is on top.

    >>> stringing_of_labels(tuple("eBGDAD")), stringing_of_labels(tuple("EADGBe"))
    ((64, 59, 55, 50, 45, 38), (40, 45, 50, 55, 59, 64))
    """
    flip = None if high_string_on_top is None else not high_string_on_top
    found = _spelt(labels, flip=flip)
    if found is not None:
        return found
    usual = _usual(len(labels))
    return usual[::-1] if flip else usual


def stringing_of_words(text: str, count: int, *, where: Place = NOWHERE) -> tuple[int, ...]:
    """
    MIDI numbers of the open strings, first string first, from a name ("drop D") or letters, low to high.

    >>> stringing_of_words("Drop D", 6)[-1], stringing_of_words("D A D G A D", 6)
    (38, (62, 57, 55, 50, 45, 38))

    Raises `ReadError` when the words name no stringing of that many strings.
    """
    text = re.sub(r"\(.*?\)", "", text[:200]).strip()
    lower = text.lower()
    same_count = _of(count)
    named = [one for name, one in same_count.items() if lower in (name, *one.words)]
    if named:
        return named[0].midi
    if lower.split(" ")[0] in ("standard", "normal", "regular"):
        return _usual(count)
    run_together = len(text) == count and text.isalpha()
    letters = list(text) if run_together else re.findall(r"[A-Ha-h][#b]?\d?", text)
    if len(letters) == count and not re.sub(r"[A-Ha-h][#b]?\d?|[\s,\-/]", "", text):
        spelt = _spelt(letters[::-1], flip=None)
        if spelt is not None:
            return spelt
    known = ["standard", *(one.words[0] for one in same_count.values() if one.words)]
    raise ReadError("tab.tuning_of_strings", where=where, tuning=text, count=count, known=known)


def _capo(heading: TypedHeading) -> int:
    """Fret of the capo, 0 for none."""
    text = heading.texts.get("capo", "0")
    word = text.lower().split(" ")[0]
    if word in _NO_CAPO:
        return 0
    digits = "".join(character for character in word if character in "0123456789")
    if not digits or len(digits) > 2 or int(digits) > _HIGHEST_CAPO:
        raise ReadError("tab.capo", where=heading.where("capo"), capo=text[:40], most=_HIGHEST_CAPO)
    return int(digits)


def open_strings(
    systems: Sequence[StringSystem], heading: TypedHeading, *, high_string_on_top: bool | None
) -> tuple[int, ...]:
    """
    MIDI numbers of the strings of a tab as they sound open, capo included, top line first.

    high_string_on_top : whether the top line is the highest string; None where it is not said.

    Raises `ReadError`, naming the line of a heading that means nothing, or of letters that change on the way.
    """
    labels = systems[0].labels
    found = stringing_of_labels(labels, high_string_on_top=high_string_on_top)
    for system in systems[1:]:
        if all(system.labels) and stringing_of_labels(system.labels, high_string_on_top=high_string_on_top) != found:
            raise ReadError("tab.other_letters", where=system.place)
    words = heading.texts.get("tuning")
    if words is not None:
        found = stringing_of_words(words, len(labels), where=heading.where("tuning"))
        found = found[::-1] if high_string_on_top is False else found
    raised = _capo(heading)
    return tuple(midi + raised for midi in found)
