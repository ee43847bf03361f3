"""Asking whether a harp can play a move, and saying what it can."""

from __future__ import annotations

from reedpath.errors import NotationError
from reedpath.harp.moves import Alteration, Move
from reedpath.harp.reach import MOST_SPLIT_SPAN, reach_of
from reedpath.harp.tuning import Tuning

__all__ = ["check_move", "holes_exist", "possible_at"]


def holes_exist(holes: tuple[int, ...], most: int) -> None:
    """Raise NotationError where a hole lies beyond the last one, ``most``."""
    for hole in holes:
        if not 1 <= hole <= most:
            raise NotationError(f"there is no hole {hole}: this harp has {most}", where=f"hole {hole}")


def _word(move: Move) -> str:
    if move.alteration is Alteration.NATURAL:
        return move.breath.value
    if move.alteration is Alteration.BEND:
        depth = f"bent {-move.semitones}" if move.semitones else "bent less than 1"
        return f"{move.breath.value} {depth} semitone{'s' if move.semitones < -1 else ''}"
    return move.alteration.value


def possible_at(hole: int, tuning: Tuning) -> str:
    """All that a hole sounds alone, in words for an error."""
    return ", ".join(_word(move) for move in reach_of(tuning).single if move.holes == (hole,))


def check_move(move: Move, tuning: Tuning) -> None:
    """
    Raise NotationError, naming the hole and what it can do, if no harp of that tuning can play the move.

    The embouchure is not asked; a chord may be as wide as the harp, a split as wide as the tongue reaches.

    >>> from reedpath.harp import Breath, load_tuning
    >>> check_move(Move((12,), Breath.DRAW), load_tuning("standard"))
    Traceback (most recent call last):
    ...
    reedpath.errors.NotationError: hole 12: there is no hole 12: this harp has 10
    """
    holes_exist(move.holes, tuning.holes)
    if len(move.holes) > 1:
        span = move.holes[-1] - move.holes[0] + 1
        if move.is_split and span > MOST_SPLIT_SPAN:
            raise NotationError(
                f"a split spans up to {MOST_SPLIT_SPAN} holes, not {span}", where=f"hole {move.holes[0]}"
            )
        return
    plain = Move(move.holes, move.breath, move.alteration, move.semitones)
    if plain not in reach_of(tuning).single:
        hole = move.holes[0]
        raise NotationError(f"no {_word(move)} here, only {possible_at(hole, tuning)}", where=f"hole {hole}")
