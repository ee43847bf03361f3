"""A teacher's shelf through the command line: filled, searched, undone, given away, and told where it goes wrong."""

from __future__ import annotations

import json
import shutil
import sqlite3
import zipfile
from pathlib import Path

import numpy as np
import pytest
import soundfile

pytestmark = pytest.mark.story

TUNES = """X:1
T:Up the stairs (invented)
M:4/4
L:1/4
Q:1/4=120
K:G
GABd|dBAG|GBdg|g2G2|

X:2
T:Élan (invented)
M:4/4
L:1/4
K:E
EGAB|AGEE|EGBe|e2E2|
"""


@pytest.fixture
def mine(tmp_path: Path, monkeypatch) -> Path:
    """A folder with sources, in which the program keeps the user's own shelf."""
    monkeypatch.setenv("REEDPATH_FOLDER", str(tmp_path / "own"))
    monkeypatch.setenv("LC_ALL", "en_GB.UTF-8")
    (tmp_path / "tunes.abc").write_text(TUNES, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def told(run, *words: object) -> str:
    status, out, err = run("shelf", *words)
    assert (status, err) == (0, ""), words
    return out


def refused(run, *words: object) -> str:
    status, out, err = run("shelf", *words)
    assert (status, out) == (2, ""), words
    assert "fault in the program" not in err
    return err


def data(run, *words: object) -> dict:
    return json.loads(told(run, *words, "--json"))


def test_a_shelf_is_filled_searched_and_undone(mine: Path, run, lesson_folder: Path) -> None:
    assert "there is no shelf here" in refused(run, "list")
    out = told(run, "add", "tunes.abc", lesson_folder, "--tag", "blues", "--tag", "Été")
    assert "Phrase: Up the stairs (invented)" in out
    assert "Phrase: Élan (invented)" in out
    assert out.count("Lesson: ") == 1
    assert (mine / "own" / "shelf.sqlite").is_file()
    assert "There already" in told(run, "add", "tunes.abc", "--quick")
    assert "1 lesson" in told(run, "list")
    assert len(data(run, "list")["phrases"]) == 3
    for words, titles in (
        (("elan",), ["Élan (invented)"]),
        (("ÉLAN",), ["Élan (invented)"]),
        (("up", "st"), ["Up the stairs (invented)"]),
        (("--tag", "ete", "--key", "sol"), ["Up the stairs (invented)"]),
        (("--hardest", "0"), []),
        (("--tune", "E G A B A G", "--key", "E", "invented"), ["Élan (invented)"]),
        (("--tune", "mi sol la si la sol", "invented", "--top", "1"), ["Élan (invented)"]),
        (("--tune", "F G A C C A G F F", "--top", "1"), ["Up the stairs (invented)"]),
    ):
        assert [one["title"] for one in data(run, "find", *words)["found"]] == titles, words
    assert "3 more notes would make it likely" in told(run, "find", "--tune", "E G A B A G")
    number = data(run, "find", "elan")["found"][0]["number"]
    assert "Elan, mine" in told(run, "words", number, "--title", "Elan, mine", "--tag", "slow", "--not-tag", "Blues")
    assert data(run, "find", "mine")["found"][0]["tags"] == ["Été", "slow"]
    told(run, "get", number, "--out", "mine.json")
    assert run("survey", "mine.json", "--owned", "A")[0] == 0
    assert "is off the shelf" in told(run, "remove", number)
    assert data(run, "find", "mine")["found"] == []
    assert "Undone: a phrase taken off the shelf (1 record)." in told(run, "undo")
    assert "Défait" in told(run, "undo", "--language", "fr")
    assert data(run, "find", "elan")["found"][0]["title"] == "Élan (invented)"
    assert "Done again: title or tags changed" in told(run, "redo")
    assert data(run, "undo")["step"] == "words"
    assert data(run, "undo")["step"] == "add"
    assert "nothing to undo" in told(run, "undo")
    assert data(run, "list") == {"phrases": [], "lessons": [], "students": []}


def test_a_tune_is_found_by_a_source_and_by_a_recording_of_a_few_notes(mine: Path, run) -> None:
    told(run, "add", "tunes.abc", "--quick")
    (mine / "hummed.abc").write_text("X:1\nM:4/4\nL:1/8\nK:C\nCEFG|FECC|CEGc|\n", encoding="utf-8")
    assert data(run, "find", "--tune-from", "hummed.abc", "--top", 1)["found"][0]["title"] == "Élan (invented)"
    rate = 44_100
    seconds = np.arange(int(0.4 * rate)) / rate
    fade = np.minimum(1, np.minimum(seconds, seconds[::-1]) / 0.03)
    # the first nine notes of "Up the stairs", a whole tone lower
    line = (65, 67, 69, 72, 72, 69, 67, 65, 65)
    tones = [
        fade * sum(0.3 / k * np.sin(2 * np.pi * k * 440 * 2 ** ((m - 69) / 12) * seconds) for k in (1, 2, 3))
        for m in line
    ]
    soundfile.write(mine / "hummed.wav", np.concatenate(tones), rate)
    found = data(run, "find", "--tune-from", "hummed.wav")
    assert found["found"][0]["title"] == "Up the stairs (invented)"
    assert found["found"][0]["tune"]["semitones"] == -2
    assert found["more_notes_wanted"] == 0
    assert "both given" in refused(run, "find", "--tune-from", "hummed.wav", "--tune", "E G A")
    assert "there is no such file" in refused(run, "find", "--tune-from", "none.wav")
    (mine / "nonsense.bin").write_bytes(bytes(range(256)))
    assert "nonsense.bin" in refused(run, "find", "--tune-from", "nonsense.bin")


def test_students_takes_zips_and_versions(mine: Path, run, lesson_folder: Path) -> None:
    folder = mine / "lesson"
    shutil.copytree(lesson_folder, folder)
    added = data(run, "add", folder, "--files")
    title = added["lessons"][0]
    assert data(run, "add", folder, "--files")["there"] == [title]
    lesson = json.loads((folder / "lesson.json").read_text(encoding="utf-8"))
    lesson["author"] = "Ada Inventée"
    (folder / "lesson.json").write_text(json.dumps(lesson), encoding="utf-8")
    assert data(run, "add", folder)["lessons"] == [title]
    assert "author" in told(run, "compare", title)
    found = data(run, "compare", title.upper(), "--before", 1, "--after", 2)
    assert [one["place"] for one in found["differences"]] == [["author"]]
    assert "no version 7" in refused(run, "compare", title, "--after", 7)
    assert "lesson.html" in told(run, "lesson", title, "--version", 1, "--out", "back")
    made = {path.name: path.read_bytes() for path in lesson_folder.iterdir() if not path.name.startswith(".")}
    assert {path.name: path.read_bytes() for path in (mine / "back").iterdir() if path.name in made} == made
    assert data(run, "lesson", title, "--out", "new")["version"] == 2
    assert "no version 7" in refused(run, "lesson", title, "--version", 7, "--out", "seven")
    assert "back" in refused(run, "lesson", title, "--out", "back")

    assert "Bo" in told(run, "student", "Bo", "--level", "easy", "--owned", "A, Low F", "--technique", "draw_bends")
    assert data(run, "student", "bo", "--note", "left-handed")["harps"] == ["A", "Low F"]
    take = min(folder.glob("play-along*.wav"))
    assert "Kept for Bo" in told(run, "take", take, "--student", "Bo", "--lesson", title)
    assert "1 take" in told(run, "list")
    told(run, "export", "bo.zip", "--student", "BO")
    told(run, "export", "all.zip")
    assert "there is a file of that name" in refused(run, "export", "all.zip")
    assert data(run, "import", "all.zip", "--shelf", "other.sqlite")["there"] == 0
    told(run, "export", "again.zip", "--shelf", "other.sqlite")
    assert (mine / "again.zip").read_bytes() == (mine / "all.zip").read_bytes()
    with zipfile.ZipFile("bo.zip") as zipped:
        assert take.read_bytes() in [zipped.read(name) for name in zipped.namelist() if name.startswith("files/")]
    assert "Bo is erased" in told(run, "erase", "bo")
    assert b"left-handed" not in (mine / "own" / "shelf.sqlite").read_bytes()
    assert "there is no student called 'Bo'" in refused(run, "take", take, "--student", "Bo")
    assert data(run, "import", "bo.zip")["added"]["take"] == 1
    assert "Everything is intact." in told(run, "check")
    kept = next(one for one in (mine / "own" / "shelf.sqlite.files").iterdir() if one.suffix == ".wav")
    kept.write_bytes(b"tampered")
    status, out, _ = run("shelf", "check")
    assert status == 2
    assert f"the file {kept.name} is lost" in out


def test_wrong_use_is_told_in_a_sentence(mine: Path, run) -> None:
    told(run, "add", "tunes.abc", "--quick", "--shelf", "a.sqlite")
    (mine / "empty").mkdir()
    assert "this file is not a shelf" in refused(run, "list", "--shelf", "tunes.abc")
    assert "ce fichier n’est pas une étagère" in refused(run, "list", "--shelf", "tunes.abc", "--language", "fr")
    assert "this is not a zip" in refused(run, "import", "tunes.abc", "--shelf", "a.sqlite")
    assert "there is no such file" in refused(run, "import", "none.zip", "--shelf", "a.sqlite")
    assert "a folder" in refused(run, "import", "empty", "--shelf", "a.sqlite")
    assert "there is no such file" in refused(run, "add", "none.abc", "--shelf", "a.sqlite")
    assert "nothing here can be read" in refused(run, "add", "empty", "--shelf", "a.sqlite")
    assert "'H#x' names no note" in refused(run, "find", "--tune", "E H#x G", "--shelf", "a.sqlite")
    assert "2 notes" in refused(run, "find", "--tune", "E G", "--shelf", "a.sqlite")
    assert "has the number 99" in refused(run, "remove", 99, "--shelf", "a.sqlite")
    assert "there is no level named 'x'" in refused(run, "student", "Bo", "--level", "x", "--shelf", "a.sqlite")
    assert "there is no technique named 'x'" in refused(
        run, "student", "Bo", "--technique", "x", "--shelf", "a.sqlite"
    )
    assert "there is no student called 'Bo'" in refused(run, "erase", "Bo", "--shelf", "a.sqlite")
    assert "there is no command called" in refused(run, "fnd")
    assert "FILE... is missing" in refused(run, "add")
    with zipfile.ZipFile("other.zip", "w") as zipped:
        zipped.writestr("../evil.txt", "x")
    assert "shelf.json is missing from the zip" in refused(run, "import", "other.zip", "--shelf", "a.sqlite")
    with sqlite3.connect("a.sqlite") as newer:
        newer.execute("PRAGMA user_version = 99")
    newer.close()
    assert "written by a newer version" in refused(run, "list", "--shelf", "a.sqlite")
