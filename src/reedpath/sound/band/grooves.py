"""Grooves: what each player of the band does in a bar, as data files.

`grooves/shuffle.toml` tells the words of a pattern and the names of its sections. Rows of several bars go round with
the form; of several fills, turns and endings one is taken each time.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Annotated, Literal

from msgspec import Meta, Struct

from reedpath.data import read_toml, shipped_names, shipped_text
from reedpath.errors import Place, SettingsError
from reedpath.sound.band.groove_rows import GrooveBar, drum_bar, groove_bars, player_bar

PLAYERS = ("bass", "guitar", "piano")
# sections beside a usual bar; what each is for is told in `grooves/shuffle.toml`
DRUM_SECTIONS = ("second", "third", "turn", "fill", "top", "ending")
PLAYER_SECTIONS = ("second", "third", "answer", "turn", "ending")


@dataclass(frozen=True, slots=True)
class BandPlayer:
    """Bass, guitar or piano: program 0 to 127, loudness in LUFS, lowest MIDI number, bars of steps.

    sections : bars for other times than a first round's usual bar, by name; those that the groove has.
    """

    program: int
    loudness: float
    lowest: int
    bars: tuple[GrooveBar, ...]
    sections: Mapping[str, tuple[GrooveBar, ...]] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class DrumRow:
    """One drum: General MIDI percussion key, bars of steps."""

    note: int
    bars: tuple[GrooveBar, ...]


@dataclass(frozen=True, slots=True)
class Groove:
    """A way to play.

    swing : "needed", "unwanted" or "either".
    slowest_bpm, fastest_bpm : quarter notes a minute that it suits.
    drums, fill : rows of a usual bar and of the last bar of a round.
    drum_sections : rows for other times, by name; a row takes the place of the usual one of the same drum.
    has_ride_swing : whether the drums swing as a ride cymbal does at the tempo, else as the lesson does.
    auto : "any", "minor" or "never": under which forms it is taken where none is asked for.
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
    drum_sections: Mapping[str, tuple[DrumRow, ...]] = field(default_factory=dict, hash=False)
    has_ride_swing: bool = False
    auto: str = "any"


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
    swing: Literal["lesson", "ride"] = "lesson"
    rows: tuple[_DrumRowText, ...] = ()
    second: tuple[_DrumRowText, ...] = ()
    third: tuple[_DrumRowText, ...] = ()
    turn: tuple[_DrumRowText, ...] = ()
    fill: tuple[_DrumRowText, ...] = ()
    top: tuple[_DrumRowText, ...] = ()
    ending: tuple[_DrumRowText, ...] = ()


class _PlayerText(Struct, frozen=True, forbid_unknown_fields=True):
    program: Program
    loudness: Loudness
    lowest: Lowest
    bars: Rows
    second: tuple[str, ...] = ()
    third: tuple[str, ...] = ()
    answer: tuple[str, ...] = ()
    turn: tuple[str, ...] = ()
    ending: tuple[str, ...] = ()


class _GrooveFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A groove file's text by its fields."""

    bpm: tuple[Bpm, Bpm]
    drums: _DrumsText
    swing: Literal["needed", "unwanted", "either"] = "either"
    auto: Literal["any", "minor", "never"] = "any"
    title: str = ""
    bass: _PlayerText | None = None
    guitar: _PlayerText | None = None
    piano: _PlayerText | None = None


def _drum_rows(rows: tuple[_DrumRowText, ...], place: Place) -> tuple[DrumRow, ...]:
    return tuple(
        DrumRow(row.note, groove_bars(row.bars, drum_bar, Place(field=f"[{index}]").inside(place)))
        for index, row in enumerate(rows)
    )


def _player(told: _PlayerText, place: Place) -> BandPlayer:
    sections = {
        name: groove_bars(rows, player_bar, place, name) for name in PLAYER_SECTIONS if (rows := getattr(told, name))
    }
    bars = groove_bars(told.bars, player_bar, place)
    return BandPlayer(told.program, told.loudness, told.lowest, bars, sections)


def parse_groove(text: str, *, name: str) -> Groove:
    """Read a groove file's text; errors name the file, the player and the row."""
    file = f"{name}.toml"
    data = read_toml(text, _GrooveFile, file=file)
    slowest, fastest = data.bpm
    if slowest >= fastest:
        raise SettingsError(
            "sound.tempo_bounds", where=Place(file=file, field="bpm"), slowest=slowest, fastest=fastest
        )

    def drum_rows(section: str) -> tuple[DrumRow, ...]:
        return _drum_rows(getattr(data.drums, section), Place(file=file, field=f"drums.{section}"))

    players = {
        player: _player(told, Place(file=file, field=player))
        for player in PLAYERS
        if (told := getattr(data, player)) is not None
    }
    return Groove(
        name,
        data.title or name,
        data.swing,
        slowest,
        fastest,
        drum_rows("rows"),
        drum_rows("fill"),
        data.drums.loudness,
        players,
        {section: rows for section in DRUM_SECTIONS if (rows := drum_rows(section))},
        data.drums.swing == "ride",
        data.auto,
    )


def groove_names() -> tuple[str, ...]:
    """Names of the grooves that ship with the program."""
    return shipped_names("reedpath.sound", "band/grooves")


@cache
def load_groove(name: str) -> Groove:
    """The shipped groove of that name."""
    if name not in groove_names():
        raise SettingsError("sound.unknown_groove", name=name, known=groove_names())
    return parse_groove(shipped_text("reedpath.sound", f"band/grooves/{name}.toml"), name=name)
