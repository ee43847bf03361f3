"""Swing: heard at known ratios, told where it is a habit, and nothing told where too little says so."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.listen import FaultKind
from reedpath.listen.expected import score_of
from reedpath.listen.swing import swing_ground, swing_played, with_swing
from reedpath.phrase import Metre, timing_of
from support.built_routes import built_route

TEXT = "2d 3d' 4b 4d' 4d 5d 6b:1 5d 4d 4d' 4b 3d' 2d 2d 3d'' 3d 4d 5b 6b:1 4d 5d 4d 4b 3d 2d 2d:2"
PAIRS = 13


def played(route, ratio, *, factor=1.0, late=(), start=0.7):
    """Onsets of all notes where another swing puts them; some so many seconds late, by place."""
    timing = timing_of(with_swing(route, ratio).phrase)
    at = np.array([start + timing.seconds_at(one.event.onset) / factor for one in route.events])
    for place, seconds in dict(late).items():
        at[place] += seconds
    return at


def heard(route, ratio, **changes):
    at = played(route, ratio, **changes)
    return swing_played(swing_ground(route, score_of(route)), [(range(len(at)), at)])


def told(asked, ratio, *, bpm=100.0, **changes):
    return heard(built_route(TEXT, bpm=bpm, swing=Fraction(asked)), ratio, **changes).kind


@given(
    st.sampled_from([Fraction(1), Fraction(3, 2), Fraction(2), Fraction(3)]), st.floats(0.7, 3.5), st.floats(0.4, 1.6)
)
def test_the_ratio_is_the_one_that_was_played_whatever_is_asked_and_however_fast(asked, ratio, factor):
    ratio = float(Fraction(ratio).limit_denominator(100))
    found = heard(built_route(TEXT, swing=asked), ratio, factor=factor)
    assert found.heard == pytest.approx(ratio, rel=0.03)
    assert (found.asked, found.pairs) == (float(asked), PAIRS)


# straight to 1.5 to 1 and a shuffle, played so, too little and too much; the least that is told is soloists' 1.3 to 1
@pytest.mark.parametrize(
    ("asked", "ratio", "kind"),
    [
        (1, 1.0, None),
        (1, 1.25, None),
        (1, 1.35, FaultKind.SWUNG),
        (1, 2.0, FaultKind.SWUNG),
        (1, 0.8, None),
        (1, 0.7, FaultKind.SHORT_FIRST),
        (2, 2.0, None),
        (2, 1.6, None),
        (2, 2.6, None),
        (2, 1.0, FaultKind.NOT_SWUNG),
        (2, 1.1, FaultKind.NOT_SWUNG),
        (2, 1.35, FaultKind.SWINGS_LESS),
        (2, 3.0, FaultKind.SWINGS_MORE),
        (Fraction(1, 2), 0.5, None),
        (Fraction(1, 2), 1.0, FaultKind.LONG_FIRST),
    ],
)
def test_what_is_told_of_a_ratio(asked, ratio, kind):
    assert told(asked, ratio) == kind


def test_nobody_need_swing_more_than_drummers_do_at_that_tempo():
    assert told(2, 1.2, bpm=120.0) is FaultKind.SWINGS_LESS
    assert told(2, 1.2, bpm=240.0) is None
    assert told(2, 1.0, bpm=300.0) is None


def test_the_notes_that_are_off_are_named_and_some_late_ones_are_no_habit():
    route = built_route(TEXT, swing=Fraction(2))
    ground = swing_ground(route, score_of(route))
    halves = tuple(np.flatnonzero(ground.on_half))
    assert heard(route, 1.0).events == halves
    late = {place: 0.08 for place in halves[:5]}
    assert told(1, 1.0, late=late) is None
    assert heard(built_route(TEXT), 1.0, late=late).events == ()


@pytest.mark.parametrize(
    "route",
    [
        built_route("4d:1 5d:1 4d:1 4b:1 4d 5d 4d 5d 4d:1 4b:1"),  # two pairs only
        built_route("4d:1 5d:1 6b:1 4d:1 5d:1 6b:1 4d:2"),
        built_route(TEXT, metres=[Metre(Fraction(0), 6, 8)]),
        built_route("4d:1/4 5d:1/4 4d:1/4 5d:1/4 " * 8),
    ],
    ids=["two pairs", "quarters", "6/8", "sixteenths"],
)
def test_nothing_is_told_where_there_are_too_few_pairs_of_eighths(route):
    ground = swing_ground(route, score_of(route))
    at = played(route, 1.0)
    assert swing_played(ground, [(range(len(at)), at)]) is None


def test_what_is_played_again_after_going_back_counts_by_itself():
    route = built_route(TEXT, swing=Fraction(2))
    at = played(route, 1.0)
    ground = swing_ground(route, score_of(route))
    found = swing_played(ground, [(range(12), at[:12]), (range(8, len(at)), at[8:] + 3.0)])
    assert found.kind is FaultKind.NOT_SWUNG
    assert found.heard == pytest.approx(1.0, rel=0.03)
