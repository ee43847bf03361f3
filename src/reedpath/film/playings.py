"""Playings: what was heard of a phrase in the teacher's own film, as a value handed in."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import median

from reedpath.errors import FilmError
from reedpath.lesson import Lesson, Rung
from reedpath.listen import PlayThrough
from reedpath.phrase import Phrase, timing_of

__all__ = ["Heard", "Playing", "nearest_rung", "playing_bpm", "playing_of"]

# ratio to a rung's tempo up to which a playing counts as played at that rung: half the way to a neighbour that is
# a quarter faster; our choice
NEAR_RATIO = 1.12


@dataclass(frozen=True, slots=True)
class Heard:
    """One event as it was heard.

    event : index of the route's event.
    start_seconds, end_seconds : on the film's clock.
    """

    event: int
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class Playing:
    """A play-through: one whole or partial playing of the phrase.

    heard : in order of time and of events, each event once, at least one; what was not heard is left out.
    """

    heard: tuple[Heard, ...]

    def __post_init__(self) -> None:
        if not self.heard:
            raise FilmError("a play-through of no notes at all")
        for before, after in zip(self.heard, self.heard[1:], strict=False):
            if after.event <= before.event or after.start_seconds <= before.start_seconds:
                raise FilmError(
                    f"a play-through goes on in time and from event to event, not from event {before.event} at "
                    f"{before.start_seconds:g} s to event {after.event} at {after.start_seconds:g} s"
                )
        for one in self.heard:
            if not 0 <= one.start_seconds < one.end_seconds:
                raise FilmError(
                    f"event {one.event} from {one.start_seconds:g} to {one.end_seconds:g} s: "
                    "a note begins at 0 s or later and then lasts"
                )


def playing_of(play: PlayThrough) -> Playing | None:
    """A play-through that was found in a take, as far as it was played; None where nothing of it was."""
    heard: list[Heard] = []
    for one in play.events:
        after = not heard or one.start_seconds > heard[-1].start_seconds
        if one.played and after and one.end_seconds > one.start_seconds >= 0:
            heard.append(Heard(one.event, one.start_seconds, one.end_seconds))
    return Playing(tuple(heard)) if heard else None


def _speed(phrase: Phrase, playing: Playing) -> float:
    """How fast it was played against the phrase's own tempo, by the median over all pairs of notes.

    Theil & Sen's slope (Sen 1968, Journal of the American Statistical Association 63), so that a stumble counts
    for little; 1 for a single note.
    """
    timing = timing_of(phrase)
    points = [(timing.seconds_at(phrase.events[one.event].onset), one.start_seconds) for one in playing.heard]
    step = max(1, len(points) // 60)  # enough pairs for a long phrase without all of them
    slopes = [
        (second[1] - first[1]) / (second[0] - first[0])
        for place, first in enumerate(points)
        for second in points[place + 1 :: step]
        if second[0] > first[0]
    ]
    return 1.0 / median(slopes) if slopes else 1.0


def playing_bpm(phrase: Phrase, playing: Playing) -> float:
    """Quarter notes a minute at which it was played, at the phrase's start."""
    return timing_of(phrase).bpm_at(0) * _speed(phrase, playing)


def nearest_rung(lesson: Lesson, playing: Playing) -> Rung | None:
    """The tempo of the ladder at which it was played, None where it was none of them."""
    speed = _speed(lesson.route.phrase, playing)

    def distance(rung: Rung) -> float:
        return abs(math.log(speed / rung.factor))

    nearest = min(lesson.ladder, key=distance, default=None)
    return nearest if nearest is not None and distance(nearest) <= math.log(NEAR_RATIO) else None
