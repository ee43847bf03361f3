"""Tasks of one kind: what is to be done, and what came of each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Generic, NamedTuple, TypeVar

from msgspec import Struct

Result = TypeVar("Result")


class Tasks(NamedTuple):
    """What is to be done.

    function : of a module, so that other processes find it by its name.
    items : one for each task.
    load : makes of an item what the function is called with, None where the items are that already.
    """

    function: Callable[[Any], Any]
    items: Sequence[Any]
    load: Callable[[Any], Any] | None

    def loaded(self, index: int) -> Any:
        """What the function is called with; whatever `load` raises."""
        return self.items[index] if self.load is None else self.load(self.items[index])


class TaskAnswer(Struct, Generic[Result], frozen=True, eq=False):
    """What came of a task.

    index : of its item.
    result : what the function returned, None where it failed.
    error : what it raised, or why its item could not be had; None where it did not fail.
    """

    index: int
    result: Result | None
    error: Exception | None
