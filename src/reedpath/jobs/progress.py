"""Progress: how a job says what it is doing, without knowing who listens."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from msgspec import Struct

__all__ = ["Progress", "ProgressStep", "silent"]


class ProgressStep(Struct, frozen=True):
    """A step of a job that begins.

    name : key of the step in the catalogues, under ``progress``.
    done : steps finished before it.
    total : steps in all.
    detail : which of several alike: the tempo of a play-along.
    """

    name: str
    done: int
    total: int
    detail: str = ""


Progress: TypeAlias = Callable[[ProgressStep], None]


def silent(step: ProgressStep) -> None:
    """Tell nobody."""
