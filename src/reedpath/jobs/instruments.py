"""Instruments and players, from what a person says to the values that the search takes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from reedpath.additions import added_names
from reedpath.arrange import Player, all_harps, load_player
from reedpath.errors import SettingsError, TuningError
from reedpath.harp import (
    Harp,
    Temperament,
    Tuning,
    load_temperament,
    load_tuning,
    make_harp,
    parse_scl,
    parse_temperament,
    parse_tuning,
    position_tonic,
    temperament_names,
    tuning_names,
)
from reedpath.jobs.disk import naming_file, read_text
from reedpath.pitch import Key, pitch_class_name

# semitones; the deepest bend that a reed pair of any shipped tuning allows
DEEPEST_BEND = 5


class HarpChoice(Struct, frozen=True):
    """What is said of the harp.

    key : its key, None where the survey is to choose.
    tunings : names of tunings, or files.
    temperament : a name, or a file.
    a4_hz : reference pitch, hertz.
    stretch_cents : widening of each octave, cents.
    """

    key: str | None = None
    tunings: tuple[str, ...] = ("standard",)
    temperament: str = "equal"
    a4_hz: float = 440.0
    stretch_cents: float = 0.0


class PlayerChoice(Struct, frozen=True):
    """What is said of the player: a level, and what differs from it (None for as the level has it).

    draw_bends, blow_bends : deepest bend in semitones, 0 for none.
    """

    level: str | None = None
    draw_bends: int | None = None
    blow_bends: int | None = None
    overblows: bool | None = None
    overdraws: bool | None = None
    splits: bool | None = None
    chords: bool | None = None


def _looks_like_file(text: str) -> bool:
    return "/" in text or "\\" in text or text.lower().endswith((".toml", ".scl"))


def tuning_from(text: str) -> Tuning:
    """A shipped tuning by its name, or one from a TOML file."""
    if text in tuning_names() or not _looks_like_file(text):
        return load_tuning(text)
    path = Path(text)
    with naming_file(path):
        return parse_tuning(read_text(path), name=path.stem)


def temperament_from(text: str) -> Temperament:
    """A shipped temperament by its name, or one from a Scala or TOML file."""
    if text in temperament_names() or not _looks_like_file(text):
        return load_temperament(text)
    path = Path(text)
    parse = parse_scl if path.suffix.lower() == ".scl" else parse_temperament
    with naming_file(path):
        return parse(read_text(path), name=path.stem)


def known_tunings() -> tuple[str, ...]:
    """Names of all tunings that ship or are added."""
    return (*tuning_names(), *added_names("tunings"))


def one_harp(choice: HarpChoice, *, key: str) -> Harp:
    """The harp of a key in the first of the chosen tunings."""
    return make_harp(
        key,
        tuning_from(choice.tunings[0]),
        temperament=temperament_from(choice.temperament),
        a4_hz=choice.a4_hz,
        stretch_cents=choice.stretch_cents,
    )


def chosen_harps(choice: HarpChoice, *, owned: Sequence[str] = ()) -> tuple[Harp, ...]:
    """The harps a survey is about: those owned, or all twelve keys, in each of the chosen tunings.

    owned : keys of the teacher's harps ("A", "Low F"); none for all twelve.
    """
    tunings = [tuning_from(name) for name in choice.tunings]
    temperament = temperament_from(choice.temperament)
    keys = list(owned) or [harp.name for harp in all_harps(tunings[:1])]
    return tuple(
        make_harp(key, tuning, temperament=temperament, a4_hz=choice.a4_hz, stretch_cents=choice.stretch_cents)
        for tuning in tunings
        for key in keys
    )


def key_in_position(phrase_key: Key | None, position: int) -> str:
    """Key of the harp that plays a phrase's key in a position."""
    if phrase_key is None:
        raise TuningError("jobs.position_needs_key")
    return pitch_class_name(phrase_key.tonic - position_tonic(0, position))


def _depths(deepest: int | None) -> tuple[int, ...] | None:
    if deepest is None:
        return None
    if not 0 <= deepest <= DEEPEST_BEND:
        raise SettingsError("jobs.bend_too_deep", semitones=deepest, most=DEEPEST_BEND)
    return tuple(range(1, deepest + 1))


def chosen_player(choice: PlayerChoice) -> Player:
    """The player of a level with its switches."""
    return load_player(choice.level).allowing(
        draw_bends=_depths(choice.draw_bends),
        blow_bends=_depths(choice.blow_bends),
        overblows=choice.overblows,
        overdraws=choice.overdraws,
        splits=choice.splits,
        chords=choice.chords,
    )
