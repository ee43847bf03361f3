"""An answer as plain data, in the documented shape of ``--json`` (docs/listening.md), version by version."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from reedpath.arrange import Spot
from reedpath.harp import Harp, Move, move_as_data
from reedpath.listen.answer import (
    Answer,
    EventAnswer,
    Extra,
    Fault,
    PlayAnswer,
    Practise,
)
from reedpath.listen.play_through import PlayThrough
from reedpath.listen.reeds import ReedHeard

__all__ = ["ANSWER_VERSION", "answer_as_data", "play_throughs_as_data"]

# of the shape; raised by one when a key changes its meaning or goes
ANSWER_VERSION = 1
# decimals of seconds, cents and shares in data; finer is not measured
SECONDS, CENTS, SHARES = 3, 1, 3


def _rounded(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(float(value), decimals)


def _move(move: Move | None, harp: Harp) -> dict[str, Any] | None:
    return None if move is None else move_as_data(move, harp)


def _fault(fault: Fault) -> dict[str, Any]:
    return {"kind": fault.kind.value, "amount": round(fault.amount, SHARES), "weight": round(fault.weight, SHARES)}


def _reed(reed: ReedHeard) -> dict[str, Any]:
    return {
        "hole": reed.hole,
        "asked": reed.asked,
        "state": reed.state.value,
        "level_db": _rounded(reed.level_db, CENTS),
        "cents": _rounded(reed.cents, CENTS),
        "confidence": round(reed.confidence, SHARES),
    }


def _named(value: Any, decimals: int = SHARES) -> dict[str, Any] | None:
    """A small value by its field names, numbers rounded."""
    if value is None:
        return None
    data = asdict(value)
    return {name: round(one, decimals) if isinstance(one, float) else one for name, one in data.items()}


def _event(one: EventAnswer, harp: Harp) -> dict[str, Any]:
    return {
        "event": one.event,
        "verdict": one.verdict.value,
        "move": _move(one.move, harp),
        "heard": _move(one.heard, harp),
        "start_seconds": round(one.start_seconds, SECONDS),
        "end_seconds": round(one.end_seconds, SECONDS),
        "cents": _rounded(one.cents, CENTS),
        "heard_cents": _rounded(one.heard_cents, CENTS),
        "bend": _named(one.bend),
        "attack": _named(one.attack),
        "fall": _named(one.fall),
        "unsteady_cents": _rounded(one.unsteady_cents, CENTS),
        "vibrato": _named(one.vibrato, CENTS),
        "late_seconds": _rounded(one.late_seconds, SECONDS),
        "late_beats": _rounded(one.late_beats, SHARES),
        "held_share": _rounded(one.held_share, SHARES),
        "confidence": round(one.confidence, SHARES),
        "faults": [_fault(fault) for fault in one.faults],
        "reeds": [_reed(reed) for reed in one.reeds],
    }


def _extra(one: Extra, harp: Harp) -> dict[str, Any]:
    return {
        "start_seconds": round(one.start_seconds, SECONDS),
        "end_seconds": round(one.end_seconds, SECONDS),
        "after": one.after,
        "again": one.again,
        "move": _move(one.move, harp),
        "cents": round(one.cents, CENTS),
    }


def _practise(one: Practise, harp: Harp) -> dict[str, Any]:
    return {
        "kind": one.kind.value,
        "events": list(one.events),
        "move": _move(one.move, harp),
        "amount": round(one.amount, SHARES),
        "weight": round(one.weight, SHARES),
    }


def _spot(spot: Spot) -> dict[str, Any]:
    return {"first_event": spot.first, "last_event": spot.last, "reasons": list(spot.reasons)}


def _play_through(play: PlayThrough) -> dict[str, Any]:
    return {
        "start_seconds": round(play.start_seconds, SECONDS),
        "end_seconds": round(play.end_seconds, SECONDS),
        "tempo_factor": round(play.tempo_factor, SHARES),
        "whole": play.whole,
        "confidence": round(play.confidence, SHARES),
        "pauses": [{"before": pause.before, "seconds": round(pause.seconds, SECONDS)} for pause in play.pauses],
        "restarts": [_named(restart) for restart in play.restarts],
    }


def _play(play: PlayAnswer, harp: Harp) -> dict[str, Any]:
    return {
        **_play_through(play.play),
        "right_share": round(play.right_share, SHARES),
        "tempo": _named(play.tempo),
        "air": _named(play.air),
        "events": [_event(one, harp) for one in play.events],
        "extras": [_extra(one, harp) for one in play.extras],
        "practise": [_practise(one, harp) for one in play.practise],
        "spots": [_spot(spot) for spot in play.spots],
    }


def answer_as_data(answer: Answer) -> dict[str, Any]:
    """An answer as data: the recording, and each play-through with every event."""
    harp = answer.route.harp
    return {
        "version": ANSWER_VERSION,
        "duration_seconds": round(answer.duration_seconds, SECONDS),
        "tuned_cents": round(answer.tuned_cents, CENTS),
        "notices": [notice.value for notice in answer.notices],
        "best": answer.best,
        "play_throughs": [_play(play, harp) for play in answer.plays],
    }


def play_throughs_as_data(plays: Sequence[PlayThrough]) -> dict[str, Any]:
    """Play-throughs as data: when each event starts and ends, and how sure that is."""
    return {
        "version": ANSWER_VERSION,
        "play_throughs": [
            {
                **_play_through(play),
                "events": [
                    {
                        "event": one.event,
                        "start_seconds": round(one.start_seconds, SECONDS),
                        "end_seconds": round(one.end_seconds, SECONDS),
                        "played": one.played,
                        "confidence": round(one.confidence, SHARES),
                    }
                    for one in play.events
                ],
            }
            for play in plays
        ],
    }
