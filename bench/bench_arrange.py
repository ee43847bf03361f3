"""Speed of the search: survey, corpus, and the same search by a general graph library, in one run.

pytest bench/bench_arrange.py --benchmark-only
"""

from __future__ import annotations

import itertools

import pytest

from graph_library import graph_cost
from reedpath.arrange import all_harps, find_route, load_player, load_weights, survey
from reedpath.arrange.lattice import Case
from reedpath.harp import load_tuning, make_harp
from workloads import CORPUS_TUNES, corpus_phrases, survey_phrase


def test_survey_of_200_notes_over_all_keys_tunings_and_octaves(benchmark):
    phrase, harps = survey_phrase(), all_harps()
    found = benchmark.pedantic(survey, (phrase, harps), rounds=20, warmup_rounds=2)
    benchmark.extra_info["cases"] = found.cases
    assert len(found.ranked) == 12


def test_exact_search_of_three_cases(benchmark):
    phrase, harps = survey_phrase(), [make_harp(key) for key in ("A", "D", "G")]

    def all_three():
        return [find_route(phrase, harp).effort.total for harp in harps]

    assert len(benchmark.pedantic(all_three, rounds=5, warmup_rounds=1)) == 3


def test_the_same_three_cases_by_a_graph_library(benchmark):
    phrase, player, weights = survey_phrase(), load_player(), load_weights()
    cases = [Case(load_tuning("standard"), -make_harp(key).key_midi) for key in ("A", "D", "G")]

    def all_three():
        return [graph_cost(phrase, case, player, weights) for case in cases]

    costs = benchmark.pedantic(all_three, rounds=1)
    price = weights["fit"]["price_points"]
    for cost, key in zip(costs, ("A", "D", "G"), strict=True):
        route = find_route(phrase, make_harp(key))
        assert cost == pytest.approx(route.effort.total + price * (1 - route.truth) * len(route.events))


def test_arranging_a_thousand_tunes(benchmark):
    phrases, harps = corpus_phrases(CORPUS_TUNES), itertools.cycle([make_harp(key) for key in ("G", "A", "C", "D")])

    def all_of_them():
        return sum(len(find_route(phrase, harp).events) for phrase, harp in zip(phrases, harps, strict=False))

    assert benchmark.pedantic(all_of_them, rounds=1, warmup_rounds=0) > CORPUS_TUNES
