"""The data file that ships inside this room, read once."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

__all__ = ["data_text"]


@cache
def data_text(name: str) -> str:
    """Text of a data file of the room."""
    return (files("reedpath.lesson") / name).read_text(encoding="utf-8")
