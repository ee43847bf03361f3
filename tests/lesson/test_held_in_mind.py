"""What is held in mind of notes: what is repeated, runs and figures that come again are one thing each."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given

from reedpath.arrange import Route
from reedpath.lesson.held_in_mind import thing_ends, things_between
from reedpath.lesson.repeats import tokens_of
from support.built_routes import built_route
from support.examples import examples
from support.lesson_routes import routes


def ends_of(route: Route) -> list[int]:
    return thing_ends(route, tokens_of(route.events))


@pytest.mark.parametrize(
    ("text", "things"),
    [
        ("4b 6d 4d 7b 2d", 5),
        ("4b 4b 4b 4b", 1),
        ("4b 4d 5b 5d 6b 6d 7d 7b", 1),
        ("7b 6b 5b 4b", 1),  # hole by hole on one breath
        ("4b 4d 7b", 3),  # two notes are no run
        ("4b 4d 5b 4d 4b", 3),
        ("4b:1 4d 5b:1 5d 6b:1", 1),  # long and short in turns
        ("4b:1 4d 5b 5d:1 6b:1", 3),
        ("4b 6d 4b 6d 4b 6d", 3),
        ("4b 6d 5d 4b 6d 5d", 4),
        ("4b 5b 4d 5d", 3),  # the same third a step higher
        ("4b 5b:1 4d 5d", 3),
        ("4b 5b 4d:1 5d", 4),  # in another rhythm
        ("(1 2)d (2 3)d (3 4)d", 3),
        ("", 0),
    ],
)
def test_things_are_counted(text: str, things: int) -> None:
    route = built_route(text)
    assert things_between(ends_of(route), 0, len(route.events)) == things


def test_a_figure_that_came_earlier_is_one_thing_and_a_short_one_is_not() -> None:
    ends = ends_of(built_route("4b 6d 5d 7b 2d 4b 6d 5d 7b"))
    assert (things_between(ends, 0, 5), things_between(ends, 5, 9)) == (5, 1)
    ends = ends_of(built_route("4b 6d 5d 2d 4b 6d 5d"))
    assert (things_between(ends, 0, 4), things_between(ends, 4, 7)) == (4, 3)


@given(routes())
@examples(50)
def test_things_are_never_more_than_notes_and_none_is_lost(route: Route) -> None:
    ends = ends_of(route)
    assert all(index < end <= len(ends) for index, end in enumerate(ends))
    counts = [things_between(ends, 0, end) for end in range(len(ends) + 1)]
    assert all(0 <= after - before <= 1 for before, after in pairwise(counts))
