from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.lesson import ladder_of, metronome_bpm
from reedpath.lesson.ladder import FELT_STEP, METRONOME, RUNG_NAMES, SLOWEST, spot_ladder
from reedpath.phrase import Metre
from reedpath.wording import catalogue_names, load_catalogue
from support.built_routes import built_route
from support.examples import examples
from support.lesson_routes import routes


@given(routes(most=20))
@examples(80)
def test_a_ladder_rises_to_full_tempo_in_steps_that_are_felt(route: Route) -> None:
    ladder = ladder_of(route)
    full = route.phrase.tempos[0].bpm
    assert (ladder[-1].name, ladder[-1].factor, ladder[-1].bpm) == ("full", 1.0, full)
    for slower, faster in pairwise(ladder):
        assert faster.bpm >= slower.bpm * FELT_STEP * (1 - 1e-9)
    assert all(rung.factor == pytest.approx(rung.bpm / full) for rung in ladder)
    assert tuple(rung.name for rung in ladder) in {("full",), *RUNG_NAMES.values()}


def test_a_hard_phrase_starts_slower_than_an_easy_one() -> None:
    easy, hard = ladder_of(built_route("4b:2 5b:2 6b:2")), ladder_of(built_route("4d' 2b 3d'' 6bo 2d''"))
    assert hard[0].factor < easy[0].factor
    assert hard[0].factor >= SLOWEST * 0.95
    assert len(hard) > len(easy)


def test_the_search_may_ask_for_a_slower_start() -> None:
    route = built_route("4b:2 5b:2 6b:2", bpm=100)
    assert ladder_of(route)[0].bpm == 76.0
    assert ladder_of(replace(route, comfortable=0.5))[0].bpm == 50.0
    assert ladder_of(replace(route, comfortable=2.0))[0].bpm == 76.0


def test_tempos_stand_on_the_metronome_in_counted_beats() -> None:
    ladder = ladder_of(built_route("4b 4d 5b 5d", bpm=100))
    assert all(rung.bpm in METRONOME for rung in ladder)
    compound = ladder_of(built_route("4b 4d 5b 5d", bpm=150, metres=[Metre(Fraction(0), 6, 8)]))
    assert all(rung.bpm / 1.5 in METRONOME for rung in compound)


def test_a_spot_starts_slower_than_the_whole() -> None:
    route = built_route("4b 4d 5b 5d 6b 6d 7d 7b")
    assert spot_ladder(route, 2, 4)[0].bpm < ladder_of(route)[0].bpm


@pytest.mark.parametrize("bpm", [2.0, 30.0, 999.0])
def test_odd_tempos_still_have_a_ladder(bpm: float) -> None:
    assert ladder_of(built_route("4b 4d 5b", bpm=bpm))[-1].bpm == bpm


def test_an_empty_route_has_a_ladder() -> None:
    assert ladder_of(built_route(""))[-1].name == "full"


@given(st.floats(40, 208))
def test_the_metronome_gives_the_nearest_of_its_tempos(bpm: float) -> None:
    assert abs(metronome_bpm(bpm) - bpm) == min(abs(tempo - bpm) for tempo in METRONOME)


def test_every_rung_has_its_name_and_its_sentence_in_every_language() -> None:
    for language in catalogue_names():
        catalogue = load_catalogue(language)
        for name in {name for names in RUNG_NAMES.values() for name in names}:
            assert catalogue.has(f"rung.{name}")
            assert "60" in catalogue.say(f"ladder.{name}", bpm="60")
