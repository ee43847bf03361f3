"""The tempo of a play-through: how fast, and whether it was kept."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reedpath.listen.answer import EventAnswer, TempoHeard
from reedpath.listen.playthrough import LinedUp, PlayThrough
from reedpath.phrase import timing_of

__all__ = ["tempo_of_play"]

# growth of the tempo from which it counts as not kept: for one interval the least change that is noticed is
# about 6 %, for several about 3 % (Drake & Botte, Perception & Psychophysics 54, 1993)
NOT_KEPT = 0.06
# events and seconds under which no drift is told
LEAST_EVENTS, LEAST_SECONDS = 6, 3.0
# seconds off that count as late or early, and so not for the spread
OUTLIER_SECONDS = 0.1


def _drift(play: PlayThrough) -> float:
    """Growth of the tempo from the first event to the last, by a straight line through the logarithm of the pace."""
    at = np.array([one.due_seconds for one in play.events])
    pace = np.array([one.pace for one in play.events])
    if len(at) < LEAST_EVENTS or at[-1] - at[0] < LEAST_SECONDS:
        return 0.0
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
        kept=abs(drift) < NOT_KEPT,
        spread_ms=1000.0 * float(late.std()) if len(late) else 0.0,
    )
