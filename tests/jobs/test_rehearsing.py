"""Rehearsing: a play-along with all that the page draws, and the answer to what was played to it."""

from __future__ import annotations

import json
from fractions import Fraction

import msgspec
import numpy as np
import pytest

from reedpath.errors import SettingsError
from reedpath.jobs import RehearsalWishes, answer_recording, answer_rehearsal, prepare_rehearsal
from reedpath.jobs.answering import answered_as_data
from reedpath.jobs.arranging import RouteRequest
from reedpath.jobs.instruments import HarpChoice
from reedpath.jobs.rehearsing import lesson_of_phrase, lesson_to_rehearse
from reedpath.lesson import encode_lesson, make_lesson
from reedpath.listen import LiveAsked, LiveSession
from reedpath.phrase import encode_phrase, timing_of
from reedpath.shelf import LessonVersion
from reedpath.signal import decode, encode
from support.built_routes import built_lesson, built_route
from support.glued_takes import Manner, glue, perform

ROUTE = built_route("2d:1 3d':1 r:1/2 4d:1 (4 5)b:1 3d'':2", key="C", bpm=120, swing=Fraction(2))
LESSON = built_lesson(ROUTE)


def prepared(folder, **wishes):
    return prepare_rehearsal(folder, LESSON, RehearsalWishes(**wishes), language="en")


def test_a_rehearsal_holds_the_sound_and_where_all_lies_in_it(tmp_path):
    made = prepared(tmp_path, rung="rung 1")
    timing = timing_of(ROUTE.phrase).scaled(0.75)
    assert [one.start for one in made.events] == [
        pytest.approx(timing.seconds_at(one.event.onset), abs=1e-3) for one in ROUTE.events
    ]
    sound = decode((tmp_path / made.sound).read_bytes())
    assert sound.duration_seconds == pytest.approx(made.seconds, abs=0.01)
    first = round(made.rounds[0] * sound.rate)
    before = np.abs(sound.array[first - 1500 : first - 300]).max()
    after = np.abs(sound.array[first + 500 : first + 8000]).max()
    assert after > 5 * before  # the harmonica begins with the first event
    assert [number for _, number in made.counts] == [1, 2, 3, 4]
    assert made.ends_seconds == pytest.approx(made.rounds[0] + made.events[-1].end, abs=0.01)


def test_targets_are_told_by_hole_and_depth(tmp_path):
    made = prepared(tmp_path)
    assert made.rung.name == "rung 0"
    assert made.events[1].targets == ((3, -1.0),)
    assert made.events[1].natural_cents == 100.0
    assert made.events[0].natural_cents is None
    assert [hole for hole, _ in made.events[3].targets] == [4, 5]
    assert (made.events[4].tab, made.events[4].says) == ("-3''", "3 draw, whole-step bend")


def test_the_strip_runs_with_the_sound(tmp_path):
    made = prepared(tmp_path)
    seconds, rows = zip(*made.clock, strict=True)
    assert list(seconds) == sorted(seconds)
    assert list(rows) == sorted(rows)
    timing = timing_of(ROUTE.phrase).scaled(0.5)
    beat_rows = np.interp(timing.seconds_at(1), seconds, rows)
    for event, one in zip(made.events, ROUTE.events, strict=True):
        assert np.interp(event.start, seconds, rows) == pytest.approx(beat_rows * float(one.event.onset), abs=0.01)
    assert made.picture.strip.startswith("<svg")
    assert "style=" not in made.picture.strip + made.picture.comb  # the policy lets none in


def test_without_the_harmonica_only_the_count_in_sounds(tmp_path):
    made = prepared(tmp_path, is_played=False)
    sound = decode((tmp_path / made.sound).read_bytes())
    after = sound.array[round((made.rounds[0] + 0.3) * sound.rate) :]
    assert np.abs(after).max() < 1e-3


@pytest.mark.slow
def test_a_band_plays_round_after_round(tmp_path):
    made = prepared(tmp_path, has_band=True, rounds=2)
    assert len(made.rounds) == 2
    assert made.rounds[1] - made.rounds[0] > made.events[-1].end
    sound = decode((tmp_path / made.sound).read_bytes())
    assert sound.duration_seconds == pytest.approx(made.seconds, abs=0.05)


@pytest.mark.parametrize("rounds", [0, 5])
def test_rounds_out_of_bounds_are_refused(tmp_path, rounds):
    with pytest.raises(SettingsError) as told:
        prepared(tmp_path, rounds=rounds)
    assert told.value.key == "jobs.rehearsal_rounds"


def test_a_tempo_that_the_lesson_has_not_is_refused(tmp_path):
    with pytest.raises(SettingsError) as told:
        prepared(tmp_path, rung="breakneck")
    assert told.value.key == "lesson.unknown_rung"


def test_what_is_listened_for_serves_a_live_session(tmp_path):
    asked = prepared(tmp_path).asked
    assert isinstance(asked, LiveAsked)
    LiveSession(msgspec.structs.replace(asked, rate=48_000)).warm()


def test_a_phrase_is_rehearsed_on_the_harp_asked_for():
    request = RouteRequest(harp=HarpChoice(key="C"), shift_semitones=0)
    lesson = lesson_of_phrase(encode_phrase(ROUTE.phrase).decode(), request, title="Stairs", notation="sign")
    assert (lesson.title, lesson.route.harp.name) == ("Stairs", "C")
    assert lesson.ladder


def test_a_lesson_of_one_phrase_comes_from_its_version():
    lesson = make_lesson(ROUTE, title="Stairs")
    version = LessonVersion(lesson=1, version=1, data=encode_lesson(lesson).decode())
    assert lesson_to_rehearse(version).route.events == lesson.route.events


@pytest.mark.slow
def test_the_answer_is_that_of_listening_to_the_recording(tmp_path):
    rng = np.random.default_rng(1)
    take = glue(ROUTE, perform(ROUTE, rng, manner=Manner()), rng=rng)
    file = tmp_path / "take.wav"
    file.write_bytes(encode(take.samples, bits=16))
    folder = tmp_path / "answer"
    folder.mkdir()
    answer = answer_rehearsal(folder, file, LESSON, language="en")
    listened = answered_as_data(answer_recording(file, LESSON))
    assert json.loads((folder / "answer.json").read_text()) == json.loads(json.dumps(listened))
    assert answer.notes == len(ROUTE.events)
    assert answer.right >= 4
    assert "<svg" in (folder / "take.svg").read_text()
    kept = decode((folder / "take.flac").read_bytes())
    assert np.allclose(kept.array, decode(file.read_bytes()).array, atol=1e-4)
