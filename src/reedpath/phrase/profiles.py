"""Key profiles: how much each pitch class belongs to a key, as a data file with its sources."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from reedpath.errors import SettingsError

__all__ = ["KeyProfiles", "load_key_profiles", "parse_key_profiles", "profile_names"]

_FILE = "keyprofiles.toml"


@dataclass(frozen=True, slots=True)
class KeyProfiles:
    """One set of profiles; each has twelve weights, from the tonic up by semitones.

    name : of the set.
    major, minor : of the two modes.
    blues : of a blues in major, None where the set has none.
    """

    name: str
    major: tuple[float, ...]
    minor: tuple[float, ...]
    blues: tuple[float, ...] | None = None


def _weights(table: dict[str, Any], field: str, *, place: str) -> tuple[float, ...]:
    value = table.get(field)
    numbers = isinstance(value, list) and all(
        isinstance(one, int | float) and not isinstance(one, bool) for one in value
    )
    if not numbers or not isinstance(value, list) or len(value) != 12 or len(set(value)) < 2:
        raise SettingsError(f"{field!r} lists twelve weights, not all alike, not {value!r}", where=place)
    return tuple(float(one) for one in value)


def parse_key_profiles(text: str, *, name: str = _FILE) -> dict[str, KeyProfiles]:
    """The sets of a profile file's text, by name; SettingsError names file, set and field."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"not a TOML file: {error}", where=name) from error
    found: dict[str, KeyProfiles] = {}
    for key, table in data.items():
        place = f"{name}, [{key}]"
        if not isinstance(table, dict) or not table.get("source"):
            raise SettingsError("a set of profiles says its 'source'", where=place)
        unknown = sorted(set(table) - {"source", "major", "minor", "blues"})
        if unknown:
            raise SettingsError(f"unknown field {unknown[0]!r}", where=place)
        blues = table.get("blues")
        if blues is not None and not isinstance(blues, dict):
            raise SettingsError("'blues' is a table of its own, with source and weights", where=place)
        found[key] = KeyProfiles(
            key,
            _weights(table, "major", place=place),
            _weights(table, "minor", place=place),
            None if blues is None else _weights(blues, "weights", place=f"{name}, [{key}.blues]"),
        )
    return found


@cache
def _shipped() -> dict[str, KeyProfiles]:
    return parse_key_profiles((files("reedpath.phrase") / _FILE).read_text(encoding="utf-8"))


def profile_names() -> tuple[str, ...]:
    """Names of the shipped sets, the usual one first."""
    return tuple(_shipped())


def load_key_profiles(name: str) -> KeyProfiles:
    """The shipped set of that name."""
    if name not in _shipped():
        raise SettingsError(f"no key profiles are named {name!r}", hint=f"there are {', '.join(profile_names())}")
    return _shipped()[name]
