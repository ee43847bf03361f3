"""A lesson says what the air needs before the first note, and why a figure is not played as it was before."""

from __future__ import annotations

from fractions import Fraction

import pytest

from reedpath.arrange import Route, Unlike, find_route
from reedpath.data import replace
from reedpath.harp import make_harp
from reedpath.lesson import StepKind, make_lesson, steps_of
from support.built_phrases import line_of


def told(route: Route, kind: StepKind, language: str = "en") -> list[tuple[int | None, str]]:
    blocks = steps_of(make_lesson(route), language)
    return [(step.first, step.text) for block in blocks for step in block.steps if step.kind is kind]


@pytest.mark.parametrize(("language", "word"), [("en", "draw"), ("fr", "aspirer")])
def test_what_is_mostly_drawn_begins_with_the_air_out(language, word):
    route = find_route(line_of("E4 B4 D5", beats=Fraction(4), bpm=60), make_harp("A"))
    first, text = told(route, StepKind.BREATH, language)[0]
    assert first == 0
    assert word in text


def test_what_takes_no_air_begins_with_the_first_note():
    assert told(find_route(line_of("C5 D5 E5"), make_harp("C")), StepKind.BREATH) == []


def test_a_figure_that_goes_another_way_is_told_once_with_the_reason():
    route = find_route(line_of("C5 D5 E5 - C5 F5 E5"), make_harp("C"))
    apart = replace(route, unlike=(Unlike((0, 3), 2.5), Unlike((1, 4), 2.5)))
    assert [(first, "harder" in text) for first, text in told(apart, StepKind.CHANGE)] == [(3, True)]
