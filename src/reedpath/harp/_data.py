"""The data files of this room, those that ship and those that users write."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from reedpath.errors import ReedpathError

__all__ = ["data_names", "data_text", "toml_of"]

# longest data file that is read, characters: a tuning takes 500
LONGEST_FILE = 100_000


@cache
def data_names(folder: str) -> tuple[str, ...]:
    """Names, without their ending, of the TOML files in one of the room's folders, sorted."""
    entries = (files("reedpath.harp") / folder).iterdir()
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in entries if entry.name.endswith(".toml")))


@cache
def data_text(path: str) -> str:
    """Text of a data file, its path given from the room's folder."""
    return (files("reedpath.harp") / path).read_text(encoding="utf-8")


def toml_of(text: str, *, error: type[ReedpathError]) -> dict[str, Any]:
    """The tables of a TOML text; whatever is wrong with it is raised as that kind of error."""
    if len(text) > LONGEST_FILE:
        raise error(f"{len(text)} characters are too many: {LONGEST_FILE} at most")
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, ValueError) as problem:
        raise error(f"not a TOML file: {problem}") from problem
    except RecursionError as problem:
        raise error("not a TOML file that we read: nested too deeply") from problem
