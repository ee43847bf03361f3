"""Swing: heard at known ratios, told where it is a habit, and nothing told where too little says so."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import replace
from reedpath.listen import BeatDivision, FaultKind
from reedpath.listen.align import line_up_heard
from reedpath.listen.beat_divisions import swing_grounds
from reedpath.listen.expected import score_of
from reedpath.listen.swing import score_as_played, swing_played, with_swing
from reedpath.phrase import LeftOut, Metre, timing_of
from support.built_routes import built_route
from support.heard_takes import HeardTake

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
    return swing_played(swing_grounds(route, score_of(route)), [(range(len(at)), at)])


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
    (ground,) = swing_grounds(route, score_of(route))
    halves = tuple(np.flatnonzero(ground.is_second))
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
        built_route("4d:1/3 5d:1/3 4d:1/3 5b:1 " * 8),
        built_route("4d:1/2 5d:1/2 4d:1/2 5b:1/2 " * 8, metres=[Metre(Fraction(0), 7, 8)]),
    ],
    ids=["two pairs", "quarters", "6/8", "triplets", "7/8"],
)
def test_nothing_is_told_where_too_few_beats_are_in_two(route):
    grounds = swing_grounds(route, score_of(route))
    at = played(route, 1.0)
    assert swing_played(grounds, [(range(len(at)), at)]) is None


def test_what_is_played_again_after_going_back_counts_by_itself():
    route = built_route(TEXT, swing=Fraction(2))
    at = played(route, 1.0)
    grounds = swing_grounds(route, score_of(route))
    found = swing_played(grounds, [(range(12), at[:12]), (range(8, len(at)), at[8:] + 3.0)])
    assert found.kind is FaultKind.NOT_SWUNG
    assert found.heard == pytest.approx(1.0, rel=0.03)


PITCHES = ("2d", "3d'", "4b", "4d'", "4d", "5d", "6b", "5d", "4d", "4d'", "4b", "3d'")


def pairs(lengths, *, beats=12, **changes):
    """A route of beats that hold notes of these lengths."""
    each = [
        f"{PITCHES[(beat + place) % 12]}:{length}" for beat in range(beats) for place, length in enumerate(lengths)
    ]
    return built_route(" ".join(each), **changes)


TWELVE_EIGHT = (Metre(Fraction(0), 12, 8),)
TRIPLET = pairs(("2/3", "1/3"))
COMPOUND = pairs(("1", "1/2"), metres=TWELVE_EIGHT)
DOTTED = pairs(("3/4", "1/4"))
SIXTEENTHS = pairs(("1/4",) * 4, beats=6, bpm=80.0)


def divided(route, ratio, *, factor=1.0, start=0.4):
    """Onsets where each second note comes so late that the first is `ratio` times as long."""
    timing, (ground,) = timing_of(route.phrase), swing_grounds(route, score_of(route))
    at = np.array([timing.seconds_at(one.event.onset) for one in route.events])
    moved = (ratio / (1 + ratio) - ground.asked.written) * ground.pair_seconds
    return start + (at + np.where(ground.is_second, moved, 0.0)) / factor


@pytest.mark.parametrize(
    ("route", "division", "asked"),
    [
        (TRIPLET, BeatDivision.LONG_SHORT, 2.0),
        (COMPOUND, BeatDivision.LONG_SHORT, 2.0),
        (DOTTED, BeatDivision.DOTTED, 3.0),
        (SIXTEENTHS, BeatDivision.SIXTEENTHS, 1.0),
    ],
    ids=["triplet", "12/8", "dotted", "sixteenths"],
)
@pytest.mark.parametrize("ratio", [1.0, 1.4, 2.0, 3.0])
def test_the_ratio_of_other_divisions_is_the_one_that_was_played(route, division, asked, ratio):
    at = divided(route, ratio, factor=0.8)
    found = swing_played(swing_grounds(route, score_of(route)), [(range(len(at)), at)])
    assert (found.division, found.asked) == (division, asked)
    assert found.heard == pytest.approx(ratio, rel=0.03)


# a shuffle is two to one (German Wikipedia), played evenly and dotted; a dotted pair may be played like a shuffle;
# the least that is told is soloists' 1.3 to 1 (see above)
@pytest.mark.parametrize(
    ("route", "ratio", "kind"),
    [
        (TRIPLET, 2.0, None),
        (TRIPLET, 1.0, FaultKind.NOT_SWUNG),
        (TRIPLET, 1.4, FaultKind.SWINGS_LESS),
        (TRIPLET, 3.0, FaultKind.SWINGS_MORE),
        (COMPOUND, 2.0, None),
        (COMPOUND, 1.0, FaultKind.NOT_SWUNG),
        (COMPOUND, 3.0, FaultKind.SWINGS_MORE),
        (DOTTED, 3.0, None),
        (DOTTED, 2.0, None),
        (DOTTED, 1.0, FaultKind.NOT_SWUNG),
        (DOTTED, 1.4, FaultKind.SWINGS_LESS),
        (DOTTED, 5.0, FaultKind.SWINGS_MORE),
        (SIXTEENTHS, 1.0, None),
        (SIXTEENTHS, 1.2, None),
        (SIXTEENTHS, 1.6, FaultKind.SWUNG),
        (SIXTEENTHS, 0.6, FaultKind.SHORT_FIRST),
    ],
)
def test_what_is_told_of_other_divisions(route, ratio, kind):
    at = divided(route, ratio)
    found = swing_played(swing_grounds(route, score_of(route)), [(range(len(at)), at)])
    assert found.kind is kind
    assert len(found.events) == (found.pairs if kind else 0)


def test_an_upbeat_of_an_eighth_moves_the_beats_of_six_eight():
    lead = built_route("5b:1/2 " + " ".join(f"{one}:1 {two}:1/2" for one, two in [("4d", "4b")] * 8),
                       metres=[Metre(Fraction(0), 6, 8)], pickup=Fraction(1, 2))  # fmt: skip
    (ground,) = swing_grounds(lead, score_of(lead))
    assert list(np.flatnonzero(ground.is_second)) == [0, *range(2, 17, 2)]
    assert list(np.flatnonzero(ground.on_beat)) == list(range(1, 17, 2))


def test_sixteenths_that_the_source_swings_are_not_judged():
    phrase = replace(SIXTEENTHS.phrase, left_out=(LeftOut("short-swing"),))
    assert swing_grounds(replace(SIXTEENTHS, phrase=phrase), score_of(SIXTEENTHS)) == ()


def test_swung_eighths_do_not_make_sixteenths_among_them_swing():
    text = " ".join("4d:1/4 5d:1/4 4d:1/4 5b:1/4 4b:1/2 4d:1/2" for _ in range(8))
    asked, as_swung = built_route(text), built_route(text, swing=Fraction(2))
    at = np.array([timing_of(as_swung.phrase).seconds_at(one.event.onset) for one in asked.events])
    found = swing_played(swing_grounds(asked, score_of(asked)), [(range(len(at)), at)])
    assert (found.division, found.kind) == (BeatDivision.EIGHTHS, FaultKind.SWUNG)


@pytest.mark.parametrize("route", [TRIPLET, COMPOUND, DOTTED, SIXTEENTHS])
def test_events_are_due_where_the_swing_that_is_played_puts_them(route):
    at, grounds, score = divided(route, 1.5, start=0.0), swing_grounds(route, score_of(route)), score_of(route)
    told = swing_played(grounds, [(range(len(at)), at)])
    moved = score_as_played(route, score, grounds, told)
    assert moved.array("start_seconds") == pytest.approx(at, abs=0.01)
    assert moved.array("end_seconds")[:-1] == pytest.approx(at[1:], abs=0.01)


def missing_note(route, seconds, missing):
    """Where a note is due that is missing in a take of these onsets, and how long it would last."""
    take = HeardTake(route)
    for place, at in enumerate(seconds):
        end = seconds[place + 1] if place + 1 < len(seconds) else at + 0.5
        take.sounding(place, start=at, end=end - 0.02)
    (play,) = line_up_heard(route, take.silent(missing).lined_up().hearing).play_throughs
    one = play.events[missing]
    assert not one.played
    return one.start_seconds, one.end_seconds - one.start_seconds


@pytest.mark.parametrize(
    ("route", "ratio", "missing"),
    [(built_route(TEXT), 2.0, 3), (built_route(TEXT), 2.0, 8), (DOTTED, 1.4, 5), (SIXTEENTHS, 1.6, 5)],
)
def test_a_missing_note_was_due_when_the_swing_that_is_played_puts_it(route, ratio, missing):
    at = played(route, ratio) if route.phrase.events[0].duration == Fraction(1, 2) else divided(route, ratio)
    start, length = missing_note(route, at, missing)
    assert start == pytest.approx(at[missing], abs=0.02)
    assert length == pytest.approx(at[missing + 1] - at[missing], abs=0.02)


def test_a_swing_that_is_as_asked_moves_nothing():
    # 1.2 to 1 is less than soloists' 1.3 to 1 (see above): no swing, but notes that come late
    route = built_route(TEXT)
    at = played(route, 1.2)
    late = at[3] - played(route, 1.0)[3]
    assert late > 0.02
    assert missing_note(route, at, 3)[0] == pytest.approx(at[3] - late, abs=0.01)


def test_too_few_notes_tell_no_swing_and_are_lined_up_all_the_same():
    route = built_route("4b 4d 5b 5d 6b 6d", bpm=100)
    assert swing_played(swing_grounds(route, score_of(route)), [(range(6), played(route, 2.0))]) is None
    assert missing_note(route, played(route, 1.0), 3)[0] == pytest.approx(played(route, 1.0)[3], abs=0.02)
