"""Rhythm grids: wavering onsets come back as what was meant."""

import itertools
import random
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import PhraseError
from reedpath.phrase import Phrase, Tempo, beats_of, onto_grid, timing_of
from support.examples import examples
from support.phrases import phrase_of

SHUFFLE = "c4 1/8 d4 1/8 e4 1/4 f4 1/8 g4 1/8 a4 1/12 g4 e4 d4 1/8 e4 c4 1/4"
STRAIGHT = "c4 1/8 d4 1/16 e4 1/16 f4 1/4 g4 1/12 a4 b4 c5 1/8 b4 a4 1/4 g4 3/16 a4 1/16"


def played(phrase: Phrase, jitter: list[float]) -> tuple[list[float], list[float]]:
    """Onsets and ends in beats as a player with that jitter (beats) would sound them."""
    timing = timing_of(phrase)
    onsets = [timing.seconds_at(e.onset) + j for e, j in zip(phrase.events, jitter, strict=False)]
    ends = [timing.seconds_at(e.end) - 0.05 + j for e, j in zip(phrase.events, jitter, strict=False)]
    return onsets, ends


@pytest.mark.parametrize(("text", "swing"), [(SHUFFLE, F(2)), (SHUFFLE, F(3, 2)), (STRAIGHT, F(1))])
def test_a_wavering_player_is_understood(text, swing):
    """Onsets off by up to 0.035 beats either way (22 ms at 96 to the minute), as random as a seed makes them."""
    phrase = phrase_of(text, swing=swing, tempos=(Tempo(F(0), 60.0),))
    for seed in range(40):
        wavering = random.Random(seed)
        found = onto_grid(*played(phrase, [wavering.uniform(-0.035, 0.035) for _ in phrase.events]))
        assert found.onsets == tuple(event.onset for event in phrase.events)
        assert found.swing == swing
        assert found.stray_beats <= 0.036


def test_durations_close_short_silences_and_keep_long_ones():
    found = onto_grid([0.0, 1.02, 2.0], [0.9, 1.45, 3.1])
    assert found.onsets == (0, 1, 2)
    assert found.durations == (1, F(1, 2), 1)


def test_notes_struck_together_stay_together():
    found = onto_grid([0.0, 0.0, 0.98], [0.9, 0.8, 2.0])
    assert found.onsets == (0, 0, 1)


def test_two_notes_never_share_a_place():
    found = onto_grid([0.95, 1.02, 1.04], [1.0, 1.03, 2.0])
    assert len(set(found.onsets)) == 3


def test_the_finest_parts_of_a_beat_are_for_many_notes_alone():
    few = onto_grid([0, 1 / 32, 1], [1 / 32, 1, 2], swings=[F(1)], sigma_beats=1e-4)
    assert few.onsets == (0, F(1, 16), 1)
    heard = [index / 32 for index in range(20)]
    many = onto_grid(heard, [*heard[1:], 1], swings=[F(1)], sigma_beats=1e-4)
    assert many.onsets == tuple(F(index, 32) for index in range(20))


def test_known_straight():
    assert onto_grid([0, 0.66, 1, 1.66, 2, 2.67], [0.6, 1, 1.6, 2, 2.6, 3], swings=[F(1)]).swing == 1


def test_nothing_heard():
    assert onto_grid([], []).onsets == ()


@pytest.mark.parametrize(
    ("onsets", "ends", "message"),
    [
        ([1.0, 0.0], [2.0, 1.0], "onsets ascend"),
        ([0.0], [], "each has its end"),
        ([float("nan")], [1.0], "finite"),
        ([index / 100 for index in range(80)], [1.0] * 80, "more than 64 notes"),
    ],
)
def test_what_cannot_be_gridded(onsets, ends, message):
    with pytest.raises(PhraseError, match=message):
        onto_grid(onsets, ends)


@examples(80)
@given(st.lists(st.tuples(st.floats(0, 30), st.floats(0.01, 3)), max_size=40))
def test_any_notes_give_a_line_in_order(heard):
    heard.sort()
    onsets = [onset for onset, _ in heard]
    if any(onsets[index + 10] - onsets[index] < 1 for index in range(len(onsets) - 10)):
        return  # more than any division holds is an error, tested above
    found = onto_grid(onsets, [onset + length for onset, length in heard])
    assert all(duration > 0 for duration in found.durations)
    assert list(found.onsets) == sorted(found.onsets)
    ends = {o: o + d for o, d in zip(found.onsets, found.durations, strict=True)}
    onsets = sorted(ends)
    assert all(ends[a] <= b for a, b in itertools.pairwise(onsets))


def test_beats_from_tracked_moments():
    assert beats_of([-0.5, 0.25, 3.0], [0.0, 0.5, 1.5]) == (-1.0, 0.5, 3.5)
    with pytest.raises(PhraseError, match="each later"):
        beats_of([0.0], [1.0, 1.0])
