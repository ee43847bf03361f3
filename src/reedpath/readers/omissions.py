"""Omissions: what a reader meets and does not carry over, counted by kind."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

from reedpath.errors import NOWHERE, Place, plain_text
from reedpath.phrase import LeftOut

# kinds; ours: more than a person reads
_MOST_KINDS = 60


# a kind, and name and text of its values
_Noted: TypeAlias = tuple[str, tuple[tuple[str, str], ...]]


@dataclass(slots=True)
class Omissions:
    """A list being written while a source is read: each kind once, with the place where it first stood.

    >>> omissions = Omissions()
    >>> omissions.note("lyrics", Place(bar=1)); omissions.note("lyrics", Place(bar=2))
    >>> omissions.note("voice", name="alto")
    >>> [(one.what, one.place.bar, one.count) for one in omissions.left_out()]
    [('lyrics', 1, 2), ('voice alto', None, 1)]
    """

    _places: dict[_Noted, Place] = field(default_factory=dict)
    _counts: dict[_Noted, int] = field(default_factory=dict)

    def note(self, kind: str, place: Place = NOWHERE, *, count: int = 1, **values: str) -> None:
        """Count one more of a kind of `LeftOut` and its values; after so many kinds all others are one."""
        noted = (kind, tuple(sorted((name, plain_text(value)) for name, value in values.items())))
        if len(self._places) >= _MOST_KINDS and noted not in self._places:
            noted = ("further-things", ())
        self._places.setdefault(noted, place)
        self._counts[noted] = self._counts.get(noted, 0) + count

    def left_out(self) -> tuple[LeftOut, ...]:
        """All kinds, in the order in which they were met."""
        return tuple(
            LeftOut(kind, place, self._counts[kind, values], values) for (kind, values), place in self._places.items()
        )
