"""Which reeds sound in an event: synthetic reeds, each of whose faults is made here (sound of the world: bench)."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.fft
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import replace
from reedpath.harp import Breath, Embouchure, Move, make_harp, sound_of
from reedpath.hear.frames import RATE as HEARD_RATE
from reedpath.listen import FaultKind, ReedHeard, ReedState, answer_take, format_answer, holes_heard, take_curve
from reedpath.listen.advice import practise_of
from reedpath.listen.judging import fault_of
from reedpath.listen.own_partials import own_level
from reedpath.listen.reading_again import steady_parts
from reedpath.listen.reed_spectrum import ReedSpectrum, octave_stray
from reedpath.listen.reeds import hear_reeds
from reedpath.page import format_take_svg
from reedpath.signal import Samples
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.examples import examples
from support.listened import built_answer, built_curve

RATE = 22_050
HARP = make_harp("C")
SPLIT = Move((1, 4), Breath.DRAW, embouchure=Embouchure.TONGUE)


def reed(hole, breath=Breath.DRAW, *, cents=0.0, decibels=0.0, seconds=0.5, seed=0):
    """A periodic tone of a hole's pitch, each partial a little softer than the one before."""
    hz = sound_of(HARP, Move((hole,), breath)).hz[0] * 2 ** (cents / 1200)
    rng = np.random.default_rng([hole, seed])
    at = np.arange(int(seconds * RATE)) / RATE
    partials = [
        rng.uniform(0.6, 1.0) / n**0.8 * np.sin(2 * np.pi * n * hz * at + rng.uniform(0, 6))
        for n in range(1, 15)
        if n * hz < 0.45 * RATE
    ]
    noise = np.random.default_rng(seed).normal(0, 1e-3, len(at))
    return 10 ** (decibels / 20) * np.sum(partials, axis=0) + noise


def states(sound, move):
    return {one.hole: one.state.value for one in hear_reeds(sound.astype(np.float32), RATE, HARP, move)}


@pytest.mark.parametrize("cents", [-4.0, 1.5, 5.0])
def test_both_reeds_of_an_octave_are_heard_by_their_beats(cents):
    assert states(reed(1) + reed(4, cents=cents), SPLIT) == {1: "sounds", 4: "sounds"}


def test_an_octave_without_its_upper_reed_keeps_step_with_itself():
    assert states(reed(1), SPLIT) == {1: "sounds", 4: "silent"}


def test_an_octave_without_its_lower_reed_lacks_its_odd_partials():
    assert states(reed(4), SPLIT) == {1: "silent", 4: "sounds"}


def test_another_hole_in_place_of_one_is_both_silent_and_heard():
    reeds = hear_reeds((reed(1) + reed(5)).astype(np.float32), RATE, HARP, SPLIT)
    assert holes_heard(reeds).wrong == ((4, 5),)


@pytest.mark.parametrize("holes", [(1, 2), (2, 3), (4, 5), (6, 7), (8, 9), (1, 2, 3), (2, 3, 4)])
@pytest.mark.parametrize("breath", list(Breath))
def test_every_reed_of_a_chord_is_heard_and_missed(holes, breath):
    move = Move(holes, breath)
    whole = sum(reed(hole, breath, cents=1.0 + hole) for hole in holes)
    assert states(whole, move) == dict.fromkeys(holes, "sounds")
    for silent in holes:
        kept = sum(reed(hole, breath, cents=1.0 + hole) for hole in holes if hole != silent)
        assert states(kept, move)[silent] == "silent"


@pytest.mark.parametrize("decibels", [0.0, -6.0, -12.0])
@pytest.mark.parametrize(("hole", "beside"), [(2, 3), (4, 5), (4, 3), (7, 8)])
def test_a_hole_beside_a_single_note_is_told(hole, beside, decibels):
    reeds = hear_reeds(
        (reed(hole) + reed(beside, decibels=decibels)).astype(np.float32), RATE, HARP, Move((hole,), Breath.DRAW)
    )
    assert holes_heard(reeds).too_many == (beside,)
    assert reeds[1].level_db - reeds[0].level_db == pytest.approx(decibels, abs=4.0)


