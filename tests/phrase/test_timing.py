"""Beats to seconds and back: tempos, swing, speed, delay, and beats that were heard."""

from fractions import Fraction as F
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.phrase import BeatTimes, Phrase, Tempo, Timing, beat_times, timing_of
from support.examples import examples
from support.spent_bytes import SpentBytes, many_from_bytes

TEMPOS = (Tempo(F(0), 60.0), Tempo(F(4), 120.0), Tempo(F(13, 2), 90.0))
SWINGS = [F(1), F(3, 2), F(2), F(3)]


def beat_of(drawn: SpentBytes) -> F:
    """-4 to 20, on any division up to a 48th."""
    parts = drawn.whole(1, 48)
    return F(drawn.whole(-4 * parts, 20 * parts), parts)


def swung_beat(drawn: SpentBytes) -> tuple[F, F, F, float]:
    """A beat, a swing, a pickup and a speed."""
    return beat_of(drawn), drawn.pick(SWINGS), drawn.pick([F(0), F(1, 2), F(3, 4)]), drawn.pick([0.4, 1.0, 1.5])


def timing(swing: F = F(1), pickup: F = F(0)) -> Timing:
    return timing_of(Phrase((), tempos=TEMPOS, swing=swing, pickup=pickup))


@examples(10)
@given(many_from_bytes(swung_beat, size=8))
def test_there_and_back(drawn: list[tuple[F, F, F, float]]):
    for beats, swing, pickup, factor in drawn:
        there = timing(swing, pickup).scaled(factor).delayed(2.5)
        assert there.beats_at(there.seconds_at(beats)) == pytest.approx(float(beats), abs=1e-9)


def test_tempos_hold_from_their_beat_on():
    assert [timing().seconds_at(beat) for beat in (-1, 0, 4, 6, F(13, 2), 8)] == pytest.approx(
        [-1, 0, 4, 5, 5.25, 6.25]
    )


def test_slower_and_later():
    there = timing().scaled(0.5).delayed(3.0)
    assert [there.seconds_at(beat) for beat in (0, 4, 6)] == pytest.approx([3, 11, 13])
    assert there.bpm_at(5) == 60.0


@examples(10)
@given(many_from_bytes(swung_beat, size=8))
def test_swung_beats_are_exact(drawn: list[tuple[F, F, F, float]]):
    for beats, swing, *_ in drawn:
        there = timing(swing)
        seconds = there.seconds_at(beats)
        assert float(there.played_beats(beats)) == pytest.approx(there.played_beats_at(seconds), abs=1e-9)


def test_a_swung_half_is_late_and_a_beat_is_not():
    assert [timing(F(2)).played_beats(F(half, 2)) for half in range(4)] == [0, F(2, 3), 1, F(5, 3)]


def test_beats_that_were_heard():
    heard = beat_times([(F(2), 5.0), (F(0), 1.0), (F(1), 2.0)])
    assert [heard.seconds_at(beat) for beat in (-1, 0, F(1, 2), 1.5, 2, 3)] == [0, 1, 1.5, 3.5, 5, 8]
    assert [heard.beats_at(seconds) for seconds in (0, 1.5, 3.5, 8)] == [-1, 0.5, 1.5, 3]


def test_time_heard_never_runs_back():
    assert beat_times([(0, 0.0), (1, 5.0), (2, 4.0)]) == BeatTimes((0.0, 1.0, 2.0), (0.0, 5.0, 5.0))
    assert beat_times([(3, 7.0)]).seconds_at(4) == 8.0
    assert beat_times([(1, 2.0), (0, 0.0), (1, 3.0)]).seconds == (0.0, 3.0)


@given(st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=1, max_size=8), st.floats(-60, 60))
def test_heard_beats_rise_and_have_a_way_back(points: list[tuple[int, int]], beat: float):
    heard = beat_times(points)
    assert heard.seconds_at(beat) <= heard.seconds_at(beat + 1.0)
    if all(before < after for before, after in pairwise(heard.seconds)):
        assert heard.beats_at(heard.seconds_at(beat)) == pytest.approx(beat, abs=1e-6)


def test_a_phrase_without_a_tempo_goes_at_a_hundred_quarters_a_minute():
    assert timing_of(Phrase(())).seconds_at(10) == pytest.approx(6.0)
