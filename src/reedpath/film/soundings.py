"""Soundings: when holes are lit, told apart where one hole sounds twice in a row."""

from __future__ import annotations

from collections.abc import Iterable

from reedpath.arrange import Route
from reedpath.film.timeline import Sounding
from reedpath.harp import Move

__all__ = ["soundings_of"]

# seconds for which a hole goes dark before it sounds again: two frames; and the share of the note at most
DARK_SECONDS, DARK_SHARE = 0.07, 0.4


def _looks_alike(one: Move, other: Move) -> bool:
    """Whether the light would not change from one move to the other."""
    return (one.holes, one.breath, one.alteration, one.semitones) == (
        other.holes,
        other.breath,
        other.alteration,
        other.semitones,
    )


def soundings_of(route: Route, played: Iterable[Sounding]) -> tuple[Sounding, ...]:
    """What is lit, in order, from when each event begins and ends; silent events are left out.

    None outlasts the beginning of the next, and a move played twice goes dark in between.
    """
    moves = [one.choice.move for one in route.events]
    sounding = sorted((one for one in played if moves[one.event] is not None), key=lambda one: one.start_seconds)
    lit: list[Sounding] = []
    for index, one in enumerate(sounding):
        end = one.end_seconds
        if index + 1 < len(sounding):
            after = sounding[index + 1]
            move, next_move = moves[one.event], moves[after.event]
            alike = move is not None and next_move is not None and _looks_alike(move, next_move)
            dark = min(DARK_SECONDS, DARK_SHARE * (end - one.start_seconds)) if alike else 0.0
            end = min(end, after.start_seconds - dark)
        lit.append(Sounding(one.event, one.start_seconds, max(end, one.start_seconds)))
    return tuple(lit)
