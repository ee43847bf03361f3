"""Tempo and breath of a play-through: how fast and whether that was kept; what was blown and drawn."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from reedpath.arrange import Weights, load_weights
from reedpath.harp import Breath, Move
from reedpath.listen.answer import BreathBalance, EventAnswer, TempoHeard
from reedpath.listen.answer_kinds import Verdict
from reedpath.listen.play_through import LinedUp, PlayThrough
from reedpath.listen.swaying_tempo import SWAYS
from reedpath.phrase import timing_of

# growth of the tempo from which it counts as not kept: for one interval the least change that is noticed is
# about 6 %, for several about 3 % (Drake & Botte, Perception & Psychophysics 54, 1993)
NOT_KEPT = 0.06
# events and seconds under which no drift is told
LEAST_EVENTS, LEAST_SECONDS = 6, 3.0
# seconds off that count as late or early, and so not for the spread
OUTLIER_SECONDS = 0.1
# seconds without sound that end a stretch of one breath: time enough for a little air (half of the arranger's
# breath)
REST_SECONDS = 0.18


def _drift(play: PlayThrough) -> float:
    """Growth of the tempo from the first event to the last: that of all onsets, or where the player went back, by a
    straight line through the logarithm of the pace.
    """
    at = np.array([one.due_seconds for one in play.events])
    pace = np.array([one.pace for one in play.events])
    if len(at) < LEAST_EVENTS or at[-1] - at[0] < LEAST_SECONDS:
        return 0.0
    if play.tempo_growth is not None:
        return play.tempo_growth
    slope = float(np.polyfit(at, np.log(pace), 1)[0])
    return float(np.expm1(-slope * (at[-1] - at[0])))


def tempo_of_play(lined_up: LinedUp, play: PlayThrough, answers: Sequence[EventAnswer]) -> TempoHeard:
    """The tempo of a play-through."""
    phrase = lined_up.route.phrase
    first = phrase.events[play.first].onset
    late = np.array([one.late_seconds for one in answers if one.late_seconds is not None])
    late = late[np.abs(late) < OUTLIER_SECONDS]
    drift = _drift(play)
    return TempoHeard(
        factor=play.tempo_factor,
        bpm=timing_of(phrase).bpm_at(first) * play.tempo_factor,
        drift=drift,
        kept=abs(drift) < NOT_KEPT and play.tempo_sway < SWAYS,
        spread_ms=1000.0 * float(late.std()) if len(late) else 0.0,
        sway=min(1.0, max(0.0, play.tempo_sway)),
    )


def _flow(move: Move, weights: Weights) -> float:
    """Litres a second into the lungs: drawing fills, blowing empties."""
    table = weights.air
    litres = table.flow_litres_per_second * (1.0 + table.hole_share * (len(move.holes) - 1))
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


class _Furthest(NamedTuple):
    """Where a balance is furthest from the middle: at the end of which event, and after which there was a rest."""

    litres: float = 0.0
    event: int | None = None
    rest: int | None = None


def breath_of_play(answers: Sequence[EventAnswer], *, weights: Weights | None = None) -> BreathBalance:
    """The air of a play-through, by the arranger's flow from what really sounded.

    Silence lets the balance drift back to the middle, as the arranger reckons.
    """
    numbers = weights or load_weights()
    recovery = numbers.air.recovery_litres_per_second
    played = [one for one in answers if one.verdict is not Verdict.MISSED]
    net = balance = 0.0
    lowest, highest, last_rest = _Furthest(), _Furthest(), None
    before: EventAnswer | None = None
    for one in played:
        if before is not None and one.start_seconds > before.end_seconds:
            gap = one.start_seconds - before.end_seconds
            balance = max(0.0, balance - recovery * gap) if balance > 0 else min(0.0, balance + recovery * gap)
            last_rest = before.event if gap > REST_SECONDS else last_rest
        litres = _flow(one.heard or one.move, numbers) * (one.end_seconds - one.start_seconds)
        net, balance = net + litres, balance + litres
        if balance < lowest.litres:
            lowest = _Furthest(balance, one.event, last_rest)
        if balance > highest.litres:
            highest = _Furthest(balance, one.event, last_rest)
        before = one
    draw, draw_from = _longest(played, Breath.DRAW)
    blow, blow_from = _longest(played, Breath.BLOW)
    return BreathBalance(
        net_litres=net,
        lowest_litres=lowest.litres,
        highest_litres=highest.litres,
        longest_draw_seconds=draw,
        longest_draw_from=draw_from,
        longest_blow_seconds=blow,
        longest_blow_from=blow_from,
        fullest_at=highest.event,
        emptiest_at=lowest.event,
        rest_to_fullest=highest.rest,
        rest_to_emptiest=lowest.rest,
    )