@pytest.mark.parametrize("hole", range(1, 11))
@pytest.mark.parametrize("breath", list(Breath))
def test_nothing_is_told_beside_a_clean_note(hole, breath):
    assert states(reed(hole, breath), Move((hole,), breath)) == {hole: "sounds"}


@examples(20)
@given(cents=st.floats(-20, 20), hole=st.integers(1, 10))
def test_the_pitch_of_each_reed_is_measured(cents, hole):
    own = hear_reeds(reed(hole, cents=cents).astype(np.float32), RATE, HARP, Move((hole,), Breath.DRAW))[0]
    assert own.cents == pytest.approx(cents, abs=1.0)


def test_the_beats_of_an_octave_tell_how_far_its_reeds_are_apart():
    heard = hear_reeds((reed(1, seconds=1.0) + reed(4, cents=6.0, seconds=1.0)).astype(np.float32), RATE, HARP, SPLIT)
    assert heard[0].cents == pytest.approx(0.0, abs=1.0)
    assert heard[1].cents == pytest.approx(6.0, abs=1.5)


def test_too_short_a_sound_says_nothing_of_an_octave():
    assert octave_stray(reed(1, seconds=0.1).astype(np.float32), RATE, 294.0, 2) is None


def test_silence_has_no_reeds():
    spectrum = ReedSpectrum(np.zeros(4000, dtype=np.float32), RATE)
    assert spectrum.unshared(440.0, []).support == 0.0
    assert states(np.zeros(4000), SPLIT) != {1: "sounds", 4: "sounds"}


def test_steady_parts_are_the_same_from_blocks_as_from_the_whole():
    array = np.random.default_rng(1).normal(size=5000).astype(np.float32)
    spans = [(0.02, 0.1), (0.0, 0.05), (0.15, 0.2), (0.04, 0.16), (0.19, 0.5)]
    whole = dict(steady_parts([array], spans))
    apart = dict(steady_parts([array[at : at + 700] for at in range(0, 5000, 700)], spans))
    assert set(whole) == set(range(len(spans)))
    for number, (start, end) in enumerate(spans):
        assert np.array_equal(whole[number], array[round(start * HEARD_RATE) : round(end * HEARD_RATE)])
        assert np.array_equal(apart[number], whole[number])


def test_blocks_that_can_be_had_only_once_are_answered_as_the_whole_is():
    sound = Samples(np.concatenate([reed(2), reed(3), reed(4), reed(5), reed(4), reed(3), reed(2)]), RATE)
    route = built_route("2d 3d 4d 5d 4d 3d 2d", key="C", bpm=60)
    answer = answer_take(sound, route)
    assert all(one.reeds for one in answer.plays[0].events)
    assert answer_take(iter([sound]), route) == answer


# ---------------------------------------------------------------------------------------------------- words

ROUTE = built_route("2d 3d' [1 4]d:1 4d 4d 5d [1 4]d:1 (4 5)b", key="C", bpm=90)


def told(changes, language="en"):
    """The advice on holes: by event, the reeds that were heard."""
    answer = built_answer(ROUTE)
    play = answer.plays[0]
    events = []
    for one in play.events:
        kind, reeds = changes.get(one.event, (None, ()))
        if kind is not None:
            one = replace(one, reeds=reeds, faults=(fault_of(kind, 1.0),))
        events.append(one)
    play = replace(play, events=tuple(events), practise=practise_of(events))
    text = format_answer(replace(answer, plays=(play,)), load_catalogue(language))
    return [line[2:] for line in text.splitlines() if line.startswith("- ")]


def heard(*sounding, silent=(), beside=()):
    return (
        *(ReedHeard(hole, True, ReedState.SOUNDS) for hole in sounding),
        *(ReedHeard(hole, True, ReedState.SILENT) for hole in silent),
        *(ReedHeard(hole, False, ReedState.SOUNDS) for hole in beside),
    )


