"""Play-throughs: where in a take each event of a route is played, as values."""

from __future__ import annotations

from dataclasses import dataclass

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.data.numbers import Index, Share
from reedpath.listen.expected import Score
from reedpath.listen.segments import Hearing
from reedpath.listen.time_map import Pause

__all__ = ["LinedUp", "PlacedEvent", "PlayThrough", "Restart"]


class PlacedEvent(Struct, frozen=True):
    """One event in a play-through.

    event : index of the route's event.
    start_seconds, end_seconds : when it sounds, or would have been due where it is missing.
    played : whether anything sounds there for it.
    due_seconds : when the play-through's own tempo lets expect it.
    pace : seconds that a written second takes there.
    confidence : 0 to 1.
    """

    event: Index
    start_seconds: float
    end_seconds: float
    played: bool
    due_seconds: float
    pace: float
    confidence: Share


class Restart(Struct, frozen=True):
    """A place where the player went back.

    dropped_seconds : when that begins which is then played again. seconds : when the playing goes on.
    after : index of the event played last before. back_to : of the one that it goes on with.
    """

    dropped_seconds: float
    seconds: float
    after: int
    back_to: int


class PlayThrough(Struct, frozen=True):
    """One playing of a route, whole or in part.

    start_seconds, end_seconds : from its first to its last sound.
    tempo_factor : of the written tempo, pauses left out; 1 is as written.
    events : from the first to the last event that was tried.
    whole : whether these are all events of the route.
    pauses : where the time was broken. restarts : where the player went back.
    confidence : 0 to 1.
    """

    start_seconds: float
    end_seconds: float
    tempo_factor: float
    events: tuple[PlacedEvent, ...]
    whole: bool
    pauses: tuple[Pause, ...]
    restarts: tuple[Restart, ...]
    confidence: Share

    @property
    def first(self) -> int:
        """Index of the first event tried."""
        return self.events[0].event

    @property
    def last(self) -> int:
        """Index of the last event tried."""
        return self.events[-1].event

    @property
    def heard(self) -> tuple[PlacedEvent, ...]:
        """The events that sound, each with a length and after the one before it."""
        kept: list[PlacedEvent] = []
        for one in self.events:
            after = not kept or one.start_seconds > kept[-1].start_seconds
            if one.played and after and one.end_seconds > one.start_seconds >= 0.0:
                kept.append(one)
        return tuple(kept)


@dataclass(frozen=True, slots=True, eq=False)
class LinedUp:
    """A take lined up with a route.

    route, score : what was to be played. hearing : what was heard.
    play_throughs : in order, none where the route is not played at all.
    """

    route: Route
    score: Score
    hearing: Hearing
    play_throughs: tuple[PlayThrough, ...]
