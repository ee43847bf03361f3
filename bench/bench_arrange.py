"""Speed of the search: survey, corpus, and the same search by a general graph library, in one run.

pytest bench/bench_arrange.py --benchmark-only
"""

from __future__ import annotations

import itertools

import pytest

from graph_library import graph_cost
from reedpath.arrange import all_harps, find_route, load_player, load_weights, octave_shifts, survey
from reedpath.arrange.convention import convention_of
from reedpath.arrange.finding import question_of
from reedpath.arrange.surveying import _cases
from reedpath.harp import load_tuning, make_harp
from workloads import CORPUS_TUNES, corpus_phrases, survey_phrase


def test_survey_of_200_notes_over_all_keys_tunings_and_octaves(benchmark):
    phrase, harps = survey_phrase(), all_harps()
    found = benchmark.pedantic(survey, (phrase, harps), rounds=20, warmup_rounds=2)
    benchmark.extra_info["cases"] = found.cases
    assert len(found.ranked) == 12


def test_survey_of_200_notes_over_all_keys_and_octaves_of_one_tuning(benchmark):
    harps = all_harps([load_tuning("standard")])
    found = benchmark.pedantic(survey, (survey_phrase(), harps), rounds=10, warmup_rounds=2)
    benchmark.extra_info["cases"] = found.cases


def test_the_same_survey_by_a_graph_library(benchmark):
    phrase, player, weights = survey_phrase(), load_player(), load_weights()
    harps = all_harps([load_tuning("standard")])
    cases, ways = _cases(question_of(phrase), harps, octave_shifts())
    convention = convention_of(phrase, player, weights)

    def all_of_them():
        return [
            graph_cost(phrase, case, player, weights) + sum(convention.terms(*way[0]).values())
            for case, way in zip(cases, ways, strict=True)
        ]

    scores = benchmark.pedantic(all_of_them, rounds=1)
    benchmark.extra_info["cases"] = len(cases)
    ours = [line.score for line in survey(phrase, harps).ranked]
    assert sorted(scores)[: len(ours)] == pytest.approx(ours)


def test_arranging_a_thousand_tunes(benchmark):
    phrases, harps = corpus_phrases(CORPUS_TUNES), itertools.cycle([make_harp(key) for key in ("G", "A", "C", "D")])

    def all_of_them():
        return sum(len(find_route(phrase, harp).events) for phrase, harp in zip(phrases, harps, strict=False))

    assert benchmark.pedantic(all_of_them, rounds=1, warmup_rounds=0) > CORPUS_TUNES
