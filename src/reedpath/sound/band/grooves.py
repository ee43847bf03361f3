"""Grooves: what each player of the band does in a bar, as data files.

`grooves/shuffle.toml` tells the words of a pattern. A row cuts its bar into as many steps as it has words;
rows of several bars go round with the form.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from reedpath.errors import SettingsError
from reedpath.sound._data import data_names, data_text, parse_toml, table_of

__all__ = ["BandPlayer", "DrumRow", "Groove", "GrooveStep", "groove_names", "load_groove", "parse_groove"]

SWINGS = ("needed", "unwanted", "either")
# steps that a bar of four beats may be cut into: eighths, triplets, sixteenths
STEP_COUNTS = (8, 12, 16)
# MIDI velocities of drum strokes, and of a plain and a struck note; our choice
STROKES = {"X": 112, "x": 84, "o": 52, ".": 0}
PLAIN, STRUCK = 82, 104
PLAYERS = ("bass", "guitar", "piano")
_STEP = re.compile(r"(?P<what>x|<|>|[1-9](?:\+[1-9])*)(?P<struck>!?)")


@dataclass(frozen=True, slots=True)
class GrooveStep:
    """One thing a player does.

    place, length : counted beats from the bar's start.
    degrees : degrees of the chord (1 root, 7 seventh, 8 octave); empty for the whole chord.
    lead : -1 or 1 for a note a semitone under or over the next root, 0 for none.
    velocity : 1 to 127.
    steps : how many the bar is cut into, which tells swung eighths from triplets.
    """

    place: float
    length: float
    degrees: tuple[int, ...]
    lead: int
    velocity: int
    steps: int


@dataclass(frozen=True, slots=True)
class BandPlayer:
    """Bass, guitar or piano: program 0 to 127, loudness in LUFS, lowest MIDI number, bars of steps."""

    program: int
    loudness: float
    lowest: int
    bars: tuple[tuple[GrooveStep, ...], ...]


@dataclass(frozen=True, slots=True)
class DrumRow:
    """One drum: General MIDI percussion key, bars of steps."""

    note: int
    bars: tuple[tuple[GrooveStep, ...], ...]


@dataclass(frozen=True, slots=True)
class Groove:
    """A way to play.

    swing : "needed", "unwanted" or "either".
    slowest_bpm, fastest_bpm : quarter notes a minute that it suits.
    drums, fill : rows of a usual bar and of the last bar of a round.
    """

    name: str
    title: str
    swing: str
    slowest_bpm: float
    fastest_bpm: float
    drums: tuple[DrumRow, ...]
    fill: tuple[DrumRow, ...]
    drums_loudness: float
    players: Mapping[str, BandPlayer] = field(hash=False)


def _words(row: Any, place: str) -> list[str]:
    words = row.split() if isinstance(row, str) else []
    if len(words) not in STEP_COUNTS:
        raise SettingsError(f"{row!r} has {len(words)} steps: 8, 12 or 16", where=place)
    return words


def _drum_bar(row: Any, place: str) -> tuple[GrooveStep, ...]:
    words = _words(row, place)
    unit = 4.0 / len(words)
    steps = []
    for index, word in enumerate(words):
        if word not in STROKES:
            raise SettingsError(f"{word!r} is no stroke: {' '.join(STROKES)}", where=place)
        if STROKES[word]:
            steps.append(GrooveStep(index * unit, unit, (), 0, STROKES[word], len(words)))
    return tuple(steps)


def _player_bar(row: Any, place: str) -> tuple[GrooveStep, ...]:
    words = _words(row, place)
    unit = 4.0 / len(words)
    steps: list[GrooveStep] = []
    open_step = False
    for index, word in enumerate(words):
        if word == "-" and open_step:
            last = steps[-1]
            steps[-1] = GrooveStep(last.place, last.length + unit, last.degrees, last.lead, last.velocity, last.steps)
            continue
        open_step = word not in (".", "-")
        if not open_step:
            continue
        match = _STEP.fullmatch(word)
        if match is None:
            raise SettingsError(f"{word!r} is no step", where=place, hint="write . - x < > or degrees such as 1+5")
        what = match["what"]
        degrees = tuple(int(one) for one in what.split("+")) if what[0].isdigit() else ()
        velocity = STRUCK if match["struck"] else PLAIN
        steps.append(GrooveStep(index * unit, unit, degrees, {"<": -1, ">": 1}.get(what, 0), velocity, len(words)))
    return tuple(steps)


def _bars(table: Mapping[str, Any], place: str) -> list[Any]:
    bars = table.get("bars")
    if not isinstance(bars, list) or not bars:
        raise SettingsError("'bars' lists at least one row", where=place)
    return bars


def _number(table: Mapping[str, Any], key: str, place: str, low: float, high: float) -> float:
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise SettingsError(f"{key} = {value!r}: a number from {low:g} to {high:g}", where=place)
    return float(value)


def _rows(data: Mapping[str, Any], key: str, file: str) -> tuple[DrumRow, ...]:
    listed = data.get(key, [])
    if not isinstance(listed, list):
        raise SettingsError(f"'{key}' lists rows", where=f"{file}, [drums]")
    rows = []
    for number, table in enumerate(listed, start=1):
        place = f"{file}, [drums] {key} {number}"
        note = int(_number(table, "note", place, 27, 87))
        rows.append(DrumRow(note, tuple(_drum_bar(row, place) for row in _bars(table, place))))
    return tuple(rows)


def _player(table: Mapping[str, Any], place: str) -> BandPlayer:
    return BandPlayer(
        int(_number(table, "program", place, 0, 127)),
        _number(table, "loudness", place, -60, -10),
        int(_number(table, "lowest", place, 20, 90)),
        tuple(_player_bar(row, place) for row in _bars(table, place)),
    )


def _tempo_bounds(data: Mapping[str, Any], file: str) -> tuple[float, float]:
    bounds = data.get("bpm", [])
    numeric = isinstance(bounds, list) and len(bounds) == 2 and all(isinstance(one, int | float) for one in bounds)
    if not numeric or not 0 < bounds[0] < bounds[1]:
        raise SettingsError(f"bpm = {bounds!r}: the slowest and the fastest tempo", where=file)
    return float(bounds[0]), float(bounds[1])


def parse_groove(text: str, *, name: str) -> Groove:
    """Read a groove file's text; errors name the file, the player and the row."""
    file = f"{name}.toml"
    data = parse_toml(text, file=file)
    unknown = sorted(set(data) - {"title", "swing", "bpm", "drums", *PLAYERS})
    if unknown:
        raise SettingsError(f"unknown key '{unknown[0]}'", where=file)
    swing = data.get("swing", "either")
    if swing not in SWINGS:
        raise SettingsError(f"swing = {swing!r}: {', '.join(SWINGS)}", where=file)
    slowest, fastest = _tempo_bounds(data, file)
    drums = table_of(data, "drums", file=file)
    return Groove(
        name,
        str(data.get("title", name)),
        swing,
        slowest,
        fastest,
        _rows(drums, "rows", file),
        _rows(drums, "fill", file),
        _number(drums, "loudness", f"{file}, [drums]", -60, -10),
        {one: _player(table_of(data, one, file=file), f"{file}, [{one}]") for one in PLAYERS if one in data},
    )


def groove_names() -> tuple[str, ...]:
    """Names of the grooves that ship with the program."""
    return data_names("band/grooves")


@cache
def load_groove(name: str) -> Groove:
    """The shipped groove of that name."""
    if name not in groove_names():
        raise SettingsError(f"no groove is named {name!r}", hint=f"the grooves are {', '.join(groove_names())}")
    return parse_groove(data_text(f"band/grooves/{name}.toml"), name=name)
