"""Recordings through the doors: a phrase written down and taught, a take lined up with its lesson."""

from __future__ import annotations

import json

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.harp import Breath, Move
from reedpath.jobs import read_lesson
from reedpath.signal import Samples, encode
from reedpath.sound import play_along

pytestmark = pytest.mark.story


def test_a_harp_recording_comes_back_as_its_route(run, lesson_folder):
    status, out, _ = run("transcribe", lesson_folder / "play-along-88.wav", "--harp", "A", "--json")
    assert status == 0
    found = [event["choice"]["move"]["holes"] for event in json.loads(out)["route"]["events"]]
    taught = json.loads((lesson_folder / "lesson.json").read_text())["route"]["events"]
    asked = [event["choice"]["move"]["holes"] for event in taught]
    # notes of one pitch in a row may be heard as one; the line of holes is the same
    assert found[:8] == asked[:8]
    assert 0.8 * len(asked) <= len(found) <= len(asked)


def test_a_span_is_written_down_kept_and_made_a_lesson(run, lesson_folder, tmp_path):
    kept = tmp_path / "span.json"
    span = ("--from", 2.0, "--until", 9.0, "--key", "E")
    status, out, _ = run("transcribe", lesson_folder / "play-along-88.wav", *span, "--out", kept, "--language", "en")
    assert status == 0
    assert "E major" in out
    assert run("lesson", kept, "--out", tmp_path / "lesson")[0] == 0
    assert (tmp_path / "lesson" / "sheet.pdf").exists()


def test_a_take_is_lined_up(run, lesson_folder):
    status, out, _ = run("align", lesson_folder / "play-along-56.wav", "--lesson", lesson_folder, "--json")
    plays = json.loads(out)["play_throughs"]
    assert status == 0
    assert len(plays) == 1
    assert plays[0]["tempo_factor"] == pytest.approx(56 / 88, rel=0.02)
    assert sum(event["played"] for event in plays[0]["events"]) == len(plays[0]["events"])


def test_silence_is_an_answer(run, lesson_folder, tmp_path):
    silent = tmp_path / "silent.wav"
    silent.write_bytes(encode(Samples(np.zeros((44_100, 1), dtype=np.float32), 44_100)))
    status, out, _ = run("transcribe", silent, "--language", "en")
    assert status == 0
    assert "Nothing that could be written down" in out
    status, out, _ = run("align", silent, "--lesson", lesson_folder, "--language", "en")
    assert status == 0
    assert "not heard in this take" in out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["transcribe", "{lesson}/tab.txt"], "this is text"),
        (["transcribe", "{lesson}/none.wav"], "No such file"),
        (["transcribe", "{lesson}/play-along-88.wav", "--from", "9", "--until", "3"], "the end after it"),
        (["transcribe", "{lesson}/play-along-88.wav", "--tempo", "5"], "20 to 400"),
        (["transcribe", "{lesson}/play-along-88.wav", "--harp", "Q"], "there is no harp named 'Q'"),
        (["align", "{lesson}/play-along-88.wav", "--lesson", "{tmp}"], "there is no lesson in this folder"),
        (["align", "{lesson}/steps.md", "--lesson", "{lesson}"], "this is text"),
    ],
)
def test_wrong_input_is_one_sentence_and_status_2(run, lesson_folder, tmp_path, arguments, says):
    status, _, err = run(*(one.format(lesson=lesson_folder, tmp=tmp_path) for one in arguments))
    assert status == 2
    assert says in err


def test_a_file_that_breaks_off_is_heard_as_far_as_it_goes_when_asked(run, lesson_folder, tmp_path):
    broken = tmp_path / "broken.wav"
    whole = (lesson_folder / "play-along-88.wav").read_bytes()
    broken.write_bytes(whole[: len(whole) // 2])
    for command in (["transcribe"], ["align", "--lesson", lesson_folder], ["listen", "--lesson", lesson_folder]):
        status, out, err = run(*command, broken)
        assert (status, out) == (2, "")
        assert "breaks off after" in err
        assert "--broken-off" in err
        status, out, _ = run(*command, broken, "--broken-off")
        assert status == 0
    assert "the rest is not played" in out
    assert run("slow", broken, "--broken-off", "--out", tmp_path / "slow.wav")[0] == 0


def test_a_student_is_answered(run, lesson_folder, tmp_path):
    """A straight 3 draw in place of its bend, and two notes missing: each is named, with a drill for it."""
    lesson = read_lesson(lesson_folder)
    events = list(lesson.route.events)
    events[1] = replace(events[1], choice=replace(events[1].choice, move=Move((3,), Breath.DRAW)))
    del events[9:11]
    phrase = replace(lesson.route.phrase, events=tuple(one.event for one in events))
    played = replace(lesson, route=replace(lesson.route, events=tuple(events), phrase=phrase))
    take, out = tmp_path / "take.wav", tmp_path / "answer"
    take.write_bytes(encode(play_along(played, lesson.ladder[2])))
    status, text, _ = run("listen", take, "--lesson", lesson_folder, "--out", out, "--language", "en")
    assert status == 0
    assert "3 draw sounds in place of 3 draw half-step bend" in text
    assert "Two notes are missing" in text
    data = json.loads((out / "answer.json").read_text())
    wrong = [one for one in data["play_throughs"][0]["events"] if one["verdict"] != "played"]
    assert [one["event"] for one in wrong] == [1, 9, 10]
    assert (out / "take.svg").read_text().startswith("<svg")
    assert {path.name for path in out.iterdir()} >= {"answer.txt", "drill-1.txt", "drill-1.json", "drill-1.mp3"}
    status, text, _ = run("listen", lesson_folder / "play-along-88.wav", "--lesson", lesson_folder, "--json")
    perfect = json.loads(text)
    assert status == 0
    assert perfect["play_throughs"][0]["right_share"] == 1.0
    assert perfect["drills"] == []
