"""Where one play-through of raw footage is two: notes left over from what was broken off before a part."""

from __future__ import annotations

import pytest

from reedpath.jobs.footage_plays import begun_after_strays
from reedpath.listen import PlayThrough
from support.play_throughs import play_through
from support.routes import lesson_of, phrase_of, route_of

# quarters of 0.6 s; the second part begins with the fifth event
LESSON = lesson_of(route_of(phrase_of("C4 E4 G4 C5 E4 G4 C5 E5")), parts=[("A", 0, 3, None), ("B", 4, 7, None)])
QUARTER = 0.6


def played(first: int, *, pause: float, before: int = 4, factor: float = 1.0) -> PlayThrough:
    """From an event on to the last, with so much of a pause before another one, seconds."""
    at, heard = 1.0, []
    for event in range(first, 8):
        at += pause if event == before else 0.0
        heard.append((event, at, at + 0.9 * QUARTER / factor))
        at += QUARTER / factor
    return play_through(heard, factor=factor)


@pytest.mark.parametrize("factor", [0.5, 1.0])
def test_a_note_and_a_pause_before_a_part_are_of_what_was_broken_off(factor: float) -> None:
    play = played(3, pause=1.5, factor=factor)
    assert begun_after_strays(play, LESSON) == play.events[1].start_seconds


def test_parts_that_are_joined_are_one() -> None:
    assert begun_after_strays(played(3, pause=0.3), LESSON) is None
    assert begun_after_strays(played(0, pause=1.5), LESSON) is None  # a breath between two whole parts
    assert begun_after_strays(played(4, pause=0.0), LESSON) is None


def test_a_pause_inside_a_part_parts_nothing() -> None:
    assert begun_after_strays(played(4, pause=1.5, before=5), LESSON) is None
