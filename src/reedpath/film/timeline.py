"""The timeline: everything that happens in a film, and when. Frames, captions, chapters and tests all read it.

A film is a row of scenes. In each one the ribbon has its own clock, the ribbon's seconds, which says where its
notes lie; ``glide`` turns the film's seconds into it. While something is played the two run alike; while
something is explained the ribbon stands still.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Self, TypeVar

import numpy as np

from reedpath.lesson import Rung
from reedpath.phrase import COMMON_TIME, BeatTimes, Metre, Timing
from reedpath.sound import BackingLayout, PlayAlongLayout


class SceneKind(StrEnum):
    """What a scene shows."""

    STEPS = "steps"  # the phrase gone through, step by step
    PLAY = "play"  # the phrase played at a tempo of the ladder
    TAKE = "take"  # the phrase as played in the teacher's own film


@dataclass(frozen=True, slots=True)
class Glide:
    """How the ribbon glides: film time to the ribbon's seconds, straight between points, still before and after them.

    film_seconds : ascending, at least one.
    ribbon_seconds : as many, in any order, for a film may go back.
    """

    film_seconds: tuple[float, ...]
    ribbon_seconds: tuple[float, ...]

    @classmethod
    def through(cls, points: Iterable[tuple[float, float]]) -> Self:
        """The glide through points in any order; of several at one moment the last counts.

        >>> Glide.through([(1, 5), (0, 0), (1, 4), (2, 0)])
        Glide(film_seconds=(0, 1, 2), ribbon_seconds=(0, 4, 0))
        """
        by_moment = sorted(dict(points).items())
        return cls(tuple(moment for moment, _ in by_moment), tuple(seconds for _, seconds in by_moment))

    def at(self, seconds: float) -> float:
        """The ribbon's seconds at a moment of the film.

        >>> Glide((0.0, 1.0, 2.0), (0.0, 10.0, 10.0)).at(0.5)
        5.0
        """
        return float(np.interp(seconds, self.film_seconds, self.ribbon_seconds))


@dataclass(frozen=True, slots=True)
class Highlight:
    """An event's holes lit.

    event : index of the route's event.
    start_seconds, end_seconds : film time.
    """

    event: int
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class SceneHeading:
    """What a stretch of a scene is about: a block of steps or a part, by its index; neither before the parts.

    start_seconds, end_seconds : film time; the headings of a scene follow one another without a gap.
    """

    start_seconds: float
    end_seconds: float
    block: int | None = None
    part: int | None = None


@dataclass(frozen=True, slots=True)
class Caption:
    """Steps shown as a caption: those from ``first`` up to ``stop`` of a block of `steps_of`, in any language.

    start_seconds, end_seconds : film time.
    in_passing : whether it is told while the phrase is played, without what comes after it in its block.
    """

    block: int
    first: int
    stop: int
    start_seconds: float
    end_seconds: float
    in_passing: bool = False


@dataclass(frozen=True, slots=True)
class CountedNumber:
    """A beat of the count-in: its number in the bar, from 1, and its film time."""

    number: int
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class RoundSpan:
    """A round that a band plays: its number, from 1, of how many, whether it is the student's, and its film time.

    bar : of the form at which a turn of the phrase begins in it, 0 where the round is one turn.
    """

    number: int
    count: int
    is_yours: bool
    start_seconds: float
    end_seconds: float
    bar: int = 0


@dataclass(frozen=True, slots=True)
class TurnCall:
    """What says that it will be the student's turn, and then that it is.

    start_seconds : film time, about a bar before it.
    turn_seconds : when the turn begins.
    end_seconds : a bar later.
    counts : the beats that count the student in.
    """

    start_seconds: float
    turn_seconds: float
    end_seconds: float
    counts: tuple[CountedNumber, ...]


@dataclass(frozen=True, slots=True)
class SpotTime:
    """One of the times that a spot is played: its number, from 1, of how many, at which tempo, and its film time."""

    number: int
    count: int
    bpm: float
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class Scene:
    """One scene.

    start_seconds, end_seconds : film time.
    bpm : quarter notes a minute at its start.
    metre : in force there; tempos are told in its beats.
    rung : the tempo of the ladder; of a take the nearest one, None where none is near.
    highlights, headings, captions, counts : in order of time, none overlapping its like. What is the student's to
        play is lit too.
    beat_times : when, in the ribbon's seconds, the beats of the route's phrase fall; with a band they go on from
        round to round.
    glide : film seconds to the ribbon's seconds.
    layout : what is to be heard, in seconds from the scene's start; None where the film has its own sound, or a band
        plays.
    backing : what is to be heard with a band.
    rounds : of the band.
    coming : events that are spoken of and have not sounded yet, from when they are spoken of to when they sound.
    turn_calls : what says that it is the student's turn.
    spot_times : the times that spots are played, while they are practised apart.
    told_from : when what is said before it begins, film time; None where nothing is known of that.
    """

    kind: SceneKind
    start_seconds: float
    end_seconds: float
    bpm: float
    rung: Rung | None
    highlights: tuple[Highlight, ...]
    headings: tuple[SceneHeading, ...]
    captions: tuple[Caption, ...]
    counts: tuple[CountedNumber, ...]
    beat_times: Timing | BeatTimes
    glide: Glide
    layout: PlayAlongLayout | None = None
    backing: BackingLayout | None = None
    rounds: tuple[RoundSpan, ...] = ()
    metre: Metre = COMMON_TIME
    coming: tuple[Highlight, ...] = ()
    turn_calls: tuple[TurnCall, ...] = ()
    spot_times: tuple[SpotTime, ...] = ()
    told_from: float | None = None

    @property
    def chapter_seconds(self) -> float:
        """When its chapter begins, film time: with what is said before it, where that is known."""
        return self.start_seconds if self.told_from is None else self.told_from

    @property
    def shown(self) -> range | None:
        """Indexes of the events that the ribbon shows: of a take what is played in it; None for all."""
        if self.kind is not SceneKind.TAKE or not self.highlights:
            return None
        return range(self.highlights[0].event, self.highlights[-1].event + 1)

    def last_highlight(self, seconds: float) -> int:
        """Place in ``highlights`` of the last that has begun; -1 before the first."""
        return bisect_right(self.highlights, seconds, key=lambda one: one.start_seconds) - 1

    def highlight_at(self, seconds: float) -> Highlight | None:
        """What sounds, None where nothing does."""
        place = self.last_highlight(seconds)
        return self.highlights[place] if place >= 0 and seconds < self.highlights[place].end_seconds else None

    def heading_at(self, seconds: float) -> SceneHeading | None:
        """What this moment is about."""
        return _current(self.headings, seconds)

    def caption_at(self, seconds: float) -> Caption | None:
        """The steps that are shown."""
        return _current(self.captions, seconds)

    def count_at(self, seconds: float) -> CountedNumber | None:
        """The beat that is counted."""
        return _current(self.counts, seconds)

    def round_at(self, seconds: float) -> RoundSpan | None:
        """The band's round."""
        return _current(self.rounds, seconds)

    def coming_at(self, seconds: float) -> Highlight | None:
        """What is spoken of and has not sounded yet."""
        return _current(self.coming, seconds)

    def turn_call_at(self, seconds: float) -> TurnCall | None:
        """What is said of the student's turn."""
        return _current(self.turn_calls, seconds)

    def spot_time_at(self, seconds: float) -> SpotTime | None:
        """Which time a spot is being played."""
        return _current(self.spot_times, seconds)


Timed = TypeVar("Timed", SceneHeading, Caption, CountedNumber, RoundSpan, Highlight, SpotTime, TurnCall)


def _current(ones: tuple[Timed, ...], seconds: float) -> Timed | None:
    place = bisect_right(ones, seconds, key=lambda one: one.start_seconds) - 1
    return ones[place] if place >= 0 and seconds < ones[place].end_seconds else None


@dataclass(frozen=True, slots=True)
class Timeline:
    """A whole film.

    scenes : in order, not overlapping; between those of a teacher's own film there may be gaps.
    seconds : length of the film.
    title_seconds : how long a card with the title stands before them; 0 for none.
    """

    scenes: tuple[Scene, ...]
    seconds: float
    title_seconds: float = 0.0

    def scene_at(self, seconds: float) -> Scene | None:
        """The scene of a moment, None between scenes."""
        place = bisect_right(self.scenes, seconds, key=lambda one: one.start_seconds) - 1
        return self.scenes[place] if place >= 0 and seconds < self.scenes[place].end_seconds else None
