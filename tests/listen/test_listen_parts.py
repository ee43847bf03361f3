"""The parts of listening, each on numbers made for it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.harp import Alteration, Breath, Move, make_harp, single_moves, sound_of
from reedpath.hear import HOP_SECONDS, PitchCurve
from reedpath.listen import LiveListener, Notice, Shape, answer_take, heard_move, take_curve
from reedpath.listen.pitch_measure import measure_pitch
from reedpath.listen.time_map import time_map
from reedpath.signal import Samples, resampled, silence
from support.built_routes import built_route
from support.examples import examples
from support.listened import built_answer, built_curve
from support.raw_footage import RATE as SPOKEN_RATE
from support.raw_footage import Said, needs_speech, spoken

RATE = 44_100
ROUTE = built_route("2d 3d' 4b:1 4d' 4d 5d 6b:1 6b 5d 4d 3d' 2d:2", key="A", bpm=96)


def curve_of_midi(midi):
    midi = np.asarray(midi, dtype=float)
    voiced = ~np.isnan(midi)
    hz = 440 * 2 ** ((midi - 69) / 12)
    return PitchCurve(np.arange(len(midi)) * HOP_SECONDS, hz, voiced * 1.0, voiced, np.zeros(len(midi)))


# --------------------------------------------------------------------------------------------- the time map


def mapped(written, heard, played=None):
    written = np.asarray(written, dtype=float)
    places = np.arange(len(written)) if played is None else np.asarray(played)
    beats = np.full(len(written), 0.6)
    return time_map(written, beats, places, np.asarray(heard), first=0, last=len(written) - 1)


@given(
    st.floats(0.4, 2.5),
    st.floats(0, 30),
    st.lists(st.sampled_from([0.15, 0.3, 0.6, 1.2]), min_size=8, max_size=40),
)
@examples(40)
def test_an_even_tempo_is_found_exactly(pace, start, lengths):
    written = np.concatenate([[0.0], np.cumsum(lengths)])
    due = mapped(written, start + pace * written)
    assert due.due_seconds == pytest.approx(start + pace * written, abs=1e-6)
    assert due.steady_pace == pytest.approx(pace)
    assert due.pauses == ()


@given(st.integers(3, 26), st.sampled_from([-0.09, 0.08, 0.1, 0.13]))
@examples(30)
def test_one_late_note_does_not_bend_the_tempo(index, late):
    written = 0.3 * np.arange(30)
    heard = 1.2 * written
    heard[index] += late
    due = mapped(written, heard)
    assert due.due_seconds == pytest.approx(1.2 * written, abs=0.012)
    assert heard[index] - due.due_seconds[index] == pytest.approx(late, abs=0.012)


def test_a_growing_tempo_is_followed():
    written = 0.3 * np.arange(60)
    heard = 20 * np.log1p(written / 20)
    due = mapped(written, heard)
    assert np.abs(due.due_seconds - heard).max() < 0.02
    assert due.pace[0] == pytest.approx(1.0, abs=0.08)  # a line over eleven onsets
    assert due.pace[-1] == pytest.approx(1 / (1 + written[-1] / 20), abs=0.08)


def swaying(written, depth, *, beats=7.0):
    """Onsets at a tempo whose pace goes up and down by a share, once in so many beats of 0.6 s."""
    turn = 2 * np.pi / (0.6 * beats)
    return written + depth / turn * np.sin(turn * written)


@pytest.mark.parametrize("beats", [6.0, 8.0, 12.0])
def test_a_tempo_that_sways_is_followed_and_does_not_stop(beats):
    written = 0.3 * np.arange(64)
    heard = swaying(written, 0.25, beats=beats)
    due = mapped(written, heard)
    assert due.pauses == ()
    assert np.abs(due.due_seconds - heard).max() < 0.05
    # a beat and a half of a sine are flatter by sin(x) / x
    assert due.sway == pytest.approx(0.25 * np.sinc(1.5 / beats), abs=0.06)


def test_a_note_that_is_late_in_a_swaying_tempo_is_late():
    written = 0.3 * np.arange(64)
    heard = swaying(written, 0.2)
    heard[31] += 0.2
    due = mapped(written, heard)
    assert heard[31] - due.due_seconds[31] == pytest.approx(0.2, abs=0.03)
    assert np.abs(np.delete(heard - due.due_seconds, 31)).max() < 0.05


def test_a_stop_in_a_swaying_tempo_is_a_stop():
    written = 0.3 * np.arange(64)
    (pause,) = mapped(written, swaying(written, 0.2) + np.where(np.arange(64) >= 40, 1.2, 0.0)).pauses
    assert (pause.before, pause.seconds) == (40, pytest.approx(1.2, abs=0.15))


@pytest.mark.parametrize("at", [(10, 20, 35, 50), (9, 14, 19, 24)])
def test_who_stops_again_and_again_does_not_sway(at):
    written = 0.3 * np.arange(64)
    heard = written + sum(np.where(np.arange(64) >= place, 0.35, 0.0) for place in at)
    due = mapped(written, heard)
    assert tuple(pause.before for pause in due.pauses) == at
    assert due.sway < 0.03


def test_a_tempo_that_grows_steadily_or_is_played_unevenly_does_not_sway():
    written = 0.3 * np.arange(60)
    assert mapped(written, 20 * np.log1p(written / 20)).sway < 0.02
    assert mapped(written, written + np.random.default_rng(1).normal(0, 0.03, 60)).sway < 0.07
    assert mapped(written[:15], swaying(written[:15], 0.3)).sway == 0.0  # seven beats are too few


def test_a_pause_breaks_the_time_where_it_is():
    written = 0.3 * np.arange(30)
    heard = written + np.where(np.arange(30) >= 12, 1.5, 0.0)
    due = mapped(written, heard)
    (pause,) = due.pauses
    assert pause.before == 12
    assert pause.seconds == pytest.approx(1.5, abs=0.01)
    assert due.due_seconds == pytest.approx(heard, abs=0.01)


def test_events_that_were_not_heard_are_due_too():
    written = 0.3 * np.arange(10)
    played = [2, 3, 5, 6, 7]
    due = mapped(written, 2.0 + 0.5 * written[played], played)
    assert due.due_seconds == pytest.approx(2.0 + 0.5 * written, abs=0.01)


# ------------------------------------------------------------------------------------------------ measures


def test_a_still_note_is_struck_and_steady():
    found = measure_pitch(curve_of_midi([np.nan] * 5 + [70.3] * 40 + [np.nan] * 5), 0.05, 0.45)
    assert found.midi == pytest.approx(70.3)
    assert found.shape is Shape.STRUCK
    assert found.glide_seconds == 0
    assert found.unsteady_cents == pytest.approx(0, abs=0.01)
    assert found.vibrato is None


@pytest.mark.parametrize(
    ("course", "shape"),
    [
        (np.concatenate([np.linspace(71, 70, 15), np.full(25, 70.0)]), Shape.FROM_ABOVE),
        (np.concatenate([np.linspace(69, 70, 15), np.full(25, 70.0)]), Shape.FROM_BELOW),
        (np.concatenate([np.linspace(71, 69.4, 12), np.linspace(69.4, 70, 5), np.full(25, 70.0)]), Shape.BEYOND),
    ],
)
def test_the_way_to_a_bend_is_told(course, shape):
    found = measure_pitch(curve_of_midi(course), 0.0, len(course) * HOP_SECONDS)
    assert found.midi == pytest.approx(70.0, abs=0.02)
    assert found.shape is shape
    assert 0.08 < found.glide_seconds < 0.2


def test_vibrato_is_told_from_wavering():
    at = np.arange(80) * HOP_SECONDS
    shaken = measure_pitch(curve_of_midi(70 + 0.25 * np.sin(2 * np.pi * 5.5 * at)), 0.0, 0.8)
    assert shaken.vibrato.hz == pytest.approx(5.5, abs=0.3)
    assert shaken.vibrato.cents == pytest.approx(25, abs=3)
    assert shaken.unsteady_cents < 6
    drifting = np.cumsum(np.random.default_rng(3).normal(0, 0.05, 80))
    wavering = measure_pitch(curve_of_midi(70 + drifting), 0.0, 0.8)
    assert wavering.vibrato is None
    assert wavering.unsteady_cents > 6


def test_nothing_has_no_pitch():
    assert measure_pitch(curve_of_midi([np.nan] * 30), 0.0, 0.3) is None


# -------------------------------------------------------------------------------------------- heard moves


@pytest.mark.parametrize("key", ["G", "A", "C", "F#"])
def test_every_move_is_heard_as_itself_or_as_one_that_sounds_the_same(key):
    harp = make_harp(key)
    for move in single_moves(harp.tuning):
        if move.is_dip or move.alteration.is_overbend:
            continue
        sound = sound_of(harp, move)
        found = heard_move(harp, sound.midi[0] + sound.cents[0] / 100, near=(move,))
        assert sound_of(harp, found.move).midi == sound.midi
        assert found.cents == pytest.approx(0, abs=1e-6)


def test_two_draw_and_three_blow_are_told_by_what_is_near():
    harp, bent = make_harp("C"), Move((2,), Breath.DRAW, Alteration.BEND, -1)
    assert heard_move(harp, 67.0, near=(bent,)).move == Move((2,), Breath.DRAW)
    assert heard_move(harp, 67.0, near=(Move((4,), Breath.BLOW),)).move == Move((3,), Breath.BLOW)


# ------------------------------------------------------------------------------------------------- the live


def reed(hz, seconds):
    """A tone with many overtones."""
    at = np.arange(int(seconds * RATE)) / RATE
    return sum(np.sin(2 * np.pi * hz * n * at) / n for n in range(1, 9)).astype(np.float32) * 0.2


@pytest.mark.parametrize("block", [64, 441, 4096])
def test_the_live_listener_names_moves_from_blocks_of_any_size(block):
    sound = np.concatenate([np.zeros(RATE // 5, np.float32), reed(587.33, 0.4), reed(698.46, 0.4)])
    listener = LiveListener(make_harp("C"), RATE)
    found = [one for at in range(0, len(sound), block) for one in listener.feed(sound[at : at + block])]
    assert all(one.move is None for one in found if one.seconds < 0.15)
    assert {one.move for one in found if 0.27 < one.seconds < 0.55} == {Move((4,), Breath.DRAW)}
    assert {one.move for one in found if 0.67 < one.seconds < 0.95} == {Move((5,), Breath.DRAW)}


def test_the_live_listener_waits_for_less_than_thirty_milliseconds_of_sound():
    listener, block = LiveListener(make_harp("C"), RATE), round(0.005 * RATE)
    sound = reed(587.33, 1.0)
    waits = []
    for at in range(0, len(sound), block):
        waits += [(at + block) / RATE - one.seconds for one in listener.feed(sound[at : at + block])]
    assert max(waits) < 0.03


@pytest.mark.parametrize(("text", "wanted"), [("2d 3d", Move((2,), Breath.DRAW)), ("3b 4b", Move((3,), Breath.BLOW))])
def test_the_live_listener_prefers_what_the_route_plays(text, wanted):
    listener = LiveListener(make_harp("C"), RATE, route=built_route(text, key="C"))
    last = listener.feed(reed(392.0, 0.5))[-1]
    assert last.move == wanted
    assert last.alike
    assert last.cents == pytest.approx(0, abs=4)


# ----------------------------------------------------------------------------------------------- the picture


def test_a_take_lies_on_its_ribbon():
    answer = built_answer(ROUTE)
    drawn = take_curve(answer.plays[0], ROUTE, built_curve(answer))
    assert drawn.missed == ()
    assert [stroke.event for stroke in drawn.strokes] == list(range(len(ROUTE.events)))
    for stroke, one in zip(drawn.strokes, ROUTE.events, strict=True):
        assert stroke.hole == one.choice.move.holes[0]
        assert np.nanmedian(stroke.semitones) == pytest.approx(one.choice.move.semitones, abs=0.01)
        assert float(one.event.onset) <= stroke.beats[0] < stroke.beats[-1] <= float(one.event.end)


# ----------------------------------------------------------------------------------------------- wrong input


def tune(*hz):
    return Samples(np.concatenate([reed(one, 0.4) for one in hz]), RATE)


@pytest.mark.parametrize(
    ("sound", "notice"),
    [
        (silence(0.0, rate=RATE), Notice.EMPTY),
        (silence(4.0, rate=RATE), Notice.SILENT),
        (Samples(np.random.default_rng(0).normal(0, 0.1, 4 * RATE), RATE), Notice.NO_PITCH),
        (tune(500, 610, 433, 700, 560, 480, 640), Notice.OTHER_MUSIC),
        (Samples(np.clip(20 * reed(440, 3.0), -1, 1), RATE), Notice.CLIPPED),
        (Samples(reed(440, 3.0)[::6], RATE // 6), Notice.NARROW),
        (Samples(reed(440, 3.0) / 100, RATE), Notice.QUIET),
        (Samples(np.full(4 * RATE, np.nan), RATE), Notice.SILENT),
    ],
    ids=["empty", "silence", "noise", "other music", "clipped", "7 kHz", "soft", "not a number"],
)
def test_a_recording_that_says_nothing_gets_an_answer_that_says_so(sound, notice):
    answer = answer_take(sound, ROUTE)
    assert notice in answer.notices
    assert answer.plays == ()


@pytest.mark.parametrize("voice", ["espeak-ng:en-us", "espeak-ng:fr+f3", "flite:slt"])
def test_who_only_talks_is_told_so(voice):
    """Speech of two synthesisers (Debian's espeak-ng and flite)."""
    needs_speech()
    said = spoken(Said("I could not practise this week, I am sorry. I will send it on Sunday, I promise.", voice))
    noisy = said + np.random.default_rng(0).normal(0, 0.001, len(said))
    assert answer_take(Samples(noisy.astype(np.float32), SPOKEN_RATE), ROUTE).notices == (Notice.TALK,)


def test_talk_beside_another_tune_is_not_only_talk():
    needs_speech()
    other = tune(500, 610, 433, 700, 560, 480, 640).array[:, 0]
    both = np.concatenate([resampled(Samples(spoken(Said("This is it.")), SPOKEN_RATE), RATE).array[:, 0], other])
    assert answer_take(Samples(both.astype(np.float32), RATE), ROUTE).notices == (Notice.OTHER_MUSIC,)


def test_a_route_without_notes_asks_nothing():
    assert answer_take(Samples(reed(440, 2.0), RATE), built_route("")).notices == (Notice.NOTHING_ASKED,)
