"""A teacher is told what of a source a lesson does not hold: on the terminal and in the lesson's files."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

pytestmark = pytest.mark.story

TWO_VOICES = """X:1
T:Two Small Steps (invented for this test)
M:4/4
L:1/8
Q:1/4=96
K:G
V:1 name="Melody"
V:2 name="Low fiddle"
[V:1] "G"G2 B2 !trill!d2 g2 | f2 d2 B4 |
[V:2] G,4 G,4 | D4 G,4 |
w: one two three four
"""

ONE_VOICE = """X:1
T:Two Small Steps (invented for this test)
M:4/4
L:1/8
K:G
G2 B2 d2 g2 | f2 d2 B4 |
"""

ENGLISH = (
    "Left out of the source",
    "Voice Low fiddle: 4 notes.",
    "1 trill (line 9, column 16).",
    "1 chord symbol (line 9, column 7).",
    "Lyrics (line 11).",
)
FRENCH = (
    "Laissé de côté dans l’original",
    "Voix Low fiddle\u202f: 4 notes.",
    "1 trille (ligne 9, colonne 16).",
    "1 nom d’accord (ligne 9, colonne 7).",
    "Les paroles (ligne 11).",
)


@pytest.fixture
def tune(tmp_path) -> Path:
    path = tmp_path / "two-voices.abc"
    path.write_text(TWO_VOICES, encoding="utf-8")
    return path


def _text_of(sheet: Path) -> str:
    told = subprocess.run(["pdftotext", "-layout", str(sheet), "-"], capture_output=True, check=True)
    return told.stdout.decode()


@pytest.mark.parametrize(("language", "says"), [("en", ENGLISH), ("fr", FRENCH)])
@pytest.mark.parametrize("command", ["survey", "arrange"])
def test_the_terminal_says_what_is_dropped(run, tune, command, language, says):
    status, out, err = run(command, tune, "--language", language)
    assert (status, err) == (0, "")
    lines = [line.strip() for line in out.splitlines()]
    start = lines.index(says[0])
    assert tuple(lines[start : start + len(says)]) == says


@pytest.mark.parametrize(("languages", "says"), [("en,fr", ENGLISH), ("fr,en", FRENCH)])
def test_a_lesson_says_so_on_the_terminal_and_in_its_files(run, tune, tmp_path, languages, says):
    folder = tmp_path / "lesson"
    status, out, err = run("lesson", tune, "--out", folder, "--languages", languages)
    assert (status, err) == (0, "")
    tab = (folder / "tab.txt").read_text(encoding="utf-8")
    page = (folder / "lesson.html").read_text(encoding="utf-8")
    for line in says:
        assert line in out
        assert line in tab
    for line in (*ENGLISH, *FRENCH):  # the page holds every language of the lesson
        assert line in page
    kept = json.loads((folder / "lesson.json").read_text(encoding="utf-8"))["route"]["phrase"]["left_out"]
    assert {"voice", "trills", "chord-symbols", "lyrics"} == {one["kind"] for one in kept}


def test_the_hand_out_says_so(run, tune, tmp_path):
    run("lesson", tune, "--out", tmp_path / "lesson", "--languages", "fr")
    sheet = " ".join(_text_of(tmp_path / "lesson" / "sheet.pdf").split())
    for line in FRENCH:
        assert " ".join(line.split()) in sheet


@pytest.mark.parametrize("command", ["survey", "arrange"])
def test_data_stay_data_and_hold_it_too(run, tune, command):
    status, out, err = run(command, tune, "--json")
    assert (status, err) == (0, "")
    kinds = [one["kind"] for one in json.loads(out)["left_out"]]
    assert sorted(kinds) == ["chord-symbols", "lyrics", "trills", "voice"]


def test_a_lesson_answers_in_data_what_was_left_out(run, tune, tmp_path):
    _, out, _ = run("lesson", tune, "--out", tmp_path / "lesson", "--json")
    assert {"kind": "voice", "values": [["name", "Low fiddle"]], "what": "voice Low fiddle", "place": {},
            "count": 4} in json.loads(out)["left_out"]  # fmt: skip


def test_nothing_is_said_of_nothing(run, tmp_path):
    tune = tmp_path / "one.abc"
    tune.write_text(ONE_VOICE, encoding="utf-8")
    for command in (["survey", tune], ["arrange", tune], ["lesson", tune, "--out", tmp_path / "lesson"]):
        _, out, _ = run(*command, "--language", "en") if command[0] != "lesson" else run(*command)
        assert "Left out" not in out
    assert "Left out" not in (tmp_path / "lesson" / "tab.txt").read_text(encoding="utf-8")
    assert "Left out of the source" not in (tmp_path / "lesson" / "lesson.html").read_text(encoding="utf-8").replace(
        '"left_out":"Left out of the source"', ""
    )
    assert "Left out" not in _text_of(tmp_path / "lesson" / "sheet.pdf")


def test_an_assumed_harp_is_told_apart_from_what_is_dropped(run, tmp_path):
    tab = tmp_path / "tab.txt"
    tab.write_text("4 -4 5 -5 6 -6 -7 7\n", encoding="utf-8")
    _, out, _ = run("arrange", tab, "--language", "fr", "--format", "harmonica-tab")
    assert "Deviné ou incertain" in out
    assert "Aucun harmonica n’est nommé" in out
    assert "Laissé de côté" not in out
