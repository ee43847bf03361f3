"""Bounds of play-throughs: where one ends and the next begins, where the route ends on the pitch it begins with.

The first pass of lining up knows no times, so it may take the end of a long last note for the beginning of the next
play-through: a drum, or another player's chord, seems to strike it anew. Then the next one seems to stop after its
first notes. When the times of both are known, it is asked whether it begins where its own later notes let expect it,
and the reading of both together decides.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reedpath.listen.score_following import EventRun
from reedpath.listen.second_pass import PassInputs, Reading, best_reading

# events at the start of a play-through that may belong to the one before, and events after them that tell its time
MOST_TAKEN, FEWEST_KEPT = 4, 4
# seconds within which a cut of the take is the moment where it begins, and by which it must have begun too soon
NEAR_SECONDS, SOONER_SECONDS = 0.12, 0.14


def _later(run: EventRun, count: int) -> EventRun:
    """A run without its first events."""
    return EventRun(dict(list(run.spans.items())[count:]))


def _begin_segment(table: PassInputs, run: EventRun, count: int) -> int | None:
    """The segment at which a run begins as all but its first events let expect; None where none lies there."""
    kept = _later(run, count)
    if len(kept.spans) < FEWEST_KEPT:
        return None
    due = table.mapped(kept, run.first, run.last).due_seconds[0]
    seconds = table.fits.segments.seconds
    nearest = int(np.abs(seconds - due).argmin())
    is_sooner = seconds[run.first_segment] < due - SOONER_SECONDS
    return nearest if is_sooner and abs(seconds[nearest] - due) < NEAR_SECONDS else None


def _begun_at(run: EventRun, segment: int) -> EventRun | None:
    """A run without what lies before a segment; its first event begins there, or the one that sounds."""
    kept = {place: (max(first, segment), last) for place, (first, last) in run.spans.items() if last >= segment}
    return EventRun(kept) if kept else None


def _held_until(run: EventRun, segment: int) -> EventRun:
    """A run whose last event may sound until a segment."""
    first, last = run.spans[run.last]
    return EventRun({**run.spans, run.last: (first, max(last, segment - 1))})


def _with_last(before: EventRun, run: EventRun, count: int) -> EventRun:
    """A run that lacks only the route's last event, with it: where the next begins, which may be its sound."""
    if before.last != count - 2 or run.first != 0:
        return before
    return EventRun({**before.spans, count - 1: (run.first_segment, run.first_segment)})


def _together(table: PassInputs, before: EventRun, run: EventRun, bounds: tuple[int, int, int]) -> list[Reading]:
    """Readings of two runs, which lie before and after the middle bound."""
    return [
        best_reading(table, before, (bounds[0], bounds[1])),
        best_reading(table, run, (bounds[1], bounds[2])),
    ]


def _settled(
    table: PassInputs, befores: tuple[EventRun, EventRun], run: EventRun, bounds: tuple[int, int, int]
) -> tuple[EventRun, EventRun] | None:
    """Two runs in a row of which the first goes on longer, None where they are better as they are.

    befores : the first as it is, and with the last event, whose sound the next may have taken.
    """
    before, held = befores
    seconds = table.fits.segments.seconds
    found = {_begin_segment(table, run, count) for count in range(1, MOST_TAKEN + 1)} - {None}
    moved = [segment for segment in found if segment is not None and segment > run.first_segment]
    if not moved or seconds[run.first_segment] - seconds[before.last_segment] < 0.0:
        return None
    told = _together(table, before, run, bounds)
    gain, best = sum(one.gain for one in told), None
    for segment in moved:
        later = _begun_at(run, segment)
        if later is None:
            continue
        readings = _together(table, _held_until(held, segment), later, (bounds[0], segment, bounds[2]))
        if sum(one.gain for one in readings) > gain:
            gain, best = sum(one.gain for one in readings), (readings[0].run, readings[1].run)
    return best


def with_bounds_settled(table: PassInputs, groups: Sequence[list[EventRun]]) -> list[list[EventRun]]:
    """The runs of each play-through, where the next begins no sooner than its own time lets expect."""
    settled = [list(group) for group in groups]
    events = table.score.events
    for number in range(1, len(settled)):
        before, run = settled[number - 1][-1], settled[number][0]
        held = _with_last(before, run, len(events))
        if events[held.last].midi != events[run.first].midi:
            continue
        lower = settled[number - 2][-1].last_segment + 1 if number > 1 else 0
        if len(settled[number - 1]) > 1:
            lower = before.first_segment
        upper = len(table.fits.segments)
        if number + 1 < len(settled):
            upper = settled[number + 1][0].first_segment
        if len(settled[number]) > 1:
            upper = settled[number][1].first_segment
        found = _settled(table, (before, held), run, (lower, run.first_segment, upper))
        if found is not None:
            settled[number - 1][-1], settled[number][0] = found
    return settled
