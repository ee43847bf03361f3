"""Texts of tunings, temperaments and notations by their names: those that ship, and those that a user added."""

from __future__ import annotations

from reedpath.additions import added_names, added_text
from reedpath.data import shipped_names, shipped_text
from reedpath.errors import ReedpathError

_ROOM = "reedpath.harp"
# what is named first of a folder
_FIRST = {"tunings": "standard", "temperaments": "equal"}


def names_in(folder: str) -> tuple[str, ...]:
    """Names of what ships in a folder, the plain one first and the others sorted."""
    return tuple(sorted(shipped_names(_ROOM, folder), key=lambda name: name != _FIRST.get(folder)))


def named_text(folder: str, name: str, *, unknown: str, error: type[ReedpathError]) -> str:
    """The text of a name, shipped or added; an error with the key ``unknown`` for any other name."""
    if name in shipped_names(_ROOM, folder):
        return shipped_text(_ROOM, f"{folder}/{name}.toml")
    text = added_text(folder, name)
    if text is None:
        raise error(unknown, name=name, known=(*names_in(folder), *added_names(folder)))
    return text
