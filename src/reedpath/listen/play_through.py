"""Play-throughs: where in a take each event of a route is played, as values."""

from __future__ import annotations

from dataclasses import dataclass

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.data.numbers import Index, Share
from reedpath.listen.beat_divisions import SwingGround
from reedpath.listen.expected import Score
from reedpath.listen.segments import Hearing
from reedpath.listen.time_map import Pause


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
    cut_off : whether the recording ends within it.
    tempo_growth : from the first sound to the last, as a share; None where the player went back.
    tempo_sway : by how much it goes up and down on the way, as a share either way.
    """

    start_seconds: float
    end_seconds: float
    tempo_factor: float
    events: tuple[PlacedEvent, ...]
    whole: bool
    pauses: tuple[Pause, ...]
    restarts: tuple[Restart, ...]
    confidence: Share
    cut_off: bool = False
    tempo_growth: float | None = None
    tempo_sway: float = 0.0

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


class HarpHeard(Struct, frozen=True):
    """What a take is played on, where that is not what the lesson asks for.

    name : of the harp by whose holes the phrase is heard, as the trade says it.
    semitones : by which all lies over the lesson. octaves : of these, those that the customary harp of that key does
        not account for: the phrase is played so many octaves higher on it.
    holes : by which the phrase is played too far to the right on the lesson's own harp, to the left below 0; then
        there is no answer to the rest.
    explained, explained_as_asked : share of the sound that is the lesson's phrase there, and as it was asked.
    """

    name: str
    semitones: int
    octaves: int
    holes: int
    explained: Share
    explained_as_asked: Share


@dataclass(frozen=True, slots=True, eq=False)
class LinedUp:
    """A take lined up with a route.

    route, score : what was to be played, on the harp that is heard. hearing : what was heard.
    play_throughs : in order, none where the route is not played at all.
    harp_heard : another harp or octave than the lesson's, None for the lesson's own.
    grounds : what the route lets one ask of the swing, None where that was not looked at.
    """

    route: Route
    score: Score
    hearing: Hearing
    play_throughs: tuple[PlayThrough, ...]
    harp_heard: HarpHeard | None = None
    grounds: tuple[SwingGround, ...] | None = None


def on_harp_of(route: Route, semitones: int) -> Route:
    """A route on a harp so many semitones higher: the same moves, other pitches."""
    return replace(route, harp=replace(route.harp, key_midi=route.harp.key_midi + semitones))
