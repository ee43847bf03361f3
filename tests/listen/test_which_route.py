"""How much of a play-through is played on in time, and which of many routes a take plays."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from listen_faults import TEST_PHRASES, TUNING_PHRASES
from reedpath.harp import make_harp
from reedpath.hear import observe
from reedpath.listen import RouteHeard, TakeHearings, routes_heard, routes_heard_elsewhere
from reedpath.listen.play_through import Pause, on_harp_of
from reedpath.listen.which_route import orderly_share
from reedpath.sound import play_along
from support.built_routes import built_lesson, built_route
from support.play_throughs import play_through

EVEN = play_through([(event, 0.5 * event, 0.5 * event + 0.4) for event in range(24)])


def _late(play, seconds: float):
    late = [replace(one, start_seconds=one.start_seconds + seconds * (-1) ** one.event) for one in play.events]
    return replace(play, events=tuple(late))


def test_a_long_play_through_in_time_is_believed_and_a_short_one_half() -> None:
    assert orderly_share(EVEN) == pytest.approx(0.8)
    assert orderly_share(replace(EVEN, events=EVEN.events[:6])) == pytest.approx(0.5)


def test_stops_and_onsets_out_of_time_speak_against_it() -> None:
    stops = tuple(Pause(before, 1.0) for before in (4, 8, 12))
    assert orderly_share(replace(EVEN, pauses=stops)) == pytest.approx(0.5)
    assert orderly_share(_late(EVEN, 0.1)) == pytest.approx(0.8 * 0.3679, rel=1e-3)
    assert orderly_share(_late(EVEN, 0.02)) > 0.6


def test_nothing_heard_is_nothing() -> None:
    assert orderly_share(play_through([(0, 0.0, 0.4)], missed=[0])) == 0.0


# eleven phrases of bends, some of which share runs of notes
ROUTES = [built_route(text, key=key, bpm=bpm) for key, bpm, text in (*TEST_PHRASES, *TUNING_PHRASES)]
MATTERS, NEXT_TO = 0.4, 1.5


def hearings_of(route):
    lesson = built_lesson(route, factors=(1.0,))
    return TakeHearings(observe(play_along(lesson, lesson.ladder[0])))


@pytest.mark.parametrize("played", [0, 4, 7])
def test_only_routes_that_cannot_matter_are_left_out(played) -> None:
    hearings = hearings_of(ROUTES[played])
    every = routes_heard(hearings, ROUTES)
    some = routes_heard(hearings, ROUTES, at_least=MATTERS, next_to=NEXT_TO)
    most = max(one.share for one in every)
    assert every[played] == some[played]
    assert every[played].share == most > 0.8
    for whole, quick in zip(every, some, strict=True):
        assert quick in (whole, RouteHeard(0.0, 0.0))
        assert quick == whole or whole.share < MATTERS or whole.share * NEXT_TO <= most


def test_a_hearing_is_made_once_for_harps_of_the_same_reach() -> None:
    hearings = hearings_of(ROUTES[1])
    assert hearings.on(ROUTES[1].harp)[0] is hearings.on(make_harp("C"))[0]
    assert hearings.on(make_harp("D"))[0] is not hearings.on(make_harp("C"))[0]


@pytest.mark.slow
def test_another_harp_is_found_among_many_routes_by_the_order_of_the_notes() -> None:
    hearings = hearings_of(on_harp_of(ROUTES[0], 2))
    found = routes_heard_elsewhere(hearings, ROUTES[:5], at_least=MATTERS)
    assert found[0].share > 0.8
    assert max(one.share for one in found[1:]) * NEXT_TO < found[0].share
