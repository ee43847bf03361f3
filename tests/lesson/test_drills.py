from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from msgspec.structs import replace

from reedpath.arrange import Effort, Route, Spot, find_route
from reedpath.harp import make_harp
from reedpath.lesson import LessonPart, drill_phrase, drill_route, drills_of, make_lesson
from reedpath.lesson.drills import LONGEST, MOST
from reedpath.phrase import Metre, bars, timing_of
from support.built_routes import built_route
from support.examples import examples
from support.lesson_routes import routes

RIFF = "2d 3d' 4b 4d:1 4d 3d' 2d:1"


def with_spots(route: Route, *spots: Spot) -> Route:
    return replace(route, spots=spots)


@given(routes(most=30))
@examples(80)
def test_drills_are_few_short_and_inside_a_spot(route: Route) -> None:
    drills = drills_of(route)
    assert len(drills) <= MOST
    for drill in drills:
        assert 0 <= drill.spot.last - drill.spot.first < LONGEST
        assert any(one.first <= drill.spot.first and drill.spot.last <= one.last for one in route.spots)
        assert drill.times >= 1
        assert drill.ladder[-1].name == "full"
    assert [drill.spot.effort for drill in drills] == sorted((one.spot.effort for one in drills), reverse=True)


@given(routes(most=30))
@examples(80)
def test_a_drill_phrase_is_the_stretch_at_its_own_speed_and_swing(route: Route) -> None:
    timing = timing_of(route.phrase)
    for drill in drills_of(route):
        first, last = drill.spot.first, drill.spot.last
        phrase = drill_phrase(route, drill.spot)
        stretch = route.phrase.events[first : last + 1]
        assert [event.midi for event in phrase.events] == [event.midi for event in stretch]
        own = timing_of(phrase)
        start = phrase.events[0].onset
        assert 0 <= start < 1
        for event, given_event in zip(phrase.events, stretch, strict=True):
            assert event.onset - start == given_event.onset - stretch[0].onset
            seconds = own.seconds_at(event.onset) - own.seconds_at(start)
            expected = timing.seconds_at(given_event.onset) - timing.seconds_at(stretch[0].onset)
            if phrase.metres[0].bar % 1 == 0:  # swing follows the beats, which shorter bars shift
                assert seconds == pytest.approx(expected, abs=1e-9)


@given(routes(most=30))
@examples(50)
def test_a_drill_route_can_be_made_a_lesson_of_its_own(route: Route) -> None:
    for drill in drills_of(route):
        apart = drill_route(route, drill.spot)
        assert [one.choice for one in apart.events] == [
            one.choice for one in route.events[drill.spot.first : drill.spot.last + 1]
        ]
        assert tuple(one.event for one in apart.events) == apart.phrase.events
        assert make_lesson(apart).route.events


def test_a_drill_of_half_a_beat_goes_straight_where_a_triplet_after_it_says_so() -> None:
    route = built_route("4b:1/4 4d:1/4 5b:1/3 5d:1/4 6b:2/3", swing=Fraction(2))
    phrase = drill_phrase(route, Spot(0, 1, 1.0, ()))
    whole, own = timing_of(route.phrase), timing_of(phrase)
    assert own.seconds_at(Fraction(1, 4)) == whole.seconds_at(Fraction(1, 4)) == pytest.approx(0.15)


def test_the_bar_lines_of_a_drill_stay_where_they_were() -> None:
    route = built_route("4b:1 4d:1 5b:1 5d:1/2 6b:1/2 6d:1 7d:1 7b:2", metres=[Metre(Fraction(0), 4, 4)])
    phrase = drill_phrase(route, Spot(4, 6, 1.0, ()))
    assert (phrase.events[0].onset, phrase.pickup) == (Fraction(1, 2), Fraction(1))
    assert bars(phrase)[1].onset == phrase.events[1].onset


def test_a_spot_in_a_repeated_part_is_drilled_once() -> None:
    route = built_route(f"{RIFF} r:1 {RIFF} r:1 5d 4d 4b 3d' 2d:2")
    again = with_spots(route, Spot(0, 3, 3.0, ("move",)), Spot(7, 10, 3.0, ("move",)))
    assert [drill.spot.first for drill in drills_of(again)] == [0]


def test_a_long_spot_is_split_with_a_note_that_leads_in() -> None:
    figure = "4b 4d' 5b 3d'' 6b 2d''"
    route = built_route(f"{figure} {figure} 6d 6d' 6b 5d 5b 3d'")
    events = tuple(replace(one, effort=Effort({"move": 1.0})) for one in route.events)
    route = with_spots(replace(route, events=events), Spot(0, 17, 18.0, ("move",)))
    whole = LessonPart("A", 0, 17, found=True)
    spots = sorted((drill.spot.first, drill.spot.last, drill.spot.effort) for drill in drills_of(route, [whole]))
    assert spots == [(0, 7, 8.0), (7, 14, 8.0), (14, 17, 4.0)]


def test_no_spot_no_drill() -> None:
    assert drills_of(built_route(RIFF)) == ()
    assert drills_of(built_route("")) == ()


def test_spots_of_a_searched_route_become_drills_with_their_lead_in() -> None:
    phrase = built_route("2d 3d 4b 3d'' 4b 4d' 3d' 2d'' 2d", bpm=150).phrase
    route = find_route(phrase, make_harp("C"))
    drills = make_lesson(route).drills
    assert drills
    assert all(drill.spot.last > drill.spot.first for drill in drills)
