"""What several lessons ask for together."""

from __future__ import annotations

from reedpath.harp import Alteration
from reedpath.lesson import PlayingTechnique, make_lesson, needs_of
from support.built_routes import built_route

PLAIN_C = make_lesson(built_route("4b 4d 5b", key="C"))
BENT_A = make_lesson(built_route("2d 3d' 4b", key="A"))
OVERBLOWN_A = make_lesson(built_route("6bo 2d 4bo 6bo", key="A"))
OVERDRAWN_C = make_lesson(built_route("7do 4b", key="C"))


def test_the_harp_of_most_lessons_comes_first() -> None:
    needs = needs_of([PLAIN_C, BENT_A, OVERBLOWN_A])
    assert [(one.harp.name, one.lessons) for one in needs.harps] == [("A", (1, 2)), ("C", (0,))]


def test_overbends_are_told_by_harp_and_hole_once() -> None:
    needs = needs_of([PLAIN_C, BENT_A, OVERBLOWN_A, OVERBLOWN_A, OVERDRAWN_C])
    assert [(one.harp.name, one.hole, one.alteration, one.lessons) for one in needs.overbends] == [
        ("A", 4, Alteration.OVERBLOW, (2, 3)),
        ("A", 6, Alteration.OVERBLOW, (2, 3)),
        ("C", 7, Alteration.OVERDRAW, (4,)),
    ]


def test_techniques_name_their_lessons() -> None:
    needs = needs_of([PLAIN_C, BENT_A, OVERBLOWN_A])
    assert [(one.technique, one.lessons) for one in needs.techniques] == [
        (PlayingTechnique.OVERBLOWS, (2,)),
        (PlayingTechnique.DRAW_BENDS, (1,)),
    ]


def test_nothing_asks_nothing() -> None:
    needs = needs_of([])
    assert (needs.harps, needs.overbends, needs.techniques) == ((), (), ())
