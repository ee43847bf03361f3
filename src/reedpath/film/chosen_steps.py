"""Which steps are told while a phrase is played: the most useful ones that there is time to read.

Only what is harder than the middle of the phrase is worth telling in passing, and that a part comes again. Each
group of steps has a time in which it would have to be read, beginning a little before its note. Among all
sets of groups that do not overlap, the one with the greatest sum of weights is taken, the weight of a group being
the effort of its hardest event: weighted interval scheduling by dynamic programming (Kleinberg & Tardos,
"Algorithm Design", 2005, section 6.1).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from reedpath.arrange import Route
from reedpath.film.timeline import Saying
from reedpath.film.told import Told
from reedpath.lesson import StepKind

__all__ = ["chosen_sayings"]

# seconds before its note that a step may come, so that it is read in time; our choice
AHEAD_SECONDS = 1.0
# points of effort that any step is worth, beside those of its events; our choice
LEAST_WEIGHT = 0.5


@dataclass(frozen=True, slots=True)
class _Wish:
    """A group with the time it needs to be read in."""

    group: Told
    start: float
    end: float
    weight: float
    note_end: float


def _wishes(
    route: Route,
    groups: Sequence[Told],
    when: Callable[[int], tuple[float, float] | None],
    *,
    first: float,
    last: float,
) -> list[_Wish]:
    efforts = [one.effort.total for one in route.events]
    middle = median(efforts) if efforts else 0.0
    wishes = []
    for group in groups:
        if group.first is None or group.last is None or group.kind in (StepKind.SPOT, StepKind.LADDER):
            continue
        begins, ends = when(group.first), when(group.last)
        if begins is None or ends is None:
            continue
        effort = max(efforts[group.first : group.last + 1])
        if effort <= middle and group.kind is not StepKind.REPEAT:
            continue
        start = max(begins[0] - AHEAD_SECONDS, first)
        end = start + group.seconds
        # read before its note is over, or it would speak of what is past
        if end <= last and start <= begins[0] and end <= max(ends[1], begins[0] + AHEAD_SECONDS):
            wishes.append(_Wish(group, start, end, LEAST_WEIGHT + effort, ends[1]))
    return sorted(wishes, key=lambda wish: wish.end)


def _best(wishes: Sequence[_Wish]) -> list[_Wish]:
    """The heaviest set of wishes that do not overlap; they are in order of their ends."""
    ends = [wish.end for wish in wishes]
    best: list[tuple[float, bool, int]] = [(0.0, False, 0)]
    for place, wish in enumerate(wishes):
        before = bisect_right(ends, wish.start, 0, place)
        with_it = best[before][0] + wish.weight
        best.append((with_it, True, before) if with_it > best[place][0] else (best[place][0], False, place))
    taken, place = [], len(wishes)
    while place:
        _, is_taken, before = best[place]
        if is_taken:
            taken.append(wishes[place - 1])
        place = before
    return taken[::-1]


def chosen_sayings(
    route: Route,
    groups: Sequence[Told],
    when: Callable[[int], tuple[float, float] | None],
    *,
    first_seconds: float,
    last_seconds: float,
) -> tuple[Saying, ...]:
    """The steps told between two moments.

    when : when an event begins and ends, None where it is not played.
    """
    taken = _best(_wishes(route, groups, when, first=first_seconds, last=last_seconds))
    sayings: list[Saying] = []
    for index, wish in enumerate(taken):
        limit = taken[index + 1].start if index + 1 < len(taken) else last_seconds
        at = wish.start
        for page in wish.group.pages:
            sayings.append(Saying(wish.group.block, page.first, page.stop, at, at + page.seconds))
            at += page.seconds
        until = min(limit, max(at, wish.note_end))
        last = sayings[-1]
        sayings[-1] = Saying(last.block, last.first, last.stop, last.start_seconds, until)
    return tuple(sayings)
