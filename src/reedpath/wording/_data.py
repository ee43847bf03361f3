"""The catalogues that ship inside this room, and those in a folder of the user's."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable

__all__ = ["catalogue_text", "file_names", "shipped_folder"]


def shipped_folder() -> Traversable:
    """The folder of the shipped catalogues."""
    return files("reedpath.wording")


def file_names(folder: Traversable) -> tuple[str, ...]:
    """Names, without their ending, of the TOML files in a folder, sorted."""
    names = (entry.name for entry in folder.iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in names if name.endswith(".toml")))


def catalogue_text(folder: Traversable, name: str) -> str:
    """Text of a catalogue in a folder."""
    return (folder / f"{name}.toml").read_text(encoding="utf-8")
