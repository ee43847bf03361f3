"""The air of a play-through: what was blown and drawn, reckoned by the arranger's flow from what really sounded."""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.arrange import Weights, load_weights
from reedpath.harp import Breath, Move
from reedpath.listen.answer import Air, EventAnswer, Verdict

__all__ = ["air_of_play"]

# seconds without sound that end a stretch of one breath: time enough for a little air (half of the arranger's
# breath)
REST_SECONDS = 0.18


def _flow(move: Move, weights: Weights) -> float:
    """Litres a second into the lungs: drawing fills, blowing empties."""
    table = weights["air"]
    litres = float(table["flow_litres_per_second"]) * (1.0 + float(table["hole_share"]) * (len(move.holes) - 1))
    return litres if move.breath is Breath.DRAW else -litres


def _longest(played: Sequence[EventAnswer], breath: Breath) -> tuple[float, int | None]:
    best, best_from = 0.0, None
    start: EventAnswer | None = None
    end = 0.0
    for one in played:
        move = one.heard or one.move
        if move.breath is not breath:
            start = None
            continue
        if start is None or one.start_seconds - end > REST_SECONDS:
            start = one
        end = one.end_seconds
        if end - start.start_seconds > best:
            best, best_from = end - start.start_seconds, start.event
    return best, best_from


def air_of_play(answers: Sequence[EventAnswer], *, weights: Weights | None = None) -> Air:
    """The air of a play-through; silence lets the balance drift back to the middle, as the arranger reckons."""
    numbers = weights or load_weights()
    recovery = float(numbers["air"]["recovery_litres_per_second"])
    played = [one for one in answers if one.verdict is not Verdict.MISSED]
    net = balance = lowest = highest = 0.0
    end: float | None = None
    for one in played:
        if end is not None and one.start_seconds > end:
            drift = recovery * (one.start_seconds - end)
            balance = max(0.0, balance - drift) if balance > 0 else min(0.0, balance + drift)
        litres = _flow(one.heard or one.move, numbers) * (one.end_seconds - one.start_seconds)
        net, balance = net + litres, balance + litres
        lowest, highest = min(lowest, balance), max(highest, balance)
        end = one.end_seconds
    draw, draw_from = _longest(played, Breath.DRAW)
    blow, blow_from = _longest(played, Breath.BLOW)
    return Air(net, lowest, highest, draw, draw_from, blow, blow_from)
