"""What a recorder does to a take is no fault of the player: gain that opens late, missing ends, a turned side."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.listen import FaultKind, Notice, ReedState, answer_take, format_answer
from reedpath.signal import Samples
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.glued_takes import Take, glue, perform
from support.heard_takes import HeardTake
from support.reed_tones import reed_tone
from support.sample_bank import FLUID_BANK
from support.take_conditions import automatic_gain, swallowed

NEEDS_BANK = pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
ROUTE = built_route("4d:1 5d 6b 4d' 4b 3d'':1 3d 2d:1", key="A", bpm=90)
# half a second each, the last two seconds
EVEN = built_route("2d 3d 4d 5d 4d 3d 6b:2", key="C", bpm=60)


@pytest.fixture(scope="module")
def take() -> Take:
    rng = np.random.default_rng(1)
    return glue(ROUTE, perform(ROUTE, rng), rng)


def faults(answer):
    return {
        one.event: [fault.kind for fault in one.faults] for play in answer.plays for one in play.events if one.faults
    }


# ----------------------------------------------------------------------------------------------- gain and channels


@pytest.mark.slow
@NEEDS_BANK
@pytest.mark.parametrize("opens", [0.12, 0.3])
def test_a_first_note_that_comes_out_of_a_gain_is_in_time_and_struck_once(take, opens, monkeypatch):
    monkeypatch.setattr("support.take_conditions.OPENS", opens)
    for condition in (automatic_gain, swallowed):
        heard = condition(take.samples.array[:, 0].astype(float), np.random.default_rng(2))
        assert faults(answer_take(Samples(heard, take.samples.rate), ROUTE)) == {}


@NEEDS_BANK
def test_a_side_turned_over_changes_nothing(take):
    one = take.samples.array[:, 0]
    turned = answer_take(Samples(np.column_stack([one, -one]), take.samples.rate), ROUTE)
    assert faults(turned) == {}
    assert turned.notices == ()


# ------------------------------------------------------------------------------------------------ missing ends


@NEEDS_BANK
@pytest.mark.parametrize(("last", "seconds"), [(6, 0.25), (5, 0.3), (6, 0.42)])
def test_what_a_recording_no_longer_holds_is_not_missed(take, last, seconds):
    answer = answer_take(take.samples.span(0.0, take.onset_of(last) + seconds), ROUTE)
    (play,) = answer.plays
    assert faults(answer) == {}
    assert (play.play.last, play.play.whole, play.play.cut_off) == (last, False, True)
    assert Notice.BROKEN_OFF in answer.notices
    text = format_answer(answer, load_catalogue("en"))
    assert "there the recording ends" in text
    assert "breaks off" in text


@NEEDS_BANK
def test_the_first_moment_of_a_note_is_not_judged(take):
    answer = answer_take(take.samples.span(0.0, take.onset_of(5) + 0.1), ROUTE)
    assert faults(answer) == {}
    assert answer.plays[0].play.last == 4


def test_a_last_note_that_the_recording_ends_in_is_not_short():
    heard = HeardTake(EVEN)
    heard.sounding(6, end=heard.due[6] + 0.3).placing(6, heard.due[6], heard.due[6] + 0.3)
    assert faults(heard.answer()) == {6: [FaultKind.SHORT]}
    cut = heard.answer(recorded_seconds=heard.due[6] + 0.3)
    assert faults(cut) == {}
    assert cut.notices == (Notice.BROKEN_OFF,)
    assert cut.plays[0].play.whole


def test_a_last_note_that_is_left_out_is_missed_where_the_recording_goes_on():
    heard = HeardTake(EVEN).silent(6)
    assert faults(heard.answer(recorded_seconds=heard.due[6] + 0.4)) == {6: [FaultKind.MISSED]}
    cut = heard.answer(recorded_seconds=heard.due[6] - 0.01)
    assert faults(cut) == {}
    assert [one.event for one in cut.plays[0].events] == [0, 1, 2, 3, 4, 5]


def test_a_take_that_is_over_is_not_broken_off():
    heard = HeardTake(EVEN)
    assert heard.answer().notices == ()
    assert heard.answer(recorded_seconds=heard.end[6] + 0.01).notices == ()


# ------------------------------------------------------------------------------------------- octaves in perfect tune


@pytest.mark.parametrize(("upper", "state"), [(True, ReedState.UNSURE), (False, ReedState.SILENT)])
def test_an_octave_in_perfect_tune_is_unsure_though_its_lower_reed_is_never_alone(upper, state):
    route = built_route("5d:1 6b:1 6d:1 [1 4]d:2 5d:1 7d:1", key="C", bpm=90)
    off = iter([0.03, -0.04, 0.02, 0.0, 0.03, -0.05])  # a harp that is not in perfect tune
    pieces = [np.zeros(8000)]
    for one, midi in zip(route.events, (77, 79, 81, 62, 77, 83), strict=True):
        seconds = 2 / 3 * float(one.event.duration)
        shift = next(off)
        sound = reed_tone(midi + shift, seconds - 0.05).array[:, 0].copy()
        if upper and midi == 62:
            sound += reed_tone(74 + shift, seconds - 0.05).array[:, 0]
        pieces += [sound, np.zeros(round(0.05 * 22_050))]
    answer = answer_take(Samples(np.concatenate([*pieces, np.zeros(8000)]), 22_050), route)
    (_, fourth) = answer.plays[0].events[3].reeds
    assert (fourth.hole, fourth.state) == (4, state)
    assert (FaultKind.HOLE_MISSING in faults(answer).get(3, ())) is not upper
