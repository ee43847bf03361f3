"""The data files that ship inside this room, read once, and the checks they have in common."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from reedpath.errors import SettingsError

__all__ = ["data_names", "data_text", "numbers_of", "parse_toml", "table_of"]

_Numbers = TypeVar("_Numbers")


@cache
def data_text(path: str) -> str:
    """Text of a data file, its path given from the room's folder."""
    return (files("reedpath.sound") / path).read_text(encoding="utf-8")


@cache
def data_names(folder: str) -> tuple[str, ...]:
    """Names, without their ending, of the TOML files in one of the room's folders, sorted."""
    entries = (files("reedpath.sound") / folder).iterdir()
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in entries if entry.name.endswith(".toml")))


def parse_toml(text: str, *, file: str) -> dict[str, Any]:
    """The tables of a data file; a syntax error names the file and the line."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"not a TOML file: {error}", where=file) from error


def table_of(data: Mapping[str, Any], key: str, *, file: str) -> dict[str, Any]:
    """The table of that key; its absence is an error that names it."""
    table = data.get(key)
    if not isinstance(table, dict):
        raise SettingsError(f"a table [{key}] is needed", where=file)
    return table


def numbers_of(kind: type[_Numbers], table: Mapping[str, Any], *, file: str, key: str) -> _Numbers:
    """A dataclass whose fields are all numbers, filled from a table that has exactly these keys."""
    names = [field.name for field in fields(kind)]  # type: ignore[arg-type]
    unknown = sorted(set(table) - set(names))
    if unknown:
        raise SettingsError(
            f"unknown key '{unknown[0]}' in [{key}]", where=file, hint=f"the keys are {', '.join(names)}"
        )
    for name in names:
        value = table.get(name)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise SettingsError(f"[{key}] {name} = {value!r}: a number is needed", where=file)
    return kind(**{name: float(table[name]) for name in names})
