"""A teacher's week: a folder of voice messages, answered with one command, and an overview to read from."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from support.glued_takes import Fault, Kind
from support.lesson_folders import contents
from support.students import TUNES, take_file, tune_folder

pytestmark = [pytest.mark.story, pytest.mark.slow]

LANE, KITE = TUNES


@pytest.fixture(scope="module")
def week(tmp_path_factory) -> Path:
    """Lessons, and takes as they come from telephones; one of them is broken, one file is none."""
    root = tmp_path_factory.mktemp("week")
    takes = root / "takes"
    (takes / "Bo").mkdir(parents=True)
    for number, title in enumerate(TUNES):
        tune_folder(title, root / "lessons" / str(number))
    take_file(takes / "Anna 2026-11-18.wav", LANE, [Fault(Kind.MISSING, 9), Fault(Kind.LATE, 14, 0.15)])
    take_file(takes / "Bo" / "PTT-20261124-WA0003.mp3", KITE, seed=5)
    (takes / "Cy 2026-11-24.m4a").write_bytes(b"nothing that sounds")
    (takes / "list.txt").write_text("eggs", encoding="utf-8")
    return root


def test_a_week_of_takes(run, week: Path, monkeypatch) -> None:
    monkeypatch.setenv("REEDPATH_PROCESSES", "1")
    monkeypatch.chdir(week)
    command = ("listen", "takes", "--lesson", "lessons", "--out", "answers", "--language", "en")
    hers = contents(week)

    status, out, err = run(*command)
    assert (status, err) == (2, "")
    assert "3 takes of 2 students: 2 answered now and 1 not answered." in out
    assert f"“{KITE}”, 2026-11-24\n  18 of 18 notes right (100%)" in out
    assert "Cy 2026-11-24.m4a: this is text" in out
    assert out.rstrip().endswith("answers/overview.html")
    assert {name: data for name, data in contents(week).items() if not name.startswith("answers/")} == hers
    answers = week / "answers"
    assert {one.name for one in (answers / "Anna 2026-11-18").iterdir()} >= {"answer.txt", "take.svg", "drill-1.mp3"}
    (answers / "Anna 2026-11-18" / "answer.txt").write_text("My own words.\n", encoding="utf-8")

    take_file(week / "takes" / "Anna 2026-11-25.wav", LANE, [Fault(Kind.LATE, 14, 0.15)], seed=4)
    (week / "takes" / "Cy 2026-11-24.m4a").unlink()
    status, out, err = run(*command, "--json")
    assert (status, err) == (0, "")
    told = json.loads(out)
    anna, bo = told["takes"]
    assert (anna["student"], anna["is_new"], anna["change"], anna["last"]["right"]) == ("Anna", True, "better", 16)
    assert (anna["right"], anna["notes"], anna["better_in"], anna["worse_in"]) == (17, 18, "bar 6", "")
    assert anna["say"][0].startswith("Last time 89% of the notes were right, this time 94%")
    assert (bo["student"], bo["is_new"], bo["folder"]) == ("Bo", False, "Bo PTT-20261124-WA0003")
    assert told["older"] == 1
    assert (answers / "Anna 2026-11-18" / "answer.txt").read_text(encoding="utf-8") == "My own words.\n"
    with (answers / "overview.csv").open(encoding="utf-8-sig", newline="") as table:
        assert [row["student"] for row in csv.DictReader(table)] == ["Anna", "Bo"]
    page = (answers / "overview.html").read_text(encoding="utf-8")
    assert "Better than on 2026-11-18" in page
    assert 'href="Anna%202026-11-25/answer.txt"' in page


def test_wrong_use_is_told_in_a_sentence(run, week: Path, monkeypatch, tmp_path: Path) -> None:
    monkeypatch.setenv("REEDPATH_FOLDER", str(tmp_path / "own"))
    monkeypatch.chdir(week)
    for words, said in (
        (("takes",), "no lesson is given that the takes could be of"),
        (("takes", "--lesson", "takes"), "there is no lesson in this folder"),
        (("none", "--lesson", "lessons"), "there is no such file"),
        (("lessons", "--lesson", "lessons"), "there is no recording in this folder"),
        (("takes", "--lesson", "lessons", "--out", "takes"), "other things than answers lie in this folder"),
        (("takes", "--lesson", "lessons", "--cluster", "nowhere"), "is no address of a cluster"),
    ):
        status, out, err = run("listen", *words, "--language", "en")
        assert (status, out) == (2, ""), words
        assert said in err, words
