"""When a sounding hole goes dark, in films and on the lesson page alike."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from reedpath.harp import Move

__all__ = ["dark_times"]

# seconds for which a hole goes dark before it sounds the same again: two frames of a film; and the share of the note
# at most; our choice
DARK_SECONDS, DARK_SHARE = 0.07, 0.4


def _looks_alike(one: Move, other: Move) -> bool:
    """Whether the light would not change from one move to the other."""
    return (one.holes, one.breath, one.alteration, one.semitones) == (
        other.holes,
        other.breath,
        other.alteration,
        other.semitones,
    )


def dark_times(moves: Sequence[Move | None], starts: Sequence[float], ends: Sequence[float]) -> list[float]:
    """
    When each event's holes go dark: never after the next ones sound, and between two equal moves a little before.

    Parameters
    ----------
    moves : of each event, None where it is silent.
    starts, ends : when each begins and ends, in seconds and in order of time.
    """
    dark = list(ends)
    sounding = [(index, move) for index, move in enumerate(moves) if move is not None]
    for (here, move), (after, next_move) in pairwise(sounding):
        gap = min(DARK_SECONDS, DARK_SHARE * (ends[here] - starts[here])) if _looks_alike(move, next_move) else 0.0
        dark[here] = max(starts[here], min(ends[here], starts[after] - gap))
    return dark
