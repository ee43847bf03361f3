"""Players and weights: what a level allows, and what is hard, read from data files."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from reedpath.errors import SettingsError

__all__ = ["Player", "Weights", "level_names", "load_player", "load_weights", "parse_levels", "parse_weights"]


@dataclass(frozen=True, slots=True)
class Player:
    """What a player can do.

    level : name of the level.
    draw_bends, blow_bends : depths in semitones that may be used.
    overblows, overdraws, splits, chords : whether the technique may be used.
    move_factor : how much every move weighs, 1 for a steady player.
    time_factor : how long every change takes, 1 for a steady player.
    spot_points : effort of one event from which a stretch is worth practising apart.
    rush_points : points that speed alone may add to one event before it is rushed.
    """

    level: str
    draw_bends: tuple[int, ...]
    blow_bends: tuple[int, ...]
    overblows: bool
    overdraws: bool
    splits: bool
    chords: bool
    move_factor: float = 1.0
    time_factor: float = 1.0
    spot_points: float = 2.8
    rush_points: float = 0.8

    def allowing(self, **switches: Any) -> Player:
        """The same player with some techniques switched; values of None leave a switch as it is."""
        return replace(self, **{name: value for name, value in switches.items() if value is not None})


@dataclass(frozen=True, slots=True, eq=False)
class Weights:
    """What is hard: the tables of weights.toml, by section and name. Compared by identity, so it can be a key."""

    sections: Mapping[str, Mapping[str, Any]]

    def __getitem__(self, section: str) -> Mapping[str, Any]:
        return self.sections[section]


def _toml(text: str, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"not a TOML file: {error}", where=name) from error


def _depths(value: Any, where: str) -> tuple[int, ...]:
    if not isinstance(value, list) or not all(type(one) is int and one >= 1 for one in value):
        raise SettingsError(f"{value!r} is not a list of depths in semitones from 1 up", where=where)
    return tuple(value)


def _player(level: str, data: dict[str, Any], name: str) -> Player:
    where = f"{name}, level '{level}'"
    known = set(Player.__dataclass_fields__) - {"level"}
    if set(data) != known:
        odd = sorted(set(data) ^ known)[0]
        raise SettingsError(f"field '{odd}' is {'unknown' if odd in data else 'missing'}", where=where)
    for field in ("overblows", "overdraws", "splits", "chords"):
        if not isinstance(data[field], bool):
            raise SettingsError(f"{data[field]!r} is not true or false", where=f"{where}, field '{field}'")
    for field in ("move_factor", "time_factor", "spot_points", "rush_points"):
        if not isinstance(data[field], int | float) or isinstance(data[field], bool) or data[field] <= 0:
            raise SettingsError(f"{data[field]!r} is not a number over 0", where=f"{where}, field '{field}'")
    depths = {field: _depths(data[field], f"{where}, field '{field}'") for field in ("draw_bends", "blow_bends")}
    return Player(level=level, **{**data, **depths})


def parse_levels(text: str, *, name: str = "levels.toml") -> tuple[str, Mapping[str, Player]]:
    """Read a file of levels: the default's name, and the players by name."""
    data = _toml(text, name)
    levels = data.get("levels")
    if not isinstance(levels, dict) or data.get("default") not in levels:
        raise SettingsError("a file of levels names one of its [levels.*] tables as 'default'", where=name)
    return data["default"], MappingProxyType({level: _player(level, one, name) for level, one in levels.items()})


@cache
def _shipped_levels() -> tuple[str, Mapping[str, Player]]:
    return parse_levels((files("reedpath.arrange") / "levels.toml").read_text(encoding="utf-8"))


def level_names() -> tuple[str, ...]:
    """Names of the shipped levels, from first months to advanced."""
    return tuple(_shipped_levels()[1])


def load_player(level: str | None = None) -> Player:
    """The player of a shipped level, the default one for None."""
    default, players = _shipped_levels()
    if level is not None and level not in players:
        raise SettingsError(f"no level is named {level!r}", hint=f"the levels are {', '.join(players)}")
    return players[level or default]


def _check_against(shape: Mapping[str, Any], data: Mapping[str, Any], where: str) -> None:
    for key in sorted(set(shape) | set(data)):
        here = f"{where}, key '{key}'"
        if key not in data or key not in shape:
            raise SettingsError(f"key '{key}' is {'missing' if key in shape else 'unknown'}", where=where)
        wanted, given = shape[key], data[key]
        if isinstance(wanted, dict):
            if not isinstance(given, dict):
                raise SettingsError(f"{given!r} is not a table", where=here)
            _check_against(wanted, given, here)
        elif isinstance(wanted, list):
            if not isinstance(given, list) or len(given) != len(wanted) or not all(map(_is_weight, given)):
                raise SettingsError(f"{given!r} is not a list of {len(wanted)} numbers from 0 up", where=here)
        elif not _is_weight(given):
            raise SettingsError(f"{given!r} is not a number from 0 up", where=here)


def _is_weight(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < 1e6


def parse_weights(text: str, *, name: str = "weights.toml") -> Weights:
    """Read a file of weights; it has exactly the keys of the shipped one."""
    data = _toml(text, name)
    _check_against(_toml(_shipped_text(), "weights.toml"), data, name)
    return Weights(MappingProxyType({section: MappingProxyType(table) for section, table in data.items()}))


@cache
def _shipped_text() -> str:
    return (files("reedpath.arrange") / "weights.toml").read_text(encoding="utf-8")


@cache
def load_weights() -> Weights:
    """The shipped weights."""
    return parse_weights(_shipped_text())
