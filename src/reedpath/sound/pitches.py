"""The pitch of a move's reeds, in hertz, as the harp's temperament has it."""

from __future__ import annotations

from reedpath.harp import Harp, Move, reed_hz, sound_of

__all__ = ["sounding_hz", "unbent_hz"]


def sounding_hz(harp: Harp, move: Move) -> tuple[float, ...]:
    """Hertz of each sounding hole of a move, in the order of the holes."""
    return sound_of(harp, move).hz


def unbent_hz(harp: Harp, move: Move) -> tuple[float, ...]:
    """Hertz of each hole's own reed; of an overbend its sounding pitch, since another reed speaks."""
    if move.alteration.is_overbend:
        return sounding_hz(harp, move)
    return tuple(reed_hz(harp, hole, move.breath) for hole in move.holes)
