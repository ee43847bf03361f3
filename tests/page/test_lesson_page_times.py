"""The times that a lesson page goes by: nothing lit that does not sound, no loop that cuts a note."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.lesson import Rung
from reedpath.page import CountInBeat, PageSound
from reedpath.page.web.sounds import sound_times
from support.built_routes import built_route
from support.examples import examples

MOVES = ("2d", "3d'", "4b", "4d", "(4 5)d")


@st.composite
def sounded(draw):
    """A route, a sound of it with gaps and overlaps, and where its events lie along the ribbon."""
    moves = draw(st.lists(st.sampled_from(MOVES), min_size=1, max_size=12))
    lengths = draw(st.lists(st.floats(0.05, 2.0), min_size=len(moves), max_size=len(moves)))
    shares = draw(st.lists(st.floats(0.2, 1.2), min_size=len(moves), max_size=len(moves)))
    begin = draw(st.floats(0.0, 3.0))
    starts = [begin + sum(lengths[:index]) for index in range(len(moves))]
    ends = [start + length * share for start, length, share in zip(starts, lengths, shares, strict=True)]
    counts = (
        tuple(CountInBeat(begin * share, number + 1) for number, share in enumerate((0.2, 0.6))) if begin > 1 else ()
    )
    sound = PageSound(
        Rung("full", 1.0, 100.0), "audio/mpeg", b"", tuple(starts), tuple(ends), max(ends) + 0.5, counts
    )
    places = [(0.1 + 2.0 * index, 2.0 + 2.0 * index) for index in range(len(moves))]
    return built_route(" ".join(moves)), sound, places


@given(sounded())
@examples(80)
def test_one_event_at_most_is_lit(made):
    route, sound, places = made
    times = sound_times(sound, route, places)
    for index, after in enumerate(times["starts"][1:]):
        assert times["starts"][index] <= times["dark"][index] + 1e-3
        assert times["dark"][index] <= after + 1e-3
        if route.events[index].choice.move == route.events[index + 1].choice.move:
            assert times["dark"][index] < after


@given(sounded())
@examples(80)
def test_a_stretch_holds_its_notes_whole_and_none_of_the_next(made):
    route, sound, places = made
    times = sound_times(sound, route, places)
    for index, start in enumerate(times["starts"]):
        assert 0 <= times["from"][index] <= start
        assert start - times["from"][index] <= 0.0201
    assert [round(one, 4) for one in times["until"][:-1]] == times["from"][1:]
    assert times["until"][-1] == pytest.approx(sound.bar_end_seconds, abs=1e-3)


@given(sounded())
@examples(80)
def test_the_ribbon_never_runs_back(made):
    route, sound, places = made
    course = sound_times(sound, route, places)["course"]
    assert course[0] == [pytest.approx(sound.starts[0], abs=1e-3), pytest.approx(places[0][0])]
    for (before, x), (after, further) in pairwise(course):
        assert before < after
        assert x < further


@given(sounded())
@examples(40)
def test_the_count_in_is_over_before_the_first_note(made):
    route, sound, places = made
    times = sound_times(sound, route, places)
    assert times["counted"] <= sound.starts[0]
    if sound.counts:
        assert times["counted"] > sound.counts[-1].seconds - 0.03


def test_after_the_count_in_a_beat_goes_by():
    route = built_route("r:2 2d 3d'")
    sound = PageSound(
        Rung("full", 1.0, 60.0), "audio/mpeg", b"", (6.0, 6.5), (6.5, 7.0), 8.0,
        (CountInBeat(0.0, 1), CountInBeat(1.0, 2), CountInBeat(2.0, 3), CountInBeat(3.0, 4)),
    )  # fmt: skip
    assert sound_times(sound, route, [(1.0, 2.0), (2.0, 3.0)])["counted"] == pytest.approx(3.98)
    early = replace(sound, starts=(3.5, 6.5))  # a pickup over the end of the count
    assert sound_times(early, route, [(1.0, 2.0), (2.0, 3.0)])["counted"] == pytest.approx(3.48)
