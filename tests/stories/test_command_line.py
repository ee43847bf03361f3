"""Whole jobs through the command line, as a user has them; wrong input too."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from reedpath.jobs.folders import UNFINISHED

pytestmark = pytest.mark.story

MINE = """X:1
T:Two Small Steps (invented for this test)
M:4/4
L:1/8
Q:1/4=96
K:G
G2 B2 d2 g2 | f2 d2 B4 | G2 B2 d2 g2 | f2 d2 G4 |
"""


@pytest.fixture
def tune(tmp_path) -> Path:
    path = tmp_path / "small-steps.abc"
    path.write_text(MINE, encoding="utf-8")
    return path


def test_help_shows_every_command_and_examples(run):
    status, out, _ = run("--help")
    assert status == 0
    assert all(name in out for name in ("demo", "harp", "survey", "arrange", "lesson"))
    for command in ("demo", "harp", "survey", "arrange", "lesson"):
        status, out, _ = run(command, "--help")
        assert status == 0
        assert f"reedpath {command}" in out


def test_a_harp_as_people_and_as_data(run):
    status, out, _ = run("harp", "A", "--positions", "--language", "en")
    assert status == 0
    assert "second position" in out
    status, out, _ = run("harp", "A", "--json")
    data = json.loads(out)
    assert (data["key"], data["holes"], data["tuning"]) == ("A", 10, "standard")
    three_draw_bent = {"holes": [3], "breath": "draw", "alteration": "bend", "semitones": -1, "midi": [67]}
    assert any(three_draw_bent.items() <= move.items() for move in data["moves"])


def test_a_survey_ranks_and_is_data_when_asked(run, tune):
    status, out, _ = run("survey", tune, "--top", 3, "--json")
    ranked = json.loads(out)["ranked"]
    assert status == 0
    assert len(ranked) == 3
    assert ranked[0]["truth"] == 1.0
    scores = [line["score"] for line in ranked]
    assert scores == sorted(scores)
    status, out, _ = run("survey", tune, "--owned", "C, D", "--language", "en")
    assert "C harp" in out
    assert "G harp" not in out


def test_arranging_in_a_position_and_why(run, tune):
    status, out, _ = run("arrange", tune, "--position", 2, "--shift", 0, "--json")
    data = json.loads(out)
    assert (status, data["harp"]["key"], data["position"]) == (0, "C", 2)
    assert [event["event"]["onset_beats"] for event in data["events"]][:3] == ["0", "1", "2"]
    assert data["events"][0]["choice"]["move"]["holes"] == [2]
    total = sum(event["effort"]["total"] for event in data["events"])
    assert data["effort"]["total"] == pytest.approx(total, abs=0.01)
    status, out, _ = run("arrange", tune, "--harp", "C", "--why", "--trade-off", "--language", "en")
    assert status == 0
    assert "breath turns" in out


def test_a_lesson_folder_is_whole(run, tune, tmp_path):
    folder = tmp_path / "lesson"
    status, _, err = run("lesson", tune, "--out", folder, "--harp", "G", "--languages", "fr,en")
    assert (status, err) == (0, "")
    names = {path.name for path in folder.iterdir()}
    assert {
        "tab.txt", "score.musicxml", "score.svg", "chart.svg", "ribbon.svg", "steps.md", "phrase.mid", "lesson.json",
        "sheet.pdf", "play-along-96.wav", "lesson.html",
    } <= names  # fmt: skip
    assert len([name for name in names if name.startswith("play-along-")]) >= 3
    assert (folder / "sheet.pdf").read_bytes().startswith(b"%PDF")
    assert "soufflé" in (folder / "steps.md").read_text(encoding="utf-8")
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_folder_is_written_over_only_when_asked_and_only_a_lesson(run, tune, tmp_path):
    folder = tmp_path / "lesson"
    assert run("lesson", tune, "--out", folder)[0] == 0
    status, _, err = run("lesson", tune, "--out", folder)
    assert status == 2
    assert "--replace" in err
    assert run("lesson", tune, "--out", folder, "--replace")[0] == 0
    holiday = tmp_path / "holiday"
    holiday.mkdir()
    (holiday / "picture.png").write_bytes(b"mine")
    assert run("lesson", tune, "--out", holiday, "--replace")[0] == 2
    assert [path.name for path in holiday.iterdir()] == ["picture.png"]
    assert (holiday / "picture.png").read_bytes() == b"mine"
    (holiday / "lesson.json").write_text('{"title": "of another program"}', encoding="utf-8")
    status, _, err = run("lesson", tune, "--out", holiday, "--replace")
    assert (status, "but no lesson in it" in err) == (2, True)
    assert sorted(path.name for path in holiday.iterdir()) == ["lesson.json", "picture.png"]


def test_what_the_teacher_keeps_and_edits_in_a_lesson_folder_stays(run, tune, tmp_path):
    folder = tmp_path / "lesson"
    assert run("lesson", tune, "--out", folder, "--harp", "G")[0] == 0
    hers = {"takes/week-1.wav": b"a take", "Documents/letter.txt": b"a letter", "my notes.md": b"notes"}
    for name, data in hers.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(data)
    (folder / "steps.md").write_text("In my own words.", encoding="utf-8")
    status, out, _ = run("lesson", tune, "--out", folder, "--harp", "C", "--replace", "--languages", "en")
    assert status == 0
    assert "steps.kept.md" in out
    assert (folder / "steps.kept.md").read_text(encoding="utf-8") == "In my own words."
    assert "In my own words." not in (folder / "steps.md").read_text(encoding="utf-8")
    assert {name: (folder / name).read_bytes() for name in hers} == hers


def test_one_file_is_written_over_only_when_asked(run, tune, tmp_path, lesson_folder):
    out = tmp_path / "solo.json"
    out.write_text("mine", encoding="utf-8")
    sound = next(lesson_folder.glob("play-along-*.wav"))
    for command in (("transcribe", sound, "--out", out), ("slow", sound, "--out", tmp_path / "slow.wav")):
        (tmp_path / "slow.wav").write_bytes(b"mine")
        status, _, err = run(*command)
        assert (status, "there is a file of that name" in err) == (2, True)
        assert Path(command[-1]).read_bytes() == b"mine"
        assert run(*command, "--replace")[0] == 0
        assert Path(command[-1]).read_bytes() != b"mine"


def test_an_interrupted_lesson_leaves_nothing(run, tune, tmp_path, monkeypatch):
    def interrupted(*_args, **_kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr("reedpath.jobs.lessons.encode_midi", interrupted)
    monkeypatch.setenv("LC_ALL", "fr_FR.UTF-8")
    status, _, err = run("lesson", tune, "--out", tmp_path / "lesson")
    assert status == 130
    assert "il ne reste rien d’inachevé" in err
    assert sorted(path.name for path in tmp_path.iterdir()) == [tune.name]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signals")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_film_that_is_ended_from_outside_leaves_nothing(lesson_folder, tmp_path, name):
    command = [sys.executable, "-c", "from reedpath.cli import main; main()", "film", lesson_folder, "--out", "f.mp4"]
    with subprocess.Popen(command, cwd=tmp_path, stderr=subprocess.PIPE, text=True) as running:
        for _ in range(600):
            if any(tmp_path.iterdir()):
                break
            time.sleep(0.05)
        assert [path.name for path in tmp_path.iterdir()] == [UNFINISHED]
        running.send_signal(getattr(signal, name))
        _, err = running.communicate(timeout=60)
    assert running.returncode == 130
    assert len(err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["harp", "J"], "there is no harp named 'J'"),
        (["harp", "A", "--tuning", "nobody"], "there is no tuning named 'nobody'"),
        (["harp", "A", "--temperament", "nobody"], "nobody"),
        (["harp", "A", "--a4", "nine"], "'--a4'"),
        (["harp", "A", "--a4", "9000"], "9000"),
        (["survey", "{tmp}/missing.abc"], "there is no such file"),
        (["arrange", "{tmp}", "--harp", "A"], "this is a folder"),
        (["survey", "{tune}", "--top", "0"], "at least 1"),
        (["survey", "{tune}", "--format", "nobody"], "there is no reader named 'nobody'"),
        (["survey", "{tune}", "--choose", "tune"], "write a name and a value"),
        (["survey", "{tune}", "--choose", "colour=red"], "colour"),
        (["survey", "{tune}", "--bars", "9-"], "is not a range of bars"),
        (["survey", "{tune}", "--bars", "90-95"], "no bars 90 to 95"),
        (["survey", "{tune}", "--key", "J"], "there is no key named 'J'"),
        (["survey", "{tune}", "--tempo", "0"], "a tempo of 0"),
        (["survey", "{tune}", "--level", "wizard"], "there is no level named 'wizard'"),
        (["survey", "{tune}", "--draw-bends", "9"], "deepest bend of 9"),
        (["survey", "{tune}", "--owned", "A,Q"], "there is no harp named 'Q'"),
        (["arrange", "{tune}", "--harp", "A", "--position", "2"], "both given"),
        (["arrange", "{tune}", "--position", "13"], "13"),
        (["arrange", "{tune}", "--shift", "99"], "99"),
        (["arrange", "{tune}", "--notation", "nobody"], "nobody"),
        (["lesson", "{tune}", "--out", "{tmp}/x", "--languages", "xx"], "xx"),
        (["lesson", "{tune}", "--out", "{tmp}/x", "--paper", "vellum"], "vellum"),
        (["lesson", "{tune}", "--out", "{tune}"], "there is a file of that name"),
        (["lesson", "{tune}"], "--out"),
        (["nonsense"], "nonsense"),
        (["survey", "{tune}", "--nonsense"], "nonsense"),
    ],
)
def test_wrong_input_is_one_sentence_and_status_2(run, tune, tmp_path, arguments, says):
    filled = [text.format(tmp=tmp_path, tune=tune) for text in arguments]
    status, out, err = run(*filled)
    assert status == 2
    assert says in err
    assert "Traceback" not in out + err


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("empty.mid", b""),
        ("noise.bin", bytes(range(256)) * 40),
        ("fake.mid", b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk\xff\xff\xff\xff"),
        ("fake.mxl", b"PK\x03\x04 and nothing else"),
        ("bomb.musicxml", b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><x>&b;</x>'),
        ("silent.abc", b"X:1\nT:Nothing\nK:C\nz4|\n"),
    ],
)
def test_hostile_and_empty_sources_are_refused_in_words(run, tmp_path, name, data):
    path = tmp_path / name
    path.write_bytes(data)
    status, _, err = run("survey", path)
    assert status == 2
    assert name in err
    assert "Traceback" not in err


def test_the_reader_of_a_pipe_may_leave_early(tune):
    command = f"{sys.executable} -c 'from reedpath.cli import main; main()' survey '{tune}' --json | head -n 1"
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("{\n", "")


def test_a_shell_completes_commands():
    """As a shell asks once completion is installed."""
    asked = {"_REEDPATH_COMPLETE": "bash_complete", "COMP_WORDS": "reedpath sur", "COMP_CWORD": "1"}
    command = [sys.executable, "-c", "from reedpath.cli import main; main()"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, env=os.environ | asked)
    assert done.stdout.split() == ["plain,survey"]
