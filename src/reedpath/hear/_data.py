"""The data files that ship inside this room, read once, and their check."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from reedpath.errors import ReedpathError

__all__ = ["data_text", "numbers_of", "parse_numbers"]


@cache
def data_text(path: str) -> str:
    """Text of a data file, its path given from the room's folder."""
    return (files("reedpath.hear") / path).read_text(encoding="utf-8")


def parse_numbers(
    text: str, table: str, names: Sequence[str], *, file: str, error: type[ReedpathError]
) -> dict[str, float]:
    """The numbers of one table of a TOML text, in the order of the names; it has exactly these keys."""
    try:
        data = tomllib.loads(text).get(table)
    except tomllib.TOMLDecodeError as problem:
        raise error(f"not a TOML file: {problem}", where=file) from problem
    if not isinstance(data, dict):
        raise error(f"a table [{table}] is needed", where=file)
    unknown = sorted(set(data) - set(names))
    if unknown:
        raise error(f"unknown key '{unknown[0]}' in [{table}]", where=file, hint=f"the keys are {', '.join(names)}")
    for name in names:
        value = data.get(name)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise error(f"[{table}] {name} = {value!r}: a number is needed", where=file)
    return {name: float(data[name]) for name in names}


def numbers_of(path: str, table: str, names: Sequence[str], *, error: type[ReedpathError]) -> dict[str, float]:
    """The numbers of one table of a data file of this room."""
    return parse_numbers(data_text(path), table, names, file=path, error=error)
