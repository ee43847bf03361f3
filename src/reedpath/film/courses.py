"""Courses: where the beats of a phrase lie in the seconds of a performance."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from reedpath.film.knots import Knots, knots_of
from reedpath.phrase import Phrase, Timing

__all__ = ["course_of", "heard_course"]

# swung halves of a beat are straight in themselves, so knots at every half are exact
HALF = Fraction(1, 2)


def course_of(phrase: Phrase, timing: Timing, *, zero_seconds: float = 0.0) -> Knots:
    """Beats to seconds by a timing; ``zero_seconds`` is where beat 0 lies."""
    phase = phrase.pickup % 1
    halves = range(-1, int((phrase.end + 1) / HALF) + 2)
    beats = {phase + HALF * half for half in halves}
    beats |= {tempo.onset for tempo in phrase.tempos}
    for event in phrase.events:
        beats |= {event.onset, event.end}
    return knots_of((float(beat), zero_seconds + timing.seconds_at(beat)) for beat in beats)


def heard_course(phrase: Phrase, onsets: Iterable[tuple[int, float]], *, end_seconds: float) -> Knots:
    """Beats to seconds by what was heard.

    onsets : index of an event, and when it began.
    end_seconds : when the last of them ended.
    """
    heard = sorted(onsets)
    last = phrase.events[heard[-1][0]]
    points = [(float(phrase.events[index].onset), seconds) for index, seconds in heard]
    return knots_of([*points, (float(last.end), end_seconds)])
