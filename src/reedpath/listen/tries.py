"""Several tries in one recording: whether they get better, and what comes back in most of them.

Whether the share of notes as asked rises or falls from try to try is told where the order of the tries says so beyond
chance: the test of Mann (Econometrica 13, 1945) with Kendall's variance for ties, one-sided at 5 %. Where the line
through them begins and ends is told by Sen's slope (J. Am. Stat. Assoc. 63, 1968), which one bad try does not bend.
Both from memory. Their tempo is looked at in the same way.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from itertools import combinations, pairwise
from math import sqrt
from statistics import median

from reedpath.data import replace
from reedpath.harp import Move
from reedpath.listen.advice import OF_A_MOVE, OF_THE_WHOLE, practise_of, things_of_the_whole
from reedpath.listen.answer import PlayAnswer, Practise, Tries
from reedpath.listen.answer_kinds import FaultKind, Trend
from reedpath.listen.tempo_and_breath import NOT_KEPT

# tries of which anything is told together, and share of the route that one must hold; common practice, no source
FEWEST, LEAST_OF_ROUTE = 3, 0.5
# normal deviate of the test, one-sided at 5 %; and growth of the share of right notes that matters; ours
SURE, MATTERS = 1.645, 0.05
# kinds that are one thing wherever they come: how a move is made, and the playing as a whole; all else comes back
# only where it does so at the same note
ANYWHERE = (OF_A_MOVE - {FaultKind.ANOTHER}) | OF_THE_WHOLE
# things of a try that are looked at
MOST_THINGS = 9


def _rank_deviate(values: Sequence[float]) -> float:
    """The normal deviate by which values rise in their order, negative where they fall."""
    count = len(values)
    rises = sum((later > sooner) - (later < sooner) for sooner, later in combinations(values, 2))
    ties = sum(same * (same - 1) * (2 * same + 5) for same in Counter(values).values())
    variance = (count * (count - 1) * (2 * count + 5) - ties) / 18.0
    if variance <= 0 or rises == 0:
        return 0.0
    return (rises - (1 if rises > 0 else -1)) / sqrt(variance)


def _line_ends(values: Sequence[float], *, least: float, most: float) -> tuple[float, float]:
    """Where the line through some values begins and ends, within bounds."""
    slope = median((later - sooner) / (j - i) for (i, sooner), (j, later) in combinations(enumerate(values), 2))
    level = median(value - slope * place for place, value in enumerate(values))
    first, last = level, level + slope * (len(values) - 1)
    return min(max(first, least), most), min(max(last, least), most)


def _is_sure(values: Sequence[float], first: float, last: float) -> bool:
    """Whether values rise or fall beyond chance, as the line through them does."""
    deviate = _rank_deviate(values)
    return abs(deviate) > SURE and (last > first) == (deviate > 0)


def _is_each_further(tempos: Sequence[float]) -> bool:
    """Whether each tempo is faster than the one before by what listeners notice, or each slower."""
    steps = [later / sooner for sooner, later in pairwise(tempos)]
    return min(steps) >= 1.0 + NOT_KEPT or max(steps) <= 1.0 / (1.0 + NOT_KEPT)


def _tempo_ends(tempos: Sequence[float]) -> tuple[float, float] | tuple[None, None]:
    """Where the line through some tempos begins and ends; nothing where they neither rise nor fall.

    Three say nothing of chance, but a tempo is chosen: three that are each further than the one before are meant so.
    """
    first, last = _line_ends(tempos, least=min(tempos), most=max(tempos))
    grows = max(first, last) / min(first, last) - 1.0
    is_meant = _is_sure(tempos, first, last) or _is_each_further(tempos)
    return (first, last) if grows >= NOT_KEPT and is_meant else (None, None)


def _recurring(
    plays: Sequence[PlayAnswer], tried: Sequence[int]
) -> tuple[Practise | None, int, int | None, int | None]:
    """What most of some tries have in common, as the last of them has it; how many have it, which that is, and the
    event at which it comes back, None for what may come anywhere.
    """
    seen: dict[tuple[FaultKind, Move | None, int | None], list[tuple[int, Practise]]] = defaultdict(list)
    for number in tried:
        play = plays[number]
        whole = things_of_the_whole(play.events, play.tempo, play.air, play.swing)
        firsts: dict[tuple[FaultKind, Move | None, int | None], Practise] = {}
        for thing in practise_of(play.events, most=MOST_THINGS, whole=whole):
            if thing.kind in ANYWHERE:
                firsts.setdefault((thing.kind, thing.move, None), thing)
            else:
                share = thing.weight / len(thing.events)
                for event in thing.events:
                    here = replace(thing, events=(event,), weight=share)
                    firsts.setdefault((thing.kind, thing.move, event), here)
        for key, thing in firsts.items():
            seen[key].append((number, thing))
    if not seen:
        return None, 0, None, None
    key, most = max(seen.items(), key=lambda one: (len(one[1]), sum(thing.weight for _, thing in one[1])))
    if 2 * len(most) < len(tried):
        return None, 0, None, None
    return most[-1][1], len(most), most[-1][0], key[2]


def tries_of(plays: Sequence[PlayAnswer], route_events: int) -> Tries | None:
    """What becomes of it from try to try; None for few.

    route_events : events of the route that sound.
    """
    tried = [number for number, play in enumerate(plays) if len(play.events) >= LEAST_OF_ROUTE * route_events]
    if len(tried) < FEWEST:
        return None
    shares = [plays[number].right_share for number in tried]
    first, last = _line_ends(shares, least=0.0, most=1.0)
    trend = Trend.SAME
    if abs(last - first) >= MATTERS and _is_sure(shares, first, last):
        trend = Trend.BETTER if last > first else Trend.WORSE
    first_bpm, last_bpm = _tempo_ends([plays[number].tempo.bpm for number in tried])
    recurring, recurring_in, seen_in, recurring_at = _recurring(plays, tried)
    return Tries(
        count=len(tried),
        trend=trend,
        first_share=first,
        last_share=last,
        recurring=recurring,
        recurring_in=recurring_in,
        seen_in=seen_in,
        first_bpm=first_bpm,
        last_bpm=last_bpm,
        recurring_at=recurring_at,
    )
