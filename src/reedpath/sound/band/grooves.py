"""Grooves: what each player of the band does in a bar, as data files.

`grooves/shuffle.toml` tells the words of a pattern. A row cuts its bar into as many steps as it has words;
rows of several bars go round with the form.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Annotated, Literal

from msgspec import Meta, Struct

from reedpath.data import read_toml
from reedpath.errors import Place, SettingsError
from reedpath.sound._data import data_names, data_text

__all__ = ["BandPlayer", "DrumRow", "Groove", "GrooveStep", "groove_names", "load_groove", "parse_groove"]

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


# General MIDI percussion keys, programs and notes; LUFS; quarter notes a minute
DrumKey = Annotated[int, Meta(ge=27, le=87)]
Program = Annotated[int, Meta(ge=0, le=127)]
Lowest = Annotated[int, Meta(ge=20, le=90)]
Loudness = Annotated[float, Meta(ge=-60, le=-10)]
Bpm = Annotated[float, Meta(gt=0, le=1000)]
Rows = Annotated[tuple[str, ...], Meta(min_length=1)]


class _DrumRowText(Struct, frozen=True, forbid_unknown_fields=True):
    note: DrumKey
    bars: Rows


class _DrumsText(Struct, frozen=True, forbid_unknown_fields=True):
    loudness: Loudness
    rows: tuple[_DrumRowText, ...] = ()
    fill: tuple[_DrumRowText, ...] = ()


class _PlayerText(Struct, frozen=True, forbid_unknown_fields=True):
    program: Program
    loudness: Loudness
    lowest: Lowest
    bars: Rows


class _GrooveFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A groove file's text by its fields."""

    bpm: tuple[Bpm, Bpm]
    drums: _DrumsText
    swing: Literal["needed", "unwanted", "either"] = "either"
    title: str = ""
    bass: _PlayerText | None = None
    guitar: _PlayerText | None = None
    piano: _PlayerText | None = None


def _words(row: str, place: Place) -> list[str]:
    words = row.split()
    if len(words) not in STEP_COUNTS:
        raise SettingsError("sound.steps_in_a_bar", where=place, row=row, count=len(words))
    return words


def _drum_bar(row: str, place: Place) -> tuple[GrooveStep, ...]:
    words = _words(row, place)
    unit = 4.0 / len(words)
    for word in words:
        if word not in STROKES:
            raise SettingsError("sound.no_stroke", where=place, word=word, known=" ".join(STROKES))
    return tuple(
        GrooveStep(index * unit, unit, (), 0, STROKES[word], len(words))
        for index, word in enumerate(words)
        if STROKES[word]
    )


def _player_bar(row: str, place: Place) -> tuple[GrooveStep, ...]:
    words = _words(row, place)
    unit = 4.0 / len(words)
    steps: list[GrooveStep] = []
    open_step = False
    for index, word in enumerate(words):
        if word == "-" and open_step:
            steps[-1] = replace(steps[-1], length=steps[-1].length + unit)
            continue
        open_step = word not in (".", "-")
        if not open_step:
            continue
        match = _STEP.fullmatch(word)
        if match is None:
            raise SettingsError("sound.no_step", where=place, word=word)
        what = match["what"]
        degrees = tuple(int(one) for one in what.split("+")) if what[0].isdigit() else ()
        velocity = STRUCK if match["struck"] else PLAIN
        steps.append(GrooveStep(index * unit, unit, degrees, {"<": -1, ">": 1}.get(what, 0), velocity, len(words)))
    return tuple(steps)


def _bars(
    rows: Sequence[str], read: Callable[[str, Place], tuple[GrooveStep, ...]], place: Place
) -> tuple[tuple[GrooveStep, ...], ...]:
    return tuple(read(row, Place(field=f"bars[{index}]").inside(place)) for index, row in enumerate(rows))


def parse_groove(text: str, *, name: str) -> Groove:
    """Read a groove file's text; errors name the file, the player and the row."""
    file = f"{name}.toml"
    data = read_toml(text, _GrooveFile, file=file)
    slowest, fastest = data.bpm
    if slowest >= fastest:
        raise SettingsError(
            "sound.tempo_bounds", where=Place(file=file, field="bpm"), slowest=slowest, fastest=fastest
        )

    def drum_rows(field: str) -> tuple[DrumRow, ...]:
        rows = getattr(data.drums, field)
        places = [Place(file=file, field=f"drums.{field}[{index}]") for index in range(len(rows))]
        return tuple(
            DrumRow(row.note, _bars(row.bars, _drum_bar, place)) for row, place in zip(rows, places, strict=True)
        )

    players = {
        player: BandPlayer(
            told.program, told.loudness, told.lowest, _bars(told.bars, _player_bar, Place(file=file, field=player))
        )
        for player in PLAYERS
        if (told := getattr(data, player)) is not None
    }
    fill = drum_rows("fill")
    return Groove(
        name, data.title or name, data.swing, slowest, fastest, drum_rows("rows"), fill, data.drums.loudness, players
    )


def groove_names() -> tuple[str, ...]:
    """Names of the grooves that ship with the program."""
    return data_names("band/grooves")


@cache
def load_groove(name: str) -> Groove:
    """The shipped groove of that name."""
    if name not in groove_names():
        raise SettingsError("sound.unknown_groove", name=name, known=groove_names())
    return parse_groove(data_text(f"band/grooves/{name}.toml"), name=name)
