"""Progress: how a job says what it is doing, without knowing who listens."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from msgspec import Struct


class ProgressStep(Struct, frozen=True):
    """A step of a job that begins.

    name : key of the step in the catalogues, under ``progress``.
    done : steps finished before it.
    total : steps in all.
    detail : which of several alike: the tempo of a play-along.
    share : about how much of the whole job's time lies before it, 0 to 1; None where that is not known.
    """

    name: str
    done: int
    total: int
    detail: str = ""
    share: float | None = None


# seconds that a job must have run, and share of it that must be over, for the rest to be told from them; ours
LEAST_SECONDS, LEAST_SHARE = 1.5, 0.02


def seconds_left(share: float | None, elapsed_seconds: float) -> float | None:
    """Seconds that the rest of a job takes if it goes on as it has so far; None where that cannot be told yet.

    >>> seconds_left(0.25, 20.0), seconds_left(0.01, 20.0), seconds_left(None, 20.0)
    (60.0, None, None)
    """
    if share is None or share < LEAST_SHARE or elapsed_seconds < LEAST_SECONDS:
        return None
    return elapsed_seconds * (1.0 - share) / share


Progress: TypeAlias = Callable[[ProgressStep], None]


def silent(step: ProgressStep) -> None:
    """Tell nobody."""