def test_the_hole_that_does_not_sound_is_named_with_the_corner_of_the_mouth():
    missing = FaultKind.HOLE_MISSING, heard(1, silent=(4,))
    assert told({2: missing, 6: missing})[0] == (
        "On 1 and 4 draw split I do not hear hole 4, twice (bar 1): let more air through at the right corner of the "
        "mouth."
    )
    assert "on n’entend pas le trou 4" in told({2: missing}, "fr")[0]
    assert "coin droit de la bouche" in told({2: missing}, "fr")[0]


def test_two_holes_that_are_silent_in_turn_are_two_things():
    upper, lower = heard(1, silent=(4,)), heard(4, silent=(1,))
    first, second = told({2: (FaultKind.HOLE_MISSING, upper), 6: (FaultKind.HOLE_MISSING, lower)})[:2]
    assert "hole 4" in first
    assert "right corner" in first
    assert "hole 1" in second
    assert "left corner" in second


def test_the_hole_that_sounds_in_place_of_another_says_which_way_to_go():
    wrong = {2: (FaultKind.HOLE_WRONG, heard(1, silent=(4,), beside=(5,)))}
    assert "I hear hole 5 instead of hole 4" in told(wrong)[0]
    assert told(wrong)[0].endswith("that corner of the mouth belongs one hole further left.")
    assert "on entend le trou 5 et non le trou 4" in told(wrong, "fr")[0]


def test_notes_that_leak_are_one_habit():
    along = FaultKind.HOLE_TOO_MANY
    leaks = {3: (along, heard(4, beside=(5,))), 5: (along, heard(5, beside=(6,)))}
    assert told(leaks)[0] == (
        "Two single notes let the hole beside them sound too: 4 draw and 5 draw (bar 1): make the opening smaller "
        "and keep a little further left."
    )
    alone = {3: leaks[3]}
    assert told(alone)[0].startswith("With 4 draw I also hear hole 5 (bar 1)")


# -------------------------------------------------------------------------------------------------- picture


def test_the_picture_has_a_line_for_each_reed_and_a_cross_for_a_silent_one():
    answer = built_answer(ROUTE)
    play = answer.plays[0]
    reeds = {2: heard(1, silent=(4,)), 3: heard(4, beside=(5,))}
    play = replace(play, events=tuple(replace(one, reeds=reeds.get(one.event, ())) for one in play.events))
    curve = take_curve(play, ROUTE, built_curve(answer))
    assert curve.silent == ((2, 4),)
    assert [stroke.hole for stroke in curve.strokes if stroke.event == 2] == [1]
    assert [stroke.hole for stroke in curve.strokes if stroke.event is None] == [5]
    drawn = format_take_svg(replace(answer, plays=(play,)), built_curve(answer))
    assert "without 4" in drawn
    assert "with 5" in drawn


@pytest.mark.parametrize("rate", [8000, HEARD_RATE])
def test_the_level_of_own_partials_is_that_of_whole_transforms(rate):
    # by SciPy's transform of each window, filled up with silence
    sound = np.random.default_rng(rate).normal(0.0, 0.1, rate // 2).astype(np.float32)
    width, hop = int(0.026 * rate), round(0.008 * rate)
    windows = np.lib.stride_tricks.sliding_window_view(sound, width)[::hop] * np.hanning(width)
    power = np.square(np.abs(scipy.fft.rfft(windows, 2048, axis=1)))
    top = min(6000.0, 0.45 * rate)
    bins = [np.rint(np.array([n * hz for n in range(1, 9) if n * hz < top]) * 2048 / rate) for hz in (392.0, 494.0)]
    asked = power[:, np.concatenate(bins).astype(int)].sum(axis=1) * 4.0 / width**2
    level = own_level(sound, rate, [392.0, 494.0], 0.0).level_db
    assert level == pytest.approx(10.0 * np.log10(asked), abs=1e-3)
