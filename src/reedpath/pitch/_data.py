"""The data files that ship inside this room, read once."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

__all__ = ["data_text"]


@cache
def data_text(path: str) -> str:
    """Text of a data file, its path given from the room's folder."""
    return (files("reedpath.pitch") / path).read_text(encoding="utf-8")
