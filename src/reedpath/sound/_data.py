"""The data files that ship inside this room, read once."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

__all__ = ["data_names", "data_text"]


@cache
def data_text(path: str) -> str:
    """Text of a data file, its path given from the room's folder."""
    return (files("reedpath.sound") / path).read_text(encoding="utf-8")


@cache
def data_names(folder: str) -> tuple[str, ...]:
    """Names, without their ending, of the TOML files in one of the room's folders, sorted."""
    entries = (files("reedpath.sound") / folder).iterdir()
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in entries if entry.name.endswith(".toml")))
