"""The same figure is fingered alike, exactly: held against every possible route; and what that means on phrases."""

from __future__ import annotations

from itertools import pairwise, product
from math import prod

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reedpath.arrange import Pin, settle, survey
from reedpath.arrange.alike import alike_path, groups_of
from reedpath.arrange.finding import question_of
from reedpath.arrange.lungs import Air, air_of
from reedpath.arrange.player import load_player, load_weights
from reedpath.arrange.search import Layer, Path
from reedpath.harp import make_harp, parse_move
from reedpath.pitch import Key
from support.built_phrases import line_of
from support.examples import examples


def air_without_end(count: int) -> Air:
    """Lungs that cost nothing, and no breath between notes."""
    return Air(10, 5, 0.02, [0] * count, [float("inf")] * count, [1.0] * count, [0.0] * 11, 0.0)


def layered(costs: list[list[list[float]]]) -> list[Layer]:
    """Layers with the least that the rest costs."""
    to_go, layers = [0.0] * len(costs[-1][0]), []
    for one in reversed(costs):
        layers.append(Layer(one, to_go, [0.0] * len(one[0])))
        to_go = [min(cost + rest for cost, rest in zip(row, to_go, strict=True)) for row in one]
    return layers[::-1]


@st.composite
def problems(draw) -> tuple[list[Layer], list[tuple[int, ...]]]:
    """Layers of costs in quarter points, and groups of events with as many choices."""
    sizes = draw(st.lists(st.integers(1, 3), min_size=2, max_size=7))
    points = st.integers(0, 12).map(lambda quarter: quarter / 4)
    costs = [
        [[draw(points) for _ in range(here)] for _ in range(before)] for before, here in pairwise([1, *sizes])
    ]  # fmt: skip
    groups = []
    for size in (2, 3):
        events = [index for index, one in enumerate(sizes) if one == size]
        cut = draw(st.integers(2, 7))
        groups += [tuple(part) for part in (events[:cut], events[cut:]) if len(part) > 1]
    return layered(costs), groups


@examples(400)
@given(problem=problems(), points=st.sampled_from([0.0, 0.5, 1.5, 100.0]))
def test_the_alike_path_is_that_of_enumeration(problem, points):
    layers, groups = problem
    assume(prod(len(layer.flow) for layer in layers) <= 1000)

    def total(choices: tuple[int, ...]) -> float:
        steps = zip(layers, (0, *choices), choices, strict=False)
        differing = sum(len({choices[event] for event in group}) > 1 for group in groups)
        return sum(layer.costs[before][here] for layer, before, here in steps) + points * differing

    every = product(*(range(len(layer.flow)) for layer in layers))
    found = alike_path(layers, air_without_end(len(layers)), groups, points, most=10_000)
    assert found.short_of == 0.0
    assert total(found.path.choices) == pytest.approx(min(map(total, every)))
    assert found.path.cost + points * len(found.unlike) == pytest.approx(total(found.path.choices))
    assert all(one.adds >= 0 for one in found.unlike)


@examples(100)
@given(problem=problems(), points=st.sampled_from([0.5, 1.5]))
def test_where_the_branches_run_out_the_best_known_is_taken_and_the_rest_is_bounded(problem, points):
    layers, groups = problem
    air = air_without_end(len(layers))
    cut, best = (alike_path(layers, air, groups, points, most=most) for most in (2, 10_000))

    def total(path: Path) -> float:
        return path.cost + points * sum(len({path.choices[event] for event in group}) > 1 for group in groups)

    assert total(best.path) <= total(cut.path) + 1e-9
    assert total(cut.path) - cut.short_of <= total(best.path) + 1e-9


def test_a_figure_is_a_run_that_comes_again_in_the_same_rhythm():
    phrase = line_of("E4 G4 A4 B4 - E4 G4 A4 D5 - A4 E4 G4 A4")
    question = question_of(phrase)
    assert groups_of(question.ask_of.tolist(), question.pace) == ((0, 4, 9), (1, 5, 10), (2, 6, 11))
    other = question_of(line_of("E4 G4 A4 B4 - E4 G4 - A4 D5"))
    assert groups_of(other.ask_of.tolist(), other.pace) == ()


@pytest.mark.parametrize("level", ["first-months", "steady"])
def test_a_riff_is_fingered_one_way_though_what_follows_it_differs(level):
    """G4 lies between blow notes at its end once, and before a draw note once: 3 blow and 2 draw, searched freely."""
    phrase = line_of("D4 E4 G4 E4 - D4 E4 G4 D5 - E5 C5", key=Key(0))
    harps, player = [make_harp("C")], load_player(level)
    free = survey(phrase, harps, shifts=[0], player=player).ranked[0]
    alike = free.route(alike=True)
    assert len({alike.events[index].choice.move for index in (2, 6)}) == 1
    assert free.effort.total <= alike.effort.total <= free.effort.total + load_weights().alike.points
    settled = settle(phrase, make_harp("C"), player=player)
    assert settled.route(alike=True).effort.total == pytest.approx(alike.effort.total)


def test_a_word_on_one_event_takes_it_out_of_its_figure():
    phrase = line_of("D4 E4 G4 E4 - D4 E4 G4 D5 - E5 C5", key=Key(0))
    settled = settle(phrase, make_harp("C"), pins=(Pin(2, parse_move("+3")),))
    assert settled.route(alike=True).events[2].choice.move == parse_move("+3")
    assert len(settled.route(alike=True).events) == len(phrase.events)


def test_air_and_figures_are_those_of_the_weights():
    question = question_of(line_of("E4 G4 A4 E4 G4 A4"))
    assert air_of(question.pace, load_weights(), load_player()).starts[0][1] == 0.0
    assert load_weights().alike.points > 0


def test_a_choice_that_is_barred_is_not_tried_for_a_whole_figure():
    settled = settle(line_of("D#5 F5 D#5 F5 F#5 F#4 D#5 F5 D#5 F4", bpm=110), make_harp("A"))
    free, alike = settled.route(), settled.route(alike=True)
    worth = load_weights().alike.points * len(alike.unlike)
    assert free.effort.total <= alike.effort.total + worth
    assert [one.event for one in alike.events] == [one.event for one in free.events]
