"""The search finds the true minimum: held against every possible route, on thousands of short random phrases."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import prod

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reedpath.arrange import ChangeKind, find_route, load_player, load_weights, survey
from reedpath.arrange.convention import convention_of
from reedpath.arrange.expression import worth_of
from reedpath.arrange.finding import Question, question_of, table_for
from reedpath.arrange.fitting import loss_of
from reedpath.arrange.lattice import Case, lattice_of
from reedpath.arrange.lungs import air_of
from reedpath.arrange.relaxed import relaxed_costs
from reedpath.arrange.search import Layer, shortest_path
from reedpath.arrange.terms import Transition, transition_points
from reedpath.harp import load_tuning, make_harp, pitches_of, tuning_names
from reedpath.phrase import Event, Phrase
from support.examples import examples
from support.short_phrases import BYTES_OF_A_PHRASE, short_phrase, short_phrases
from support.spent_bytes import SpentBytes, built_from_bytes

MOST_ROUTES = 6000


class Line:
    """What becomes of the line between two choices, said once more in plain numbers.

    tops : of each row of a choice, the pitch asked for and the one that sounds, None for silence.
    """

    def __init__(self, table, tuning, asks, layers) -> None:
        self.table = table
        self.tops: dict[int, tuple[int, int | None]] = {0: (0, None)}
        for ask, rows in zip(asks, layers, strict=True):
            for row in rows:
                choice, asked = table.choice(row), ask.pitches[-1]
                is_same_line = any(one.kind in {ChangeKind.MISSING, ChangeKind.ADDED} for one in choice.changes)
                sounds = None if choice.move is None else max(pitches_of(tuning, choice.move))
                self.tops[row] = (asked, asked if is_same_line and sounds is not None else sounds)

    def broken(self, before: int, here: int, *, is_after_rest: bool) -> float:
        """Truth lost by an interval."""
        (asked, given), (asked_before, given_before) = self.tops[here], self.tops[before]
        fit = self.table.weights.fit
        left = [1 - loss_of(self.table.choice(row)) for row in (before, here)]
        if given is None or before == 0:
            return fit.begun * left[1] if given is not None and abs(given - asked) > 4 else 0.0
        if given_before is None:
            return 0.0
        wanted, got = asked - asked_before, given - given_before
        turned = 1.0 if wanted * got < 0 else 0.5 if (wanted == 0) != (got == 0) else 0.0
        leap = min(max(abs(got) - abs(wanted) - 4, 0) / 8, 1.0)
        lost = (fit.turned * turned + fit.leap * leap) * (fit.across_rest if is_after_rest else 1.0)
        off = (given_before != asked_before, given != asked)
        losing = [one for one, is_off in zip(left, off, strict=True) if is_off]
        return lost * sum(losing) / max(len(losing), 1)


def exhaustive_cost(question: Question, tuning_name: str, level: str, key_midi: int) -> float:
    """Least cost over every choice of every event and every set of breaths, by plain enumeration."""
    player, weights = load_player(level), load_weights()
    table = table_for(player, weights)
    scale = question.moved_scale(-key_midi)
    tuned = table.tuned(load_tuning(tuning_name), tongue=question.needs_tongue)
    found = [tuned.rows_for(question.asks[ask], -key_midi, scale) for ask in question.ask_of]
    if any(map(tuned.stands_in, found)):
        found = [tuned.rows_with_octaves(question.asks[ask], -key_midi, scale) for ask in question.ask_of]
    layers = [rows.tolist() for rows in found]
    asks = [question.asks[ask].moved(-key_midi) for ask in question.ask_of]
    line = Line(table, load_tuning(tuning_name), asks, layers)
    count = prod(map(len, layers)) * 2 ** (len(layers) - 1) * 3
    assume(count <= MOST_ROUTES)
    worth = worth_of(question.standing, question.pace, weights)
    pace, air, price = question.pace, air_of(question.pace, weights, player), weights.fit.price_points

    def steps(befores: list[int], heres: list[int], event: int) -> np.ndarray:
        """Points of every step from one row to another, the price of truth included: befores by heres."""
        before, here = np.repeat(befores, len(heres)), np.tile(heres, len(befores))
        of_event = (np.full(len(here), each[event]) for each in (pace.have, pace.gap, pace.duration))
        step = Transition(table.columns, before, here, *of_event, weights, player, np.full(len(here), worth[event]))
        is_after_rest = bool(pace.gap[event] >= 0.35)
        lost = [
            loss_of(table.choice(to)) + line.broken(one, to, is_after_rest=is_after_rest)
            for one in befores
            for to in heres
        ]
        points: np.ndarray = transition_points(step) + price * np.array(lost)
        return points.reshape(len(befores), len(heres))

    # every route is a line of choices; every way to breathe on it, with what was breathed before, a column
    routes = np.indices([len(rows) for rows in layers]).reshape(len(layers), -1)
    more = len(layers) - 1
    breaths = np.array(list(product([False, True], repeat=more)), dtype=bool).reshape(2**more, more)
    starts, prepared = (np.repeat(each, len(breaths)) for each in zip(*air.starts, strict=True))
    breathes = np.column_stack((np.zeros(len(starts), dtype=bool), np.tile(breaths, (len(air.starts), 1))))
    cost = np.zeros((routes.shape[1], len(starts))) + prepared
    level = np.broadcast_to(starts, cost.shape)
    for event, heres in enumerate(layers):
        befores, place = ([0], 0 * routes[0]) if event == 0 else (layers[event - 1], routes[event - 1])
        cost += steps(befores, heres, event)[place, routes[event]][:, np.newaxis]
        away = level - air.middle
        drifted = air.middle + np.where(away > 0, 1, -1) * np.maximum(abs(away) - air.drift[event], 0)
        level = np.where(breathes[:, event], air.middle, drifted)
        cost += np.where(breathes[:, event], air.breath_points[event], 0.0)
        flow = table.columns["flow"][heres][routes[event]]
        wanted = level + np.rint(flow * air.duration[event] / air.unit_litres).astype(int)[:, np.newaxis]
        level = np.clip(wanted, 0, air.top)
        cost += np.array(air.discomfort)[level] + air.beyond_points * abs(wanted - level)
    return float(cost.min())


def asked_at_random(spent: SpentBytes) -> tuple[Phrase, str, str, int]:
    """A phrase, the tuning and the key of a harp, and the level of a player."""
    level = spent.pick(("first-months", "steady", "advanced"))
    return short_phrase(spent), spent.pick(tuning_names()), level, 55 + spent.whole(0, 11)


@pytest.mark.slow
@examples(2000)
@given(built_from_bytes(asked_at_random, size=BYTES_OF_A_PHRASE + 3))
def test_the_search_equals_exhaustive_enumeration(asked):
    phrase, tuning_name, level, key_midi = asked
    question = question_of(phrase)
    expected = exhaustive_cost(question, tuning_name, level, key_midi)
    table = table_for(load_player(level), load_weights())
    price = table.weights.fit.price_points
    lattice = lattice_of(table, question, [Case(load_tuning(tuning_name), -key_midi)], price_points=price)
    air = air_of(question.pace, table.weights, table.player)
    path = shortest_path(relaxed_costs(lattice).layers(0, table.columns["flow"]), air)
    assert path.cost == pytest.approx(expected, abs=1e-6)


@pytest.mark.slow
@examples(40)
@given(phrase=short_phrases(most_events=7), level=st.sampled_from(["easy", "steady", "advanced"]))
def test_a_survey_ranks_as_searching_every_case_in_full_does(phrase, level):
    player = load_player(level)
    harps = [make_harp(key, name) for name in ("standard", "solo", "diminished") for key in ("G", "A", "C", "D", "F")]
    short = survey(phrase, harps, player=player, top=4)
    full = survey(phrase, harps, player=player, top=10_000)
    assert full.exact == full.cases
    assert [line.score for line in short.ranked] == pytest.approx([line.score for line in full.ranked[:4]])
    for line in full.ranked:
        route = find_route(phrase, line.harp, shift_semitones=line.shift_semitones, player=player)
        lost = (1 - route.truth) * len(route.events)
        fit = load_weights().fit
        terms = convention_of(phrase, player, load_weights()).terms(line.harp, line.shift_semitones)
        custom = sum(terms.values())
        assert line.score == pytest.approx(route.effort.total + fit.price_points * lost + custom)


def test_the_score_of_a_line_is_that_of_its_route():
    phrase = Phrase(
        tuple(Event(Fraction(i, 2), Fraction(1, 2), (midi,)) for i, midi in enumerate((64, 67, 69, 71, 74)))
    )
    for line in survey(phrase, top=5).ranked:
        route = line.route()
        assert line.effort.total == pytest.approx(route.effort.total)
        assert line.truth == pytest.approx(route.truth)
        assert line.worst == pytest.approx(route.worst.effort)
        again = find_route(phrase, line.harp, shift_semitones=line.shift_semitones)
        assert again.effort.total == pytest.approx(route.effort.total)


def test_the_dearer_choice_wins_where_the_cheaper_one_runs_out_of_air():
    whole = Fraction(12)  # 7.2 s at 100 quarter notes a minute: 0.86 litres a note
    question = question_of(Phrase(tuple(Event(i * whole, whole, (67,)) for i in range(4))))
    air = air_of(question.pace, load_weights(), load_player())
    free = [[0.0, 0.5], [0.0, 0.5]]  # drawing costs nothing, blowing half a point
    layers = [Layer(free[:1] if i == 0 else free, [0.0, 0.0], [0.12, -0.12]) for i in range(4)]
    breathless = air.__class__(
        air.top, air.middle, air.unit_litres, air.drift, [float("inf")] * 4, air.duration, air.discomfort,
        air.beyond_points,
    )  # fmt: skip
    path = shortest_path(layers, breathless)
    assert path.choices in {(0, 1, 0, 1), (1, 0, 1, 0)}
    assert path.cost == pytest.approx(1.0)
