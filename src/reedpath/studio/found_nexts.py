"""The phrases that were last found to come next for each student; not kept, since they are soon found again."""

from __future__ import annotations

from typing import Any, TypeAlias

__all__ = ["FoundNext", "FoundNexts"]

# phrases and lessons as a page shows them, by these two words
FoundNext: TypeAlias = dict[str, list[dict[str, Any]]]


class FoundNexts:
    """What was found, and on what ground: any value that changes with it."""

    def __init__(self) -> None:
        self._known: dict[int, tuple[Any, FoundNext]] = {}

    def keep(self, student: int, ground: Any, found: FoundNext) -> None:
        """Keep what was found to come next for a student."""
        self._known[student] = (ground, found)

    def of(self, student: int, ground: Any) -> FoundNext | None:
        """What was found last; None where nothing was looked for, or the ground has changed since."""
        known = self._known.get(student)
        return known[1] if known is not None and known[0] == ground else None

    def forget(self, student: int) -> None:
        """What is known of a student is forgotten."""
        self._known.pop(student, None)
