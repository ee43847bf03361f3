"""Courses: where the beats of a phrase lie in the seconds of a performance."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from reedpath.film.knots import Knots, knots_of
from reedpath.phrase import Phrase, Timing
from reedpath.sound import BackingLayout

__all__ = ["course_of", "heard_course", "rounds_course"]

# swung halves of a beat are straight in themselves, so knots at every half are exact
HALF = Fraction(1, 2)


def _beats(phrase: Phrase, until: Fraction) -> set[Fraction]:
    """The beats at which a course may bend, from a beat before the phrase."""
    phase = phrase.pickup % 1
    beats = {phase + HALF * half for half in range(-1, int((until + 1) / HALF) + 2)}
    beats |= {tempo.onset for tempo in phrase.tempos}
    for event in phrase.events:
        beats |= {event.onset, event.end}
    return beats


def course_of(phrase: Phrase, timing: Timing, *, zero_seconds: float = 0.0) -> Knots:
    """Beats to seconds by a timing; ``zero_seconds`` is where beat 0 lies."""
    beats = _beats(phrase, phrase.end)
    return knots_of((float(beat), zero_seconds + timing.seconds_at(beat)) for beat in beats)


def rounds_course(layout: BackingLayout, timing: Timing) -> Knots:
    """Beats to seconds where a band goes round: each round's beats follow those of the round before."""
    inside = [beat for beat in _beats(layout.route.phrase, layout.round_beats) if 0 <= beat < layout.round_beats]
    points = [(-1.0, layout.rounds[0].zero_seconds + timing.seconds_at(-1))]
    for place, one in enumerate(layout.rounds):
        first = place * layout.round_beats
        points += [(float(first + beat), one.zero_seconds + timing.seconds_at(beat)) for beat in inside]
    end = layout.round_beats
    points += [
        (float(len(layout.rounds) * end + more), layout.rounds[-1].zero_seconds + timing.seconds_at(end + more))
        for more in (0, layout.route.phrase.pickup + 1)
    ]
    return knots_of(points)


def heard_course(phrase: Phrase, onsets: Iterable[tuple[int, float]], *, end_seconds: float) -> Knots:
    """Beats to seconds by what was heard.

    onsets : index of an event, and when it began.
    end_seconds : when the last of them ended.
    """
    heard = sorted(onsets)
    last = phrase.events[heard[-1][0]]
    points = [(float(phrase.events[index].onset), seconds) for index, seconds in heard]
    return knots_of([*points, (float(last.end), end_seconds)])
