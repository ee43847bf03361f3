"""Which level a route asks for: the first whose techniques are enough."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from reedpath.arrange import Choice, find_route, level_asked, load_player
from reedpath.harp import make_harp
from support.built_routes import built_route
from support.phrases import phrase_of


@pytest.mark.parametrize(
    ("moves", "level"),
    [
        ("4b:1 4d:1 5b:2", "first-months"),
        ("(4 5)b:1 (4 5)d:1", "first-months"),
        ("2d:1 3d':1 4b:2", "easy"),
        ("2d:1 3d'':1 4b:2", "steady"),
        ("10b':1 10b:1", "steady"),
        ("6bo:1 6d:1", "strong"),
        ("7do:1 7d:1", "advanced"),
    ],
)
def test_the_first_level_whose_techniques_are_enough(moves: str, level: str) -> None:
    assert level_asked(built_route(moves, key="C")) == level


@pytest.mark.parametrize(
    ("moves", "level"),
    [("3d:1^1 4b:2", "easy"), ("3d:1^2 4b:2", "steady"), ("3d:1_1 4b:2", "easy"), ("3d:1_2 4b:2", "steady")],
)
def test_a_note_that_is_attacked_or_pressed_bent_asks_for_that_bend(moves: str, level: str) -> None:
    assert level_asked(built_route(moves, key="C")) == level


def test_a_note_that_is_not_played_asks_for_nothing() -> None:
    route = built_route("4b:1 4d:1", key="C")
    first, *rest = route.events
    assert level_asked(replace(route, events=(replace(first, choice=Choice(None)), *rest))) == "first-months"


def test_what_a_level_may_play_asks_for_no_higher_one() -> None:
    order = ["first-months", "easy", "steady", "strong", "advanced"]
    phrase = phrase_of("C4 Eb4 F4 G4 Bb4 C5")
    for level in order:
        asked = level_asked(find_route(phrase, make_harp("C"), player=load_player(level)))
        assert asked is not None
        assert order.index(asked) <= order.index(level)
