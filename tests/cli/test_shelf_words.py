"""What the command line says of a shelf, on a shelf of one tune and one lesson, all typed by hand."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from reedpath.cli.shelves import (
    add_files,
    change_words,
    check_all,
    erase_all,
    export_all,
    find_phrases,
    get_phrase,
    import_all,
    remove_phrase,
    say_student,
    show_all,
    show_differences,
    undo_last,
    write_lesson_folder,
)
from reedpath.errors import ReedpathError
from reedpath.wording import load_catalogue
from support.students import TUNES, tune_folder

LANE = next(iter(TUNES))
ENGLISH = load_catalogue("en")
TUNE = "title: Gate song\nharp: C\nkey: C\n\n4 -4 5 -5 | 6 5 4 4 |\n"
SAID = {"language": "en", "json": False}
DATA = {"language": "en", "json": True}


@pytest.fixture
def shelf(tmp_path: Path, capsys) -> Path:
    """A shelf with a phrase, number 1, and a lesson."""
    source, path = tmp_path / "gate.txt", tmp_path / "a.sqlite"
    source.write_text(TUNE)
    folder = tune_folder(LANE, tmp_path / "lesson")
    add_files((source, folder), ("warm-up",), "advanced", path, quick=True, files=False, **SAID)
    told = capsys.readouterr().out.splitlines()
    assert len(told) == 2
    assert LANE in told[0]
    assert "Gate song" in told[1]
    return path


def said(capsys) -> list[str]:
    return capsys.readouterr().out.splitlines()


def add_student(shelf: Path, *, level: str | None = None, **output) -> None:
    say_student("Ada (invented)", shelf, level=level, owned=None, techniques=(), note=None, **output)


def data(capsys):
    return json.loads(capsys.readouterr().out)


def test_what_is_there_already_and_what_cannot_be_read_is_told(shelf: Path, capsys) -> None:
    bad = shelf.with_name("bad.mid")
    bad.write_bytes(b"MThd")
    add_files((shelf.with_name("gate.txt"), bad), (), None, shelf, quick=True, files=False, **DATA)
    told = capsys.readouterr()
    assert json.loads(told.out) == {"phrases": [], "lessons": [], "there": ["Gate song"]}
    assert told.err.startswith("reedpath: ")
    assert "bad.mid" in told.err


def test_all_that_there_is(shelf: Path, capsys) -> None:
    add_student(shelf, level="easy", **SAID)
    capsys.readouterr()
    show_all(shelf, **SAID)
    told = "\n".join(said(capsys))
    for one in ("Gate song", LANE, "Ada (invented)", "warm-up", ENGLISH.say("shelf.no_harps")):
        assert one in told
    show_all(shelf, **DATA)
    found = data(capsys)
    assert "Gate song" in [one["title"] for one in found["phrases"]]
    assert [(one["title"], one["versions"]) for one in found["lessons"]] == [(LANE, 1)]
    assert [(one["name"], one["level"], one["takes"]) for one in found["students"]] == [
        ("Ada (invented)", "easy", [])
    ]


def find(shelf: Path, *words: str, output=SAID, **asked) -> None:
    given = {"tags": (), "techniques": (), "easiest": None, "hardest": None, "key": None, "tune": None}
    given |= {"tune_from": None, "top": 0, "path": shelf}
    find_phrases(words, **{**given, **asked}, **output)


def test_phrases_are_found_by_words_by_tags_and_by_tune(shelf: Path, capsys) -> None:
    find(shelf, "gate", output=DATA)
    assert [one["title"] for one in data(capsys)["found"]] == ["Gate song"]
    find(shelf, "nothing like it")
    assert said(capsys) == [ENGLISH.say("shelf.none_found")]
    find(shelf, tags=("warm-up",), output=DATA)
    assert "Gate song" in [one["title"] for one in data(capsys)["found"]]
    find(shelf, tune="C D E F G E C", output=DATA)
    found = data(capsys)
    assert found["found"][0]["title"] == "Gate song"
    assert found["more_notes_wanted"] > 0
    find(shelf, tune="C D E F G E C")
    assert said(capsys)[-1] == ENGLISH.say("shelf.more_notes", count=found["more_notes_wanted"])
    find(shelf, tune="C D E F G E C C D E F G E C", output=DATA)
    assert data(capsys)["more_notes_wanted"] == 0
    two = {"tune": "C D E F", "tune_from": shelf.with_name("gate.txt")}
    for wrong, key in (({"top": -1}, "jobs.no_lines"), (two, "shelf.two_tunes")):
        with pytest.raises(ReedpathError) as told:
            find(shelf, **wrong)
        assert told.value.key == key


def test_a_phrase_gets_other_words_is_written_out_and_taken_off(shelf: Path, capsys) -> None:
    change_words(1, "Gate song, slow", ("evening",), ("warm-up",), shelf, **DATA)
    told = data(capsys)
    assert (told["number"], told["title"], told["tags"]) == (1, "Gate song, slow", ["evening"])
    change_words(1, None, (), (), shelf, **SAID)
    assert "Gate song, slow" in "\n".join(said(capsys))
    out = shelf.with_name("out.txt")
    get_phrase(1, out, shelf, replace=False, language="en")
    assert said(capsys) == [str(out)]
    assert out.exists()
    remove_phrase(1, shelf, language="en")
    assert said(capsys) == [ENGLISH.say("shelf.removed", title="Gate song, slow")]
    undo_last(shelf, redo=False, **DATA)
    undone = data(capsys)
    assert undone["step"] == "remove"
    assert undone["records"] > 0
    assert undone["more"] > 0


def test_a_lesson_is_written_out_and_its_versions_compared(shelf: Path, capsys) -> None:
    out = shelf.with_name("out")
    write_lesson_folder(LANE, None, out, shelf, **SAID)
    told = said(capsys)
    assert told[0] == str(out)
    assert sorted(one.strip() for one in told[1:]) == sorted(one.name for one in out.iterdir())
    with pytest.raises(ReedpathError) as refused:
        write_lesson_folder(LANE, 7, out, shelf, **SAID)
    assert (refused.value.key, refused.value.values) == ("shelf.no_version", {"version": 7, "last": 1})
    show_differences(LANE, 1, 1, shelf, **DATA)
    assert data(capsys) == {"before": 1, "after": 1, "differences": []}


def test_a_shelf_goes_into_a_zip_and_into_another_shelf(shelf: Path, monkeypatch, capsys) -> None:
    add_student(shelf, **SAID)
    capsys.readouterr()
    packed, other = shelf.with_name("all.zip"), shelf.with_name("b.sqlite")
    export_all(packed, None, shelf, replace=False, **DATA)
    counts = data(capsys)
    assert counts["zip"] == str(packed)
    import_all(packed, other, **DATA)
    added = data(capsys)
    assert (added["there"], added["lost"], added["kept"]) == (0, [], [])
    assert sum(added["added"].values()) + added["drafts"] == sum(counts["records"].values())
    import_all(packed, other, **SAID)
    assert ENGLISH.say("shelf.were_there", count=sum(counts["records"].values()))[-12:] in "\n".join(said(capsys))
    check_all(other, **DATA)
    assert data(capsys) == {"whole": True, "problems": [], "lost": [], "cleared": 0}
    check_all(other, **SAID)
    assert said(capsys)[1] == ENGLISH.say("shelf.whole")
    lost = SimpleNamespace(is_whole=False, problems=("records out of order",), lost=("take.wav",), cleared=2)
    monkeypatch.setattr("reedpath.shelf.check_shelf", lambda _: lost)
    with pytest.raises(SystemExit) as ended:
        check_all(other, **SAID)
    assert ended.value.code == 2
    assert said(capsys)[1:] == [
        ENGLISH.say("shelf.not_whole"),
        "  records out of order",
        "  " + ENGLISH.say("shelf.lost", name="take.wav"),
        ENGLISH.say("shelf.cleared", count=2),
    ]
    erase_all("ada (invented)", other, language="en")
    assert said(capsys) == [ENGLISH.say("shelf.erased", name="Ada (invented)")]
    with pytest.raises(ReedpathError):
        erase_all("ada (invented)", other, language="en")


def test_what_stays_and_what_a_zip_did_not_hold_is_told(tmp_path: Path, monkeypatch, capsys) -> None:
    found = SimpleNamespace(added={}, drafts=0, there=0, kept=("Gate song",), lost=("take.wav", "film.mp4"))
    monkeypatch.setattr("reedpath.cli.shelves.import_zip", lambda *given: found)
    import_all(tmp_path / "a.zip", tmp_path / "b.sqlite", **SAID)
    assert said(capsys)[1:] == [
        ENGLISH.say("shelf.stayed", title="Gate song"),
        ENGLISH.say("shelf.lost", name="take.wav"),
        ENGLISH.say("shelf.lost", name="film.mp4"),
    ]
