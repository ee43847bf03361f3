"""Turns: who plays which round, the harmonica or the student."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Turns"]


class Turns(StrEnum):
    """Who plays which round."""

    TOGETHER = "together"  # the harmonica plays every round
    CALL = "call"  # the harmonica plays a round, the student answers the next
    YOURS = "yours"  # the student plays alone

    def plays(self, turn: int) -> bool:
        """Whether the harmonica plays a round, counted from 0."""
        return self is Turns.TOGETHER or (self is Turns.CALL and turn % 2 == 0)
