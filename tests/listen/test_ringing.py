"""What rings over the playing is told from reeds, and what lies under it is not judged."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.data import replace
from reedpath.listen import Notice, answer_take, format_answer
from reedpath.listen.reed_spectrum import ReedSpectrum
from reedpath.listen.ringing import Ringing, is_over, is_pure, rings_along, spans_of
from reedpath.signal import Samples
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, glue, perform
from support.heard_takes import HeardTake

ROUTE = built_route("2d 3d' 4b:1 4d' 4d 5d 6b:1 6b 5d 4d 4b 3d' 2d:1 4b 4d 5b 4d:1 6d 6b 5d 4d:2", key="C", bpm=84)
HEARD_RATE = 16_000


def spectrum(*tones, seconds=0.4):
    """The spectrum of some tones: hertz, decibels, and how many partials, each 6 dB softer than the one before."""
    at = np.arange(round(seconds * HEARD_RATE)) / HEARD_RATE
    sound = sum(
        10 ** (decibels / 20)
        * sum(np.sin(2 * np.pi * hz * n * at + n) / 2 ** (n - 1) for n in range(1, partials + 1))
        for hz, decibels, partials in tones
    )
    return ReedSpectrum((sound + np.random.default_rng(0).normal(0, 1e-4, len(at))).astype(np.float32), HEARD_RATE)


@pytest.mark.parametrize(("decibels", "rings"), [(3.0, True), (-11.0, True), (-15.0, False)])
def test_a_line_that_no_reed_makes_is_told_from_how_loud_it_is(decibels, rings):
    assert rings_along(spectrum((392.0, 0.0, 10), (950.0, decibels, 1)), [392.0]) is rings


def test_what_swings_has_lines_beside_its_partials_that_are_its_own():
    at = np.arange(round(0.8 * HEARD_RATE)) / HEARD_RATE
    reed = sum(np.sin(2 * np.pi * 392.0 * n * at) / n for n in range(1, 8)) * (1 + 0.5 * np.sin(2 * np.pi * 30 * at))
    assert not rings_along(ReedSpectrum(reed.astype(np.float32), HEARD_RATE), [392.0])


def test_partials_of_what_sounds_are_no_ringing():
    both = spectrum((392.0, 0.0, 10), (523.3, -3.0, 8))
    assert rings_along(both, [392.0])
    assert not rings_along(both, [392.0, 523.3])
    assert not rings_along(spectrum((392.0 * 2 ** (30 / 1200), 0.0, 10)), [392.0])  # a harp tuned higher


@pytest.mark.parametrize(
    ("hz", "partials", "is_told"), [(950.0, 1, True), (400.0, 1, True), (392.0, 4, False), (2000.0, 1, False)]
)
def test_a_tone_without_partials_is_no_reed_unless_a_telephone_may_have_taken_them(hz, partials, is_told):
    assert is_pure(spectrum((hz, 0.0, partials)), hz) is is_told


def test_what_is_left_where_nobody_plays_is_no_ringing():
    # a quarter of what is usual lies 12 decibels under it, a sixth 15.6
    assert spans_of([Ringing(4.0, 4.3, 1 / 6)], [1.0] * 9 + [1 / 6]) == ()
    assert spans_of([Ringing(4.0, 4.3, 1 / 4)], [1.0] * 9 + [1 / 4]) == ((3.5, 4.8),)


def test_what_sounds_along_nearly_everywhere_is_no_ringing():
    rings = [Ringing(float(at), at + 0.5, 1.0) for at in range(4)]
    assert spans_of(rings, [1.0] * 11) == ()
    assert spans_of(rings, [1.0] * 12) == ((-0.5, 4.0),)


def test_it_rings_over_what_lies_under_it_for_a_third():
    assert is_over([(1.0, 1.4)], 1.25, 1.7)
    assert not is_over([(1.0, 1.4)], 1.3, 1.7)
    assert not is_over([], 1.0, 2.0)


def test_what_it_rings_over_is_neither_right_nor_wrong():
    take = HeardTake(built_route("2d 3d 4d 5d 4d 4d 6b", key="C", bpm=60)).silent(2)
    take.sounding(3, midi=82.3).sounding("again", start=take.due[3] + 0.2, end=take.due[3] + 0.3, midi=82.3)
    ringing = ((take.due[2] - 0.1, take.due[3] + 0.45),)
    answer = take.answer(ringing=ringing)
    (play,) = answer.plays
    assert [one.covered for one in play.events] == [False, False, True, True, False, False, False]
    assert all(not one.faults for one in play.events)
    assert (play.extras, play.right, len(play.heard_events), play.right_share) == ((), 5, 5, 1.0)
    assert answer.notices == (Notice.RINGS,)


@pytest.fixture(scope="module")
def played():
    rng = np.random.default_rng(4)
    return glue(ROUTE, perform(ROUTE, rng, manner=Manner(factor=0.9, drift=0.01)), rng)


def with_ring(played, at, level=0.35):
    """A take with a telephone over it: two tones in turn fourteen times a second for 0.7 s, twice (invented)."""
    array = played.samples.array[:, 0].copy()
    seconds = np.arange(round(1.7 * RATE)) / RATE
    both = np.sin(2 * np.pi * 950 * seconds) + np.sin(2 * np.pi * 1400 * seconds)
    ring = level / 2 * both * (seconds * 14 % 1 < 0.5) * (seconds % 1 < 0.7)
    first = round(at * RATE)
    array[first : first + len(ring)] += ring.astype(array.dtype)
    return Samples(array, RATE)


def test_nothing_rings_in_a_take_of_reeds(played):
    answer = answer_take(played.samples, ROUTE)
    assert answer.notices == ()
    assert not any(one.covered for one in answer.plays[0].events)


@pytest.mark.parametrize("at", [2.0, 3.3, 7.0])
def test_a_telephone_over_a_take_is_told_and_makes_no_faults(played, at):
    answer = answer_take(with_ring(played, at), ROUTE)
    assert answer.notices == (Notice.RINGS,)
    (play,) = answer.plays
    covered = [one for one in play.events if one.covered]
    assert 2 <= len(covered) <= 8
    assert all(at - 0.6 < one.end_seconds and one.start_seconds < at + 2.3 for one in covered)
    assert all(not one.faults for one in play.events)
    text = format_answer(answer, load_catalogue("en"))
    assert "Something rings or beeps over your playing: what it covers is not judged." in text
    assert "Under the ringing lie" in text
    assert "Over the other instruments" not in text


def test_covered_notes_beside_other_instruments_are_told_as_before(played):
    answer = answer_take(with_ring(played, 2.0), ROUTE)
    text = format_answer(replace(answer, notices=(Notice.COMPANY,)), load_catalogue("en"))
    assert "Over the other instruments" in text
