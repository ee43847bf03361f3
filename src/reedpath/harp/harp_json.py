"""Harps and moves as plain data, as ``--json`` shows them."""

from __future__ import annotations

from typing import Any

from reedpath.data import as_plain, extended, replace
from reedpath.data.numbers import Midi
from reedpath.harp.harp import Harp
from reedpath.harp.moves import Move
from reedpath.harp.reed_pitch import ReedTarget, Sound, inventory, reed_targets, sound_of

# decimals of the cents written; far finer than a listener or a reed
DECIMALS = 2


class SoundingMove(Move, frozen=True):
    """A move with what it sounds on a harp.

    midi : MIDI number of each sounding hole.
    cents : of each, from equal temperament with A4 at 440 Hz.
    """

    midi: tuple[Midi, ...] = ()
    cents: tuple[float, ...] = ()


class _LimitedMove(SoundingMove, frozen=True):
    """A move with what it sounds and how far it can be pushed, cents from its ``midi``; None for natural notes."""

    limit_cents: float | None = None


def _told(sound: Sound) -> dict[str, Any]:
    return {"midi": sound.midi, "cents": tuple(round(cents, DECIMALS) for cents in sound.cents)}


def sounding_move(move: Move, harp: Harp) -> SoundingMove:
    """A move with what it sounds on a harp."""
    return extended(move, SoundingMove, **_told(sound_of(harp, move)))


def _with_limit(sound: Sound) -> dict[str, Any]:
    limit = None if sound.limit_cents is None else round(sound.limit_cents, DECIMALS)
    data: dict[str, Any] = as_plain(extended(sound.move, _LimitedMove, limit_cents=limit, **_told(sound)))
    return data


def _rounded(target: ReedTarget) -> dict[str, Any]:
    rounded = replace(target, cents=round(target.cents, DECIMALS), hz=round(target.hz, DECIMALS))
    data: dict[str, Any] = as_plain(rounded)
    return data


def harp_as_data(harp: Harp) -> dict[str, Any]:
    """
    A harp and everything it can sound as plain data: key, tuning, temperament, holes (how many), moves, reeds.

    Each move has its ``limit_cents`` beside: how far it can be pushed (see `Sound`), None for natural notes.
    """
    return {
        "key": harp.name,
        "tuning": harp.tuning.name,
        "temperament": harp.temperament.name,
        "holes": harp.tuning.holes,
        "moves": [_with_limit(sound) for sound in inventory(harp)],
        "reeds": [_rounded(target) for target in reed_targets(harp)],
    }
