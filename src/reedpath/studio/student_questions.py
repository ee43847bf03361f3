"""What the studio has to ask about takes that came in, and what was last found for each student; not kept."""

from __future__ import annotations

from typing import Any, TypeAlias

from msgspec import Struct

from reedpath.errors import SettingsError
from reedpath.jobs.incoming_takes import FoundTake

__all__ = ["AskedTake", "StudentQuestions"]

# phrases and lessons as a page shows them, by these two words
FoundNext: TypeAlias = dict[str, list[dict[str, Any]]]


class AskedTake(Struct, frozen=True):
    """A take of which something is not sure.

    number : by which it is asked about. upload : id of its file.
    """

    number: int
    found: FoundTake
    upload: str


class StudentQuestions:
    """Takes that are asked about, and the phrases found to come next."""

    def __init__(self) -> None:
        self._asked: dict[int, AskedTake] = {}
        self._last = 0
        self._nexts: dict[int, tuple[Any, FoundNext]] = {}

    def ask(self, found: FoundTake, upload: str) -> AskedTake:
        """Ask about one more take."""
        self._last += 1
        self._asked[self._last] = AskedTake(self._last, found, upload)
        return self._asked[self._last]

    def all(self) -> list[AskedTake]:
        """The takes that are asked about, in the order in which they came."""
        return list(self._asked.values())

    def take_out(self, number: int) -> AskedTake:
        """A take that is asked about no more; SettingsError where there is none of that number."""
        if number not in self._asked:
            raise SettingsError("shelf.no_record", number=number)
        return self._asked.pop(number)

    def forget(self, student: int) -> list[AskedTake]:
        """What is known of a student is forgotten; the takes that were asked about."""
        gone = [one for one in self._asked.values() if one.found.student == student]
        for one in gone:
            del self._asked[one.number]
        self._nexts.pop(student, None)
        return gone

    def keep_nexts(self, student: int, ground: Any, found: FoundNext) -> None:
        """Keep what was found to come next for a student, and on what ground: any value that changes with it."""
        self._nexts[student] = (ground, found)

    def nexts_of(self, student: int, ground: Any) -> FoundNext | None:
        """What was found last; None where nothing was looked for, or the ground has changed since."""
        known = self._nexts.get(student)
        return known[1] if known is not None and known[0] == ground else None
