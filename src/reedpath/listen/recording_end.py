"""The end of a recording: what it leaves out is nobody's fault.

A file that breaks off, or a recorder that is stopped too soon, may end inside a phrase, or inside a note. Events that
were due only after that were not left out by the player, and how long the last note was held nobody knows.
"""

from __future__ import annotations

from reedpath.data import replace
from reedpath.hear import HOP_SECONDS
from reedpath.listen.play_through import LinedUp, PlacedEvent, PlayThrough

# seconds before the end of a recording from which a sound goes on to it: pitch is heard in windows of 0.05
GOES_ON_SECONDS = 0.1
# seconds before it from which an event that is due may be later: as much as a player is off, and as a reed takes to
# be heard (see `judging` and `evidence`)
MAY_COME_SECONDS = 0.15
# seconds of a note that tell nothing of it yet: a bend still slides from its natural note (see `evidence`)
TOO_LITTLE_SECONDS = 0.22
# share of its length that a last note must have for nothing to be missing of it; players leave a tenth out
HELD_SHARE = 0.8


def _recorded_seconds(lined_up: LinedUp) -> float:
    return len(lined_up.hearing.curve) * HOP_SECONDS


def is_cut_short(lined_up: LinedUp, end_seconds: float) -> bool:
    """Whether a sound that ends then goes on to the end of the recording."""
    return end_seconds > _recorded_seconds(lined_up) - GOES_ON_SECONDS


def _lacks(lined_up: LinedUp, one: PlacedEvent) -> bool:
    """Whether the recording ends in an event before it could be held."""
    written = next(expected for expected in lined_up.score.events if expected.index == one.event)
    wanted_seconds = (written.end_seconds - written.start_seconds) * one.pace
    return is_cut_short(lined_up, one.end_seconds) and (
        _recorded_seconds(lined_up) - one.start_seconds < HELD_SHARE * wanted_seconds
    )


def _is_left_out(lined_up: LinedUp, one: PlacedEvent) -> bool:
    """Whether a recording ends before an event, or so soon in it that nothing can be said of it."""
    recorded = _recorded_seconds(lined_up)
    if not one.played:
        return one.due_seconds > recorded - MAY_COME_SECONDS
    return one.start_seconds > recorded - TOO_LITTLE_SECONDS and _lacks(lined_up, one)


def _play_as_recorded(lined_up: LinedUp, play: PlayThrough) -> PlayThrough:
    events = list(play.events)
    while len(events) > 1 and _is_left_out(lined_up, events[-1]):
        events.pop()
    lacks = events[-1].played and _lacks(lined_up, events[-1])
    lost = len(events) < len(play.events)
    end = min(play.end_seconds, events[-1].end_seconds) if lost else play.end_seconds
    return replace(play, end_seconds=end, events=tuple(events), whole=play.whole and not lost, cut_off=lost or lacks)


def as_recorded(lined_up: LinedUp) -> LinedUp:
    """A take lined up, its play-throughs as far as the recording goes."""
    plays = tuple(_play_as_recorded(lined_up, play) for play in lined_up.play_throughs)
    return replace(lined_up, play_throughs=plays)
