"""Players and weights: what a level allows, and what is hard, read from data files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Annotated, Any

from msgspec import Meta, Struct

from reedpath.data import extended, from_tables, read_toml, replace
from reedpath.errors import Place, SettingsError, Term

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


Depth = Annotated[int, Meta(ge=1)]
OverZero = Annotated[float, Meta(gt=0)]


class _PlayerFile(Struct, frozen=True, forbid_unknown_fields=True):
    """A player as a file of levels says it, under the name of the level."""

    draw_bends: tuple[Depth, ...]
    blow_bends: tuple[Depth, ...]
    overblows: bool
    overdraws: bool
    splits: bool
    chords: bool
    move_factor: OverZero
    time_factor: OverZero
    spot_points: OverZero
    rush_points: OverZero


class _LevelsFile(Struct, frozen=True, forbid_unknown_fields=True):
    default: str
    levels: dict[str, Any]


def parse_levels(text: str, *, file: str = "levels.toml") -> tuple[str, Mapping[str, Player]]:
    """Read a file of levels: the default's name, and the players by name."""
    data = read_toml(text, _LevelsFile, file=file)
    if data.default not in data.levels:
        raise SettingsError("arrange.default_level", where=Place(file=file, field="default"), name=data.default)
    players = from_tables(data.levels, _PlayerFile, error=SettingsError, where=Place(file=file, field="levels"))
    return data.default, MappingProxyType({name: extended(one, Player, level=name) for name, one in players.items()})


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
        raise SettingsError("arrange.unknown_level", name=level, known=list(players))
    return players[level or default]


def _check_against(shape: Mapping[str, Any], data: Mapping[str, Any], where: Place) -> None:
    for key in sorted(set(shape) | set(data)):
        here = Place(field=key).inside(where)
        if key not in data or key not in shape:
            raise SettingsError("data.missing" if key in shape else "data.unknown_field", where=here)
        wanted, given = shape[key], data[key]
        if isinstance(wanted, dict):
            if not isinstance(given, dict):
                raise SettingsError("data.wrong_kind", where=here, value=str(given), wanted=Term("an-object"))
            _check_against(wanted, given, here)
        elif isinstance(wanted, list):
            if not isinstance(given, list) or len(given) != len(wanted) or not all(map(_is_weight, given)):
                raise SettingsError("arrange.weights", where=here, value=str(given), count=len(wanted))
        elif not _is_weight(given):
            raise SettingsError("arrange.weight", where=here, value=str(given))


def _is_weight(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < 1e6


def parse_weights(text: str, *, file: str = "weights.toml") -> Weights:
    """Read a file of weights; it has exactly the keys of the shipped one."""
    data = read_toml(text, dict[str, Any], file=file)
    _check_against(read_toml(_shipped_text(), dict[str, Any], file="weights.toml"), data, Place(file=file))
    return Weights(MappingProxyType({section: MappingProxyType(table) for section, table in data.items()}))


@cache
def _shipped_text() -> str:
    return (files("reedpath.arrange") / "weights.toml").read_text(encoding="utf-8")


@cache
def load_weights() -> Weights:
    """The shipped weights."""
    return parse_weights(_shipped_text())
