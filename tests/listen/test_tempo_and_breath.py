"""How fast a play-through is, whether its tempo is kept, and what air it takes, worked out by hand."""

from __future__ import annotations

import math

import pytest

from reedpath.arrange import load_weights
from reedpath.data import replace
from reedpath.listen import EventAnswer, FaultKind, LinedUp, PlacedEvent, PlayThrough, Verdict
from reedpath.listen.tempo_and_breath import breath_of_play, tempo_of_play
from support.built_routes import built_route
from support.listened import perfect_event, with_fault

ROUTE = built_route("2d:1 3d 4b 4d 5d 4d 4b 3d 2d", bpm=90.0)
AIR = load_weights().air
# litres of a second on one hole
FLOW = AIR.flow_litres_per_second


def played(paces: list[float], *, first: int = 0, seconds: float = 1.0, factor: float = 0.8) -> PlayThrough:
    """A play-through whose events are due so many seconds apart, each at its pace."""
    events = tuple(
        PlacedEvent(first + number, number * seconds, number * seconds + 0.5, True, number * seconds, pace, 1.0)
        for number, pace in enumerate(paces)
    )
    return PlayThrough(0.0, len(paces) * seconds, factor, events, True, (), (), 1.0)


def told(play: PlayThrough, *, late: tuple[float | None, ...] = ()):
    answers = [replace(perfect_event(ROUTE, 0, 0.0), late_seconds=one) for one in late]
    return tempo_of_play(LinedUp(ROUTE, None, None, (play,)), play, answers)


def test_the_tempo_is_that_of_the_phrase_by_the_play_throughs_speed():
    tempo = told(played([1.0] * 8))
    assert (tempo.factor, tempo.bpm, tempo.drift, tempo.kept) == (0.8, 72.0, pytest.approx(0.0), True)


@pytest.mark.parametrize(("growth", "kept"), [(1.2, False), (1.05, True), (0.95, True), (0.8, False)])
def test_a_tempo_that_grows_or_wanes_is_told_by_its_growth(growth, kept):
    # seconds that a written second takes, shrinking as the tempo grows
    paces = [growth ** (-number / 7) for number in range(8)]
    tempo = told(played(paces))
    assert tempo.drift == pytest.approx(growth - 1.0)
    assert tempo.kept is kept


@pytest.mark.parametrize(("sway", "kept"), [(0.099, True), (0.1, False)])
def test_a_tempo_that_goes_up_and_down_is_not_kept(sway, kept):
    tempo = told(replace(played([1.0] * 8), tempo_sway=sway))
    assert (tempo.sway, tempo.kept, tempo.sways) == (sway, kept, not kept)


def test_no_drift_is_told_of_little():
    paces = [1.3 ** (-number / 5) for number in range(6)]
    assert told(played(paces[:5])).drift == 0.0
    assert told(played(paces, seconds=0.59)).drift == 0.0
    assert told(played(paces, seconds=0.6)).drift == pytest.approx(0.3)


def test_the_spread_is_that_of_what_is_about_in_time():
    spread = told(played([1.0] * 8), late=(0.02, -0.02, 0.02, -0.02, 0.15, None)).spread_ms
    assert spread == pytest.approx(20.0)
    assert told(played([1.0] * 8)).spread_ms == 0.0


def sounding(index: int, start: float, end: float) -> EventAnswer:
    return replace(perfect_event(ROUTE, index, 0.0), start_seconds=start, end_seconds=end)


def test_drawing_fills_and_blowing_empties():
    # 2 draw and 3 draw on one breath, then 4 blow at once
    air = breath_of_play([sounding(0, 0.0, 2.0), sounding(1, 2.0, 3.0), sounding(2, 3.0, 4.0)])
    assert air.net_litres == pytest.approx(2 * FLOW)
    assert air.highest_litres == pytest.approx(3 * FLOW)
    assert air.lowest_litres == 0.0
    assert (air.longest_draw_seconds, air.longest_draw_from) == (3.0, 0)
    assert (air.longest_blow_seconds, air.longest_blow_from) == (1.0, 2)


def test_silence_lets_the_air_come_back_to_the_middle():
    recovery = AIR.recovery_litres_per_second
    draw, blow = sounding(0, 0.0, 10.0), sounding(2, 0.0, 10.0)
    for one, side in ((draw, 1.0), (blow, -1.0)):
        for rest in (0.5, 5.0):
            after = replace(one, start_seconds=10.0 + rest, end_seconds=20.0 + rest)
            air = breath_of_play([one, after])
            left = max(0.0, 10 * FLOW - recovery * rest)
            assert air.net_litres == pytest.approx(side * 20 * FLOW)
            furthest = air.highest_litres if side > 0 else air.lowest_litres
            assert furthest == pytest.approx(side * max(10 * FLOW, left + 10 * FLOW))


def test_a_rest_ends_a_stretch_of_one_breath_and_a_gap_does_not():
    assert breath_of_play([sounding(0, 0.0, 1.0), sounding(1, 1.15, 2.0)]).longest_draw_seconds == 2.0
    air = breath_of_play([sounding(0, 0.0, 1.0), sounding(1, 1.2, 3.0)])
    assert (air.longest_draw_seconds, air.longest_draw_from) == (pytest.approx(1.8), 1)
    assert (air.longest_blow_seconds, air.longest_blow_from) == (0.0, None)


def test_where_the_air_is_fullest_is_told_and_the_last_rest_before_it():
    after_a_rest = [sounding(0, 0.0, 1.0), sounding(1, 1.3, 2.0), sounding(8, 2.0, 4.0), sounding(2, 4.0, 5.0)]
    air = breath_of_play(after_a_rest)
    assert (air.fullest_at, air.rest_to_fullest) == (8, 0)
    assert (air.emptiest_at, air.rest_to_emptiest) == (None, None)
    joined = breath_of_play([sounding(0, 0.0, 2.0), sounding(1, 2.1, 6.0), sounding(2, 6.5, 14.0)])
    assert (joined.fullest_at, joined.rest_to_fullest) == (1, None)
    assert (joined.emptiest_at, joined.rest_to_emptiest) == (2, 1)


def test_the_air_is_that_of_what_sounded():
    missed = with_fault(sounding(0, 0.0, 2.0), FaultKind.MISSED, 0.0)
    assert missed.verdict is Verdict.MISSED
    another = with_fault(sounding(0, 2.0, 3.0), FaultKind.ANOTHER, 100.0, heard=ROUTE.events[2].choice.move)
    air = breath_of_play([missed, another])
    assert air.net_litres == pytest.approx(-FLOW)
    assert (air.longest_draw_from, air.longest_blow_from) == (None, 0)
    wide = built_route("(1 2 3)d:1")
    chord = replace(perfect_event(wide, 0, 0.0), start_seconds=0.0, end_seconds=1.0)
    assert breath_of_play([chord]).net_litres == pytest.approx(FLOW * (1 + 2 * AIR.hole_share))
    assert math.isclose(breath_of_play([]).net_litres, 0.0)
