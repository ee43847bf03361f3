"""Omissions: what a reader meets and does not carry over, counted by kind."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedpath.phrase import LeftOut

__all__ = ["Omissions"]

# kinds; ours: more than a person reads
_MOST_KINDS = 60


@dataclass(slots=True)
class Omissions:
    """A list being written while a source is read: each kind once, with the place where it first stood.

    >>> omissions = Omissions()
    >>> omissions.note("lyrics", "bar 1"); omissions.note("lyrics", "bar 2")
    >>> omissions.left_out()
    (LeftOut(what='lyrics', place='bar 1', count=2),)
    """

    _places: dict[str, str] = field(default_factory=dict)
    _counts: dict[str, int] = field(default_factory=dict)

    def note(self, what: str, place: str = "", *, count: int = 1) -> None:
        """Count one more of a kind; after so many kinds all others are one."""
        if len(self._places) >= _MOST_KINDS and what not in self._places:
            what = "further things"
        self._places.setdefault(what, place)
        self._counts[what] = self._counts.get(what, 0) + count

    def left_out(self) -> tuple[LeftOut, ...]:
        """All kinds, in the order in which they were met."""
        return tuple(LeftOut(what, place, self._counts[what]) for what, place in self._places.items())
