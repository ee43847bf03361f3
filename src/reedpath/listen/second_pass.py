"""Readings: a run of events found again, knowing when each was due.

The second pass of lining up (see `align`): the same decoding with a price for missing one's time. Where several
ways to read a run are possible (a pause or a missing note, a step back or a slip), each is decoded and the one that
explains the take best is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np
import numpy.typing as npt

from reedpath.listen.expected import Score
from reedpath.listen.fit import BEST_FIT
from reedpath.listen.score_following import EventRun, SegmentFits, follow, runs_of
from reedpath.listen.segments import Hearing
from reedpath.listen.time_map import TimeMap, time_map

Float64 = npt.NDArray[np.float64]

# fit of an event, as a share of the best, at which it fits well
FITS_WELL = 0.3
# missing events at the ends of a run that still count as missing rather than as not tried
EDGE = 2
# rounds of the second pass
ROUNDS = 2
# seconds, and beats, by which an onset may miss its time before it speaks against it; the larger counts
TIME_SPREAD_SECONDS, TIME_SPREAD_BEATS = 0.05, 0.1
# what missing it costs, times the logarithm of the square of how far (a heavy tail: a pause is no impossibility)
TIME_PRICE = 1.5
# what a break of the time costs, less than a missing note; and breaks up to which each is doubted by itself
PAUSE_PRICE, MOST_DOUBTED = 1.5, 4
# onsets from either end up to which a break of the time may only show that all of them were mistaken, and those
# further in that are then doubted too; ours
MISTAKEN_AT_ENDS, DOUBTED_BEYOND = 8, 4
# seconds before a run's first event and after its last in which its missing ends are sought
MARGIN_SECONDS = 1.0
# by how much a strike too many must explain the times better as another event's, where both have one pitch: so that
# not what a player's onsets scatter by decides, but the events are taken as they come; ours
ELSEWHERE_PRICE = 1.0
# notes that must tell when what comes again was due; ours
FEWEST_IN_TIME = 5
# what a step back costs: less than two notes that were really played again; found by trial on glued takes
RESTART_PRICE = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class PassInputs:
    """What both passes share."""

    score: Score
    fits: SegmentFits
    hearing: Hearing
    written: Float64
    beats: Float64

    def onsets(self, run: EventRun) -> tuple[npt.NDArray[np.intp], Float64]:
        """Places of the events of a run, and when they begin."""
        places = np.array(list(run.spans), dtype=np.intp)
        return places, self.fits.segments.seconds[[span[0] for span in run.spans.values()]]

    def fit_share(self, place: int, span: tuple[int, int]) -> float:
        """How well an event fits its segments, as a share of the best there is."""
        segments = slice(span[0], span[1] + 1)
        frames = float(self.fits.voiced[segments].sum())
        return float(self.fits.fit[segments, self.fits.kind_of[place]].sum()) / (BEST_FIT * max(frames, 1.0))

    def settled(self, place: int, span: tuple[int, int]) -> tuple[int, int]:
        """The segments of an event without those before its sound: what rings on from another before it is struck."""
        first, last = span
        begins = self.fits.segments.begins
        later = [segment for segment in range(first, last + 1) if begins[segment]]
        if not later or later[0] == first:
            return span
        return span if self.fit_share(place, (first, later[0] - 1)) > FITS_WELL else (later[0], last)

    def mapped(self, run: EventRun, first: int, last: int, *, unbroken: frozenset[int] = frozenset()) -> TimeMap:
        """The time map of a run."""
        places, seconds = self.onsets(run)
        return time_map(self.written, self.beats, places, seconds, first=first, last=last, unbroken=unbroken)


def range_of(table: PassInputs, run: EventRun) -> tuple[int, int]:
    """Events that a run tried: those missing at the very ends of the route, or at the start of a part, included."""
    end = len(table.score) - 1
    first = run.first if run.tried_from is None else min(run.first, run.tried_from)
    return (0 if first <= EDGE else first), (end if run.last >= end - EDGE else run.last)


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """One way to read a run: its events and when they were due, and what that is worth."""

    run: EventRun
    due: TimeMap
    gain: float


def _read(table: PassInputs, run: EventRun, due: TimeMap, bounds: tuple[int, int]) -> Reading | None:
    """The run found again, knowing when its events are due; within bounds on its segments."""
    first, last = due.first, due.first + len(due.pace) - 1
    seconds, when = table.fits.segments.seconds, due.due_seconds
    begin = max(bounds[0], min(run.first_segment, int(np.searchsorted(seconds, when[0] - MARGIN_SECONDS))))
    end = min(bounds[1], max(run.last_segment + 1, int(np.searchsorted(seconds, when[-1] + MARGIN_SECONDS))))
    part = table.fits.part(slice(begin, end), slice(first, last + 1))
    spread = np.maximum(TIME_SPREAD_SECONDS, TIME_SPREAD_BEATS * table.beats[first : last + 1] * due.pace)
    at = seconds[begin:end]

    def lateness(some: slice) -> Float64:
        return np.asarray(TIME_PRICE * np.log1p(np.square((at[some, np.newaxis] - when) / spread)))

    path = follow(part, lateness=lateness)
    found = runs_of(path)
    if not found:
        return None
    best = max(found, key=lambda one: len(one.spans))
    spans = {place + first: (a + begin, b + begin) for place, (a, b) in best.spans.items()}
    settled = replace(run, spans={place: table.settled(place, span) for place, span in spans.items()})
    return Reading(settled, due, path.gain - PAUSE_PRICE * len(due.pauses))


def _without_an_end(run: EventRun, breaks: Sequence[int]) -> list[EventRun]:
    """The run without the onsets of its start or its end, where the time is broken among them.

    A figure that is mistaken for its repeat puts all of them elsewhere. The onsets that are left tell when those were
    due.

    breaks : places before which the time is broken, ascending.

    >>> run = EventRun({place: (place, place) for place in range(30)})
    >>> [(one.first, one.last) for one in _without_an_end(run, [3, 26])], _without_an_end(run, [15])
    ([(7, 29), (0, 21)], [])
    """
    if not breaks:
        return []
    places = list(run.spans)
    first, last = (places.index(place) for place in (breaks[0], breaks[-1]))
    kept = []
    if first <= MISTAKEN_AT_ENDS:
        kept.append(places[first + DOUBTED_BEYOND :])
    if len(places) - last <= MISTAKEN_AT_ENDS:
        kept.append(places[: max(0, last - DOUBTED_BEYOND)])
    return [EventRun({place: run.spans[place] for place in one}) for one in kept if len(one) > MISTAKEN_AT_ENDS]


def _struck_elsewhere(table: PassInputs, run: EventRun) -> list[EventRun]:
    """The run with a strike too many among events of one pitch in a row given to each of these in turn.

    By their pitch alone all these ways are worth the same; when the events after it come tells which it was.
    """
    begins, kinds = table.fits.segments.begins, table.fits.kind_of
    alike = groupby(enumerate(run.spans), key=lambda one: (one[1] - one[0], kinds[one[1]]))
    found = []
    for places in ([place for _, place in group] for _, group in alike):
        if len(places) == 1:
            continue
        first, last = run.spans[places[0]][0], run.spans[places[-1]][1]
        own = [run.spans[place][0] for place in places]
        strikes = sorted({*own, *(first + np.flatnonzero(begins[first : last + 1])).tolist()})
        if len(strikes) != len(places) + 1:
            continue
        for left in range(1, len(strikes)):
            kept = strikes[:left] + strikes[left + 1 :]
            if kept != own:
                spans = zip(kept, [*(at - 1 for at in kept[1:]), last], strict=True)
                found.append(EventRun({**run.spans, **dict(zip(places, spans, strict=True))}))
    return found


def _readings(table: PassInputs, run: EventRun, bounds: tuple[int, int]) -> list[tuple[float, Reading]]:
    """Ways to read a run: with every break of its time that it seems to have, with each of them doubted, with the end
    doubted that a break lies near, and with a strike too many given to another event of its pitch. Each after what it
    is worth.
    """
    first, last = range_of(table, run)
    due = table.mapped(run, first, last)
    places = frozenset(pause.before for pause in due.pauses)
    doubted = {places, *(frozenset({place}) for place in places)} if len(places) <= MOST_DOUBTED else {places}
    maps = [due, *(table.mapped(run, first, last, unbroken=doubt) for doubt in doubted if doubt)]
    maps += [table.mapped(one, first, last) for one in _without_an_end(run, sorted(places))]
    as_found = len(maps)
    maps += [table.mapped(one, first, last) for one in _struck_elsewhere(table, run)]
    readings = ((number >= as_found, _read(table, run, one, bounds)) for number, one in enumerate(maps))
    return [(one.gain - ELSEWHERE_PRICE * is_elsewhere, one) for is_elsewhere, one in readings if one is not None]


def best_reading(table: PassInputs, run: EventRun, bounds: tuple[int, int]) -> Reading:
    """The best reading of a run within bounds on its segments."""
    best: Reading | None = None
    for _ in range(ROUNDS):
        readings = _readings(table, run, bounds)
        if not readings:
            break
        best = max(readings, key=lambda one: one[0])[1]
        if best.run.spans == run.spans:  # another round would read the same
            break
        run = best.run
    if best is None:
        return Reading(run, table.mapped(run, *range_of(table, run)), -np.inf)
    unbroken = frozenset(best.run.spans) - {pause.before for pause in best.due.pauses}
    return Reading(best.run, table.mapped(best.run, *range_of(table, best.run), unbroken=unbroken), best.gain)


def read_on(table: PassInputs, before: EventRun, after: EventRun, bounds: tuple[int, int]) -> EventRun | None:
    """Two play-throughs as one, where the first goes on to the end of the route: its later events may be like its
    first, so that it seems to begin again. None where both are better read apart.

    before : without the end of the route. after : right after it, from the start of the route.
    bounds : on the segments of both.
    """
    first = best_reading(table, before, (bounds[0], after.first_segment))
    second = best_reading(table, after, (after.first_segment, bounds[1]))
    due = table.mapped(first.run, 0, len(table.score) - 1)
    joined = _read(table, first.run, due, bounds)
    return None if joined is None or joined.gain <= first.gain + second.gain else joined.run


def gone_on_in_time(table: PassInputs, before: EventRun, run: EventRun) -> EventRun | None:
    """Two runs as one, without what the second seems to play again, where it begins when its first event was due.

    Who goes back loses time; in time, what seems to come sooner is a wrong note that sounds like a later one. None
    where time was lost, or where too few notes tell.
    """
    kept = EventRun({place: span for place, span in before.spans.items() if place < run.first})
    if not FEWEST_IN_TIME <= len(kept.spans) < len(before.spans):
        return None
    due = table.mapped(kept, kept.first, run.first)
    off = abs(float(table.fits.segments.seconds[run.first_segment]) - float(due.due_seconds[-1]))
    spread = max(TIME_SPREAD_SECONDS, TIME_SPREAD_BEATS * float(table.beats[run.first] * due.pace[-1]))
    return EventRun({**kept.spans, **run.spans}) if off < spread else None


def without_false_restarts(table: PassInputs, group: list[EventRun], bounds: tuple[int, int]) -> list[EventRun]:
    """The runs of one play-through, those put together that are better read as going on with a slip than as going
    back: a wrong note may sound like one from a little before.
    """
    kept = group[:1]
    for number, run in enumerate(group[1:], start=1):
        before = kept[-1]
        begin = bounds[0] if len(kept) == 1 else before.first_segment
        end = bounds[1] if number == len(group) - 1 else group[number + 1].first_segment
        in_time = gone_on_in_time(table, before, run)
        if in_time is not None:
            kept[-1] = best_reading(table, in_time, (begin, end)).run
            continue
        onward = {place: span for place, span in run.spans.items() if place > before.last}
        joined = best_reading(table, EventRun({**before.spans, **onward}), (begin, end))
        first = best_reading(table, before, (begin, run.first_segment))
        second = best_reading(table, run, (run.first_segment, end))
        if joined.gain > first.gain + second.gain - RESTART_PRICE:
            kept[-1] = joined.run
        else:
            kept.append(run)
    return kept
