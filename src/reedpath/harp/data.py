"""Harps and moves as plain data, the shapes of ``--json``."""

from __future__ import annotations

from typing import Any

from reedpath.harp.harp import Harp
from reedpath.harp.moves import Move
from reedpath.harp.reed_pitch import Sound, inventory, sound_of

__all__ = ["harp_as_data", "move_as_data"]

# decimals of the cents written; far finer than a listener or a reed
DECIMALS = 2


def _sound_as_data(sound: Sound) -> dict[str, Any]:
    move = sound.move
    return {
        "holes": list(move.holes),
        "breath": move.breath.value,
        "alteration": move.alteration.value,
        "semitones": move.semitones,
        "midi": list(sound.midi),
        "cents": [round(cents, DECIMALS) for cents in sound.cents],
        "embouchure": move.embouchure.value,
    }


def move_as_data(move: Move, harp: Harp) -> dict[str, Any]:
    """
    A move on a harp as plain data.

    Keys: holes (1-based), breath ("blow", "draw"), alteration ("natural", "bend", "overblow", "overdraw"),
    semitones (from the natural note), midi and cents (from equal temperament, A4 = 440 Hz) per sounding
    hole, embouchure ("pucker", "tongue-block").

    >>> from reedpath.harp import Breath, make_harp
    >>> move_as_data(Move((4,), Breath.DRAW), make_harp("A"))["midi"]
    [71]
    """
    return _sound_as_data(sound_of(harp, move))


def _with_limit(sound: Sound) -> dict[str, Any]:
    limit = sound.limit_cents
    return _sound_as_data(sound) | {"limit_cents": None if limit is None else round(limit, DECIMALS)}


def harp_as_data(harp: Harp) -> dict[str, Any]:
    """
    A harp and everything it can sound as plain data: key, tuning, temperament, holes (how many), moves.

    Each move has its ``limit_cents`` beside: how far it can be pushed (see `Sound`), None for natural notes.
    """
    return {
        "key": harp.name,
        "tuning": harp.tuning.name,
        "temperament": harp.temperament.name,
        "holes": harp.tuning.holes,
        "moves": [_with_limit(sound) for sound in inventory(harp)],
    }
