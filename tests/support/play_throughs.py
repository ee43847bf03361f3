"""Play-throughs as `reedpath.listen` finds them, typed by hand."""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.listen import PlacedEvent, PlayThrough


def play_through(
    heard: Sequence[tuple[int, float, float]], *, factor: float = 1.0, missed: Sequence[int] = ()
) -> PlayThrough:
    """A play-through at that share of the full tempo, of events with their start and end in seconds.

    missed : events that are due then, but that nothing was heard of.
    """
    events = tuple(
        PlacedEvent(event, start, end, event not in missed, start, 1.0, 1.0) for event, start, end in heard
    )
    start = min((one.start_seconds for one in events), default=0.0)
    end = max((one.end_seconds for one in events), default=0.0)
    return PlayThrough(start, end, factor, events, whole=True, pauses=(), restarts=(), confidence=1.0)
