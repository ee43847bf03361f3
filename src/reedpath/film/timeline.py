"""The timeline: everything that happens in a film, and when. Frames, captions, chapters and tests all read it.

A film is a row of scenes. In each one the ribbon has its own clock, the ribbon's seconds, which says where its
notes lie; ``glide`` turns the film's seconds into it. While something is played the two run alike; while
something is explained the ribbon stands still.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from reedpath.film.knots import Knots
from reedpath.lesson import Rung
from reedpath.sound import BackingLayout, Layout

__all__ = ["Count", "Heading", "RoundSpan", "Saying", "Scene", "SceneKind", "Sounding", "Timeline"]


class SceneKind(StrEnum):
    """What a scene shows."""

    STEPS = "steps"  # the phrase gone through, step by step
    PLAY = "play"  # the phrase played at a tempo of the ladder
    TAKE = "take"  # the phrase as played in the teacher's own film


@dataclass(frozen=True, slots=True)
class Sounding:
    """An event's holes sounding.

    event : index of the route's event.
    start_seconds, end_seconds : film time.
    """

    event: int
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class Heading:
    """What a stretch of a scene is about: a block of steps or a part, by its index; neither before the parts.

    start_seconds, end_seconds : film time; the headings of a scene follow one another without a gap.
    """

    start_seconds: float
    end_seconds: float
    block: int | None = None
    part: int | None = None


@dataclass(frozen=True, slots=True)
class Saying:
    """Steps shown as a caption: those from ``first`` up to ``stop`` of a block of `steps_of`, in any language.

    start_seconds, end_seconds : film time.
    """

    block: int
    first: int
    stop: int
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class Count:
    """A beat of the count-in: its number in the bar, from 1, and its film time."""

    number: int
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class RoundSpan:
    """A round that a band plays: its number, from 1, of how many, whether it is the student's, and its film time."""

    number: int
    count: int
    is_yours: bool
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class Scene:
    """One scene.

    start_seconds, end_seconds : film time.
    bpm : quarter notes a minute at its start.
    rung : the tempo of the ladder; of a take the nearest one, None where none is near.
    soundings, headings, sayings, counts : in order of time, none overlapping its like. What is the student's to play
        sounds too.
    course : beats of the route's phrase to the ribbon's seconds; with a band they go on from round to round.
    glide : film seconds to the ribbon's seconds.
    layout : what is to be heard, in seconds from the scene's start; None where the film has its own sound, or a band
        plays.
    backing : what is to be heard with a band.
    rounds : of the band.
    """

    kind: SceneKind
    start_seconds: float
    end_seconds: float
    bpm: float
    rung: Rung | None
    soundings: tuple[Sounding, ...]
    headings: tuple[Heading, ...]
    sayings: tuple[Saying, ...]
    counts: tuple[Count, ...]
    course: Knots
    glide: Knots
    layout: Layout | None = None
    backing: BackingLayout | None = None
    rounds: tuple[RoundSpan, ...] = ()

    def last_sounding(self, seconds: float) -> int:
        """Place in ``soundings`` of the last that has begun; -1 before the first."""
        return bisect_right(self.soundings, seconds, key=lambda one: one.start_seconds) - 1

    def sounding_at(self, seconds: float) -> Sounding | None:
        """What sounds, None where nothing does."""
        place = self.last_sounding(seconds)
        return self.soundings[place] if place >= 0 and seconds < self.soundings[place].end_seconds else None

    def heading_at(self, seconds: float) -> Heading | None:
        """What this moment is about."""
        return _current(self.headings, seconds)

    def saying_at(self, seconds: float) -> Saying | None:
        """The steps that are shown."""
        return _current(self.sayings, seconds)

    def count_at(self, seconds: float) -> Count | None:
        """The beat that is counted."""
        return _current(self.counts, seconds)

    def round_at(self, seconds: float) -> RoundSpan | None:
        """The band's round."""
        return _current(self.rounds, seconds)


Timed = TypeVar("Timed", Heading, Saying, Count, RoundSpan)


def _current(ones: tuple[Timed, ...], seconds: float) -> Timed | None:
    place = bisect_right(ones, seconds, key=lambda one: one.start_seconds) - 1
    return ones[place] if place >= 0 and seconds < ones[place].end_seconds else None


@dataclass(frozen=True, slots=True)
class Timeline:
    """A whole film.

    scenes : in order, not overlapping; between those of a teacher's own film there may be gaps.
    seconds : length of the film.
    """

    scenes: tuple[Scene, ...]
    seconds: float

    def scene_at(self, seconds: float) -> Scene | None:
        """The scene of a moment, None between scenes."""
        place = bisect_right(self.scenes, seconds, key=lambda one: one.start_seconds) - 1
        return self.scenes[place] if place >= 0 and seconds < self.scenes[place].end_seconds else None
