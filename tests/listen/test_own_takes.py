"""What the program sounds itself gets full marks: bench/own_takes.py counts more of the same."""

from __future__ import annotations

import pytest

from own_takes import EXAMPLES, ends, example_lesson, taken_alone, taken_at_ends, taken_with_band, tune_lesson
from reedpath.listen import answer_take
from reedpath.sound import play_along
from support.built_routes import built_lesson, built_route
from support.sample_bank import FLUID_BANK

TUNES = 10
# tunes in a metre that the band plays; in the last five its chords between rounds or its drums were once taken for
# the player's
BAND_TUNES = (2, 5, 6, 10, 0, 50, 59, 76, 79)


def assert_perfect(takes):
    told = [line for take in takes for line in (*take.told(), *([] if take.is_perfect else [take.name]))]
    assert not told


def test_a_phrase_with_bends_and_a_repeated_note_has_no_fault():
    lesson = built_lesson(built_route("2d 3d' 3d 4d 4d 4b 3d'' 2d:1", key="A", bpm=100), factors=(1.0,))
    answer = answer_take(play_along(lesson, lesson.ladder[0]), lesson.route)
    (play,) = answer.plays
    assert [one.event for one in play.events if one.faults] == []
    assert play.extras == ()


def test_octaves_of_a_harp_in_perfect_tune_are_not_told_to_be_missing():
    text = "1d 2d 3d 4d 5d 4d [1 4]b:1 4b 5b 6b [2 5]b:1"
    lesson = built_lesson(built_route(text, key="A", bpm=80), factors=(1.0,))
    (play,) = answer_take(play_along(lesson, lesson.ladder[0]), lesson.route).plays
    assert [one.event for one in play.events if one.faults] == []


@pytest.mark.slow
@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_has_no_fault_at_any_tempo(name):
    assert_perfect(taken_alone(name, example_lesson(name)))


@pytest.mark.slow
@pytest.mark.parametrize("number", range(TUNES))
def test_a_tune_has_no_fault_at_the_ends_of_its_ladder(number):
    assert_perfect(taken_at_ends(number, tunes=TUNES))


@pytest.mark.slow
@pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_with_the_band_has_no_fault_at_the_ends_of_its_ladder(name):
    lesson = example_lesson(name)
    assert_perfect(taken_with_band(name, lesson, ends(lesson)))


@pytest.mark.slow
@pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
def test_an_example_that_ends_on_its_first_pitch_has_no_fault_over_another_band():
    lesson = example_lesson("boxcar-in-a.txt")
    assert_perfect(taken_with_band("boxcar-in-a", lesson, lesson.ladder[:1], seed=7))


@pytest.mark.slow
@pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
@pytest.mark.parametrize("number", BAND_TUNES)
def test_a_tune_with_the_band_has_no_fault_at_the_ends_of_its_ladder(number):
    lesson = tune_lesson(number, tunes=max(BAND_TUNES) + 1)
    assert_perfect(taken_with_band(f"tune-{number}", lesson, ends(lesson)))


@pytest.mark.slow
@pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
@pytest.mark.parametrize(("number", "bpm"), [(87, 42.0), (75, 84.0)])
def test_a_note_bent_into_from_one_that_the_band_holds_on_has_no_fault(number, bpm):
    lesson = tune_lesson(number)
    assert_perfect(taken_with_band(f"tune-{number}", lesson, [one for one in lesson.ladder if one.bpm == bpm]))


@pytest.mark.slow
@pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
@pytest.mark.parametrize(("number", "bpm"), [(40, 50.0), (98, 84.0)])
def test_a_figure_that_comes_back_is_not_taken_for_its_repeat_over_the_band(number, bpm):
    lesson = tune_lesson(number)
    assert_perfect(taken_with_band(f"tune-{number}", lesson, [one for one in lesson.ladder if one.bpm == bpm]))
