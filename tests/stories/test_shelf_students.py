"""A teacher's Thursday on the command line: takes by the dozen, where each student stands, what next, a letter."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest

from support.glued_takes import Fault, Kind
from support.students import TUNES, take_file, tune_folder, tune_route

pytestmark = [pytest.mark.story, pytest.mark.slow]

LANE, KITE = TUNES


def told(run, *words: object) -> str:
    status, out, err = run("shelf", *words)
    assert (status, err) == (0, ""), (words, err)
    return out


def data(run, *words: object):
    return json.loads(told(run, *words, "--json"))


@pytest.fixture(scope="module")
def sounds(tmp_path_factory) -> Path:
    """Takes of two students, one that names nobody, one that is no recording."""
    folder = tmp_path_factory.mktemp("takes")
    bends = [index for index, one in enumerate(tune_route(LANE).events) if one.choice.move.semitones]
    assert bends
    flat = [Fault(Kind.FLAT, index, 45.0) for index in bends]
    take_file(folder / "Ada week 1.wav", LANE, [*flat, Fault(Kind.MISSING, 9), Fault(Kind.LATE, 14, 0.15)])
    take_file(folder / "ADA-week-2.wav", LANE, flat[:1], seed=4)
    take_file(folder / "bo.mp3", KITE, [Fault(Kind.LATE, 4, 0.15)])
    take_file(folder / "recording 7.wav", KITE, seed=5)
    (folder / "ada broken.wav").write_bytes(b"nothing that sounds")
    return folder


@pytest.fixture
def shelf(sounds: Path, tmp_path: Path, monkeypatch, run) -> Path:
    monkeypatch.setenv("REEDPATH_FOLDER", str(tmp_path / "own"))
    monkeypatch.setenv("LC_ALL", "en_GB.UTF-8")
    monkeypatch.setenv("REEDPATH_PROCESSES", "1")
    monkeypatch.chdir(sounds)
    for number, title in enumerate(TUNES):
        told(run, "add", tune_folder(title, tmp_path / f"lesson-{number}"))
    (tmp_path / "more.abc").write_text(
        "X:1\nT:Up the hill (invented)\nM:4/4\nL:1/8\nK:A\nA2c2e2c2|B2d2f2d2|e4c4|A8|\n\n"
        "X:2\nT:Fast water (invented)\nM:4/4\nL:1/16\nQ:1/4=170\nK:A\n"
        "ABcdefga agfedcBA|aceacebd cAecfdgb|ABcdefga agfedcBA|a16|\n",
        encoding="utf-8",
    )
    told(run, "add", tmp_path / "more.abc")
    told(run, "student", "Ada Inventée", "--level", "easy", "--owned", "A, C")
    told(run, "student", "Bo Invented", "--level", "first-months", "--owned", "C")
    return tmp_path


def test_a_thursday_of_takes(shelf: Path, run) -> None:
    takes = ["Ada week 1.wav", "ADA-week-2.wav", "bo.mp3", "recording 7.wav"]
    status, out, err = run("shelf", "takes", *takes, "ada broken.wav")
    assert status == 2
    assert "ada broken.wav" in err
    first, second, third, fourth = out.strip().splitlines()
    assert first.startswith(f"Ada week 1.wav: Ada Inventée plays “{LANE}”; ")
    assert second.startswith(f"ADA-week-2.wav: Ada Inventée plays “{LANE}”; ")
    assert third.startswith(f"bo.mp3: Bo Invented plays “{KITE}”; ")
    assert fourth == "recording 7.wav: who plays? It may be Ada Inventée or Bo Invented. Say --student."
    (kept,) = data(run, "takes", "recording 7.wav", "--student", "bo invented")
    assert (kept["lesson"], kept["kept"], kept["right_share"]) == (KITE, True, 1.0)
    assert [len(one["takes"]) for one in data(run, "list")["students"]] == [2, 2]

    ada = data(run, "progress", "ada inventée")
    assert (ada["takes"], ada["unheard"]) == (takes[:2], [])
    by_technique = {one["technique"]: one for one in ada["techniques"]}
    assert by_technique["plain"]["chance"]["share"] > by_technique["half_bends"]["chance"]["share"]
    assert by_technique["half_bends"]["cents"]["mean"] < -5
    out = told(run, "progress", "Ada Inventée")
    assert "2 takes heard" in out
    assert "draw bends of a half step" in out
    assert "Nothing is due today." in out or "To practise today" in out
    out = told(run, "progress", "Ada Inventée", "--language", "fr")
    assert "altérations aspirées d’un demi-ton" in out

    comes = data(run, "next", "Ada Inventée")
    assert [one["title"] for one in comes["lessons"]] == [LANE]
    found = comes["phrases"]
    assert {one["title"] for one in found} == {"Up the hill (invented)", "Fast water (invented)", KITE}
    shares = {one["title"]: one["expected_share"] for one in found}
    assert shares["Fast water (invented)"] < shares["Up the hill (invented)"]
    assert {one["harp"] for one in found} <= {"A", "C"}
    assert "The next phrases" in told(run, "next", "Ada Inventée")

    letter = told(run, "letter", "Ada Inventée")
    assert letter.startswith("Dear Ada Inventée,")
    assert "Last time" in letter
    assert "bend a little less" in letter
    assert "Next: " in letter
    (shelf / "mine.txt").write_text("Dear Ada,\n\nmy own words.\n", encoding="utf-8")
    told(run, "letter", "Ada Inventée", "--text", shelf / "mine.txt")
    kept = data(run, "letter", "Ada Inventée")
    assert kept["text"] == "Dear Ada,\n\nmy own words.\n"
    assert kept["proposed"] == letter
    french = told(run, "letter", "Ada Inventée", "--language", "fr")
    assert french.startswith("Bonjour Ada Inventée,")
    told(run, "export", "ada.zip", "--student", "Ada Inventée", "--replace")
    with zipfile.ZipFile("ada.zip") as zipped:
        assert b"my own words" in zipped.read("shelf.json")
    told(run, "erase", "Ada Inventée")
    assert b"my own words" not in (shelf / "own" / "shelf.sqlite").read_bytes()


def test_wrong_use_is_told_in_a_sentence(shelf: Path, run) -> None:
    for words, said in (
        (("progress", "Nobody"), "there is no student called 'Nobody'"),
        (("letter", "Bo Invented"), "no take of Bo Invented has been answered yet"),
        (("letter", "Bo Invented", "--text", "bo.mp3"), "there is no letter to Bo Invented yet"),
        (("takes", "bo.mp3", "--student", "Nobody"), "there is no student called 'Nobody'"),
        (("takes", "bo.mp3", "--lesson", "Nothing"), "there is no lesson called 'Nothing' on the shelf"),
        (("next", "Bo Invented", "--top", "0"), "0"),
    ):
        status, out, err = run("shelf", *words)
        assert (status, out) == (2, ""), words
        assert said in err
    assert "no take has been answered yet" in told(run, "progress", "Bo Invented")
    status, _, err = run("shelf", "takes", "none.wav")
    assert status == 2
    assert "none.wav: cannot be opened" in err
