"""The data files of this room that ship with the program."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

__all__ = ["data_names", "data_text"]


@cache
def data_names(folder: str) -> tuple[str, ...]:
    """Names, without their ending, of the TOML files in one of the room's folders, sorted."""
    entries = (files("reedpath.harp") / folder).iterdir()
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in entries if entry.name.endswith(".toml")))


@cache
def data_text(path: str) -> str:
    """Text of a data file, its path given from the room's folder."""
    return (files("reedpath.harp") / path).read_text(encoding="utf-8")
