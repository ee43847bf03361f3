"""Single parts of the search, each held against what it is said to do."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.arrange import Choice, Effort, Route, Settled, find_route, load_player, load_weights, settle, survey
from reedpath.arrange.search import Layer, _best_of
from reedpath.arrange.surveying import ranked_as
from reedpath.arrange.table import _Measured
from reedpath.arrange.tradeoff import shortened
from reedpath.data import replace
from reedpath.harp import Breath, Move, load_tuning, make_harp
from support.phrases import phrase_of

HOLES = st.integers(1, 10)
RUNS = st.lists(st.builds(Move, st.tuples(HOLES), st.sampled_from(Breath)), max_size=3).map(tuple)


@given(RUNS, RUNS, HOLES, st.sampled_from(Breath))
def test_what_is_run_through_before_and_after_a_note_adds_up(before, after, hole, breath):
    measured = _Measured(load_tuning("standard"), load_player("steady"), load_weights())
    move = Move((hole,), breath)

    def points(lead_in=(), lead_out=()) -> float:
        return measured.ornament(Choice(move, lead_in=lead_in, lead_out=lead_out), move)

    assert points(before, after) == pytest.approx(points(before) + points(lead_out=after) - points())
    assert points(before) >= points() == 0
    # the same way back is as far
    assert points(before) == pytest.approx(points(lead_out=tuple(reversed(before))))


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), min_size=1, max_size=30), st.integers(1, 30))
def test_the_labels_that_are_kept_promise_no_more_than_those_that_are_not(costs, width):
    to_go = np.array([rest for _, rest in costs])
    layer = Layer(costs=np.zeros((1, len(costs))), to_go=to_go, flow=np.zeros(len(costs)))
    labels = {(state, 0): (so_far, None) for state, (so_far, _) in enumerate(costs)}
    kept = _best_of(labels, layer, width)
    promised = {state: labels[state][0] + to_go[state[0]] for state in labels}
    assert len(kept) == min(width, len(labels))
    assert max(promised[state] for state in kept) <= min(
        (promised[state] for state in labels if state not in kept), default=np.inf
    )


def _routes(*points: tuple[float, float]) -> tuple[Route, ...]:
    """Routes of so much effort and truth."""
    some = find_route(phrase_of("g4 1/4"), make_harp("C"))
    (event,) = some.events
    return tuple(
        replace(some, truth=truth, events=(replace(event, effort=Effort({"move": effort})),))
        for effort, truth in points
    )


@pytest.mark.parametrize(
    ("points", "left_out"),
    [
        # 21 for .91 is nearly what 20 for .9 is
        (((30, 1.0), (21, 0.91), (20, 0.9), (10, 0.5), (0, 0.2)), 1),
        # an area is width times height: much less effort for hardly any truth counts little
        (((30, 1.0), (29, 0.6), (15, 0.59), (0, 0.0)), 1),
        (((30, 1.0), (15, 0.99), (14, 0.6), (0, 0.0)), 2),
    ],
)
def test_of_too_many_routes_the_one_goes_that_adds_least(points, left_out):
    routes = _routes(*points)
    kept = shortened(routes, len(routes) - 1)
    areas = [
        (before[0] - here[0]) * (here[1] - after[1])
        for before, here, after in zip(points, points[1:], points[2:], strict=False)
    ]
    assert areas.index(min(areas)) + 1 == left_out
    assert kept == (*routes[:left_out], *routes[left_out + 1 :])


@pytest.mark.parametrize("typed", ["e4 1/4 g4 a4 b4", "c5 1/8 d5 e5 g5 a5 g5 1/2"])
def test_a_phrase_settled_has_the_line_that_a_survey_has_for_it(typed):
    phrase = phrase_of(typed)
    for line in survey(phrase, top=4).ranked:
        settled = settle(phrase, line.harp, shift_semitones=line.shift_semitones)
        assert isinstance(settled, Settled)
        same = ranked_as(phrase, settled)
        assert (same.harp, same.position, same.shift_semitones) == (line.harp, line.position, line.shift_semitones)
        assert same.score == pytest.approx(line.score)
        assert same.custom == pytest.approx(line.custom)
        assert Fraction(same.truth).limit_denominator(10**6) == Fraction(line.truth).limit_denominator(10**6)
