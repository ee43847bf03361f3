"""Praise: one thing that truly went well, as it was measured; never the person, and nothing that was not measured.

Feedback helps on average and harms the more it turns to the self (Kluger & DeNisi, Psychological Bulletin 119, 1996);
praise for what was done serves, praise for ability does not (Mueller & Dweck, Journal of Personality and Social
Psychology 75(1), 1998); expert teachers praise seldom, and then say what (Duke's group, University of Texas).
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from reedpath.harp import Alteration
from reedpath.listen.answer import EventAnswer, PlayAnswer, Praise, Tries
from reedpath.listen.answer_kinds import BeatDivision, FaultKind, PraiseKind, Trend, Verdict

# notes right in a row that are told; bends in tune, so many and within so many cents in the middle: half of what is
# told as flat; notes over which a tempo that holds is something; ours
FEWEST_IN_A_ROW, FEWEST_BENDS, IN_TUNE_CENTS, FEWEST_IN_TIME = 4, 3, 10.0, 4
# slips that do not stop the playing
SLIPS = {FaultKind.MISSED, FaultKind.ANOTHER, FaultKind.SWAPPED}


def _longest_right(events: Sequence[EventAnswer]) -> list[EventAnswer]:
    longest: list[EventAnswer] = []
    running: list[EventAnswer] = []
    for one in events:
        if one.covered or (one.is_right and one.has_unsure_hole):  # neither right nor wrong for sure
            continue
        running = [] if one.faults else [*running, one]
        longest = max(longest, running, key=len)
    return longest


def _bends_in_tune(events: Sequence[EventAnswer]) -> list[EventAnswer]:
    """The bends that were played, where they are in tune in the middle; a shallow one has no depth to miss."""
    bends = [
        one
        for one in events
        if one.move.alteration is Alteration.BEND
        and not one.move.is_dip
        and one.verdict is Verdict.PLAYED
        and one.cents is not None
    ]
    enough = len(bends) >= FEWEST_BENDS
    return bends if enough and median(abs(one.cents or 0.0) for one in bends) <= IN_TUNE_CENTS else []


def praise_of(play: PlayAnswer, tries: Tries | None = None) -> Praise | None:
    """One thing that truly went well in a play-through, None where nothing that is measured says so.

    tries : the play-throughs of which it is one.
    """
    events = play.events
    if not any(one.faults for one in events) and not play.practise and play.right:
        return Praise(PraiseKind.ALL, play.right)
    if tries is not None and tries.trend is Trend.BETTER:
        return Praise(PraiseKind.BETTER, tries.count)
    swing = play.swing
    kept_swing = swing if swing is not None and swing.asked != 1.0 and swing.kind is None else None
    if kept_swing is not None and kept_swing.division is BeatDivision.EIGHTHS:
        return Praise(PraiseKind.SWING, kept_swing.pairs)
    bends = _bends_in_tune(events)
    if bends:
        return Praise(PraiseKind.BENDS, len(bends), tuple(one.event for one in bends))
    if kept_swing is not None:  # written out in full, so less than a bend in tune
        return Praise(PraiseKind.LONG_SHORT, kept_swing.pairs)
    row = _longest_right(events)
    if len(row) >= FEWEST_IN_A_ROW:
        return Praise(PraiseKind.ROW, len(row), tuple(one.event for one in row))
    slips = [one for one in events if any(fault.kind in SLIPS for fault in one.faults)]
    if slips and not play.play.pauses and not play.play.restarts and len(events) - len(slips) >= FEWEST_IN_A_ROW:
        return Praise(PraiseKind.WENT_ON, len(slips), tuple(one.event for one in slips))
    if play.tempo.kept and len(events) >= FEWEST_IN_TIME:
        return Praise(PraiseKind.TEMPO, len(events))
    return None
