"""Many tunes surveyed: a line for each, what cannot be read told, the table written and nothing of hers lost."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from reedpath.arrange import SurveyedTunes
from reedpath.errors import ReadError, ReedpathError, SettingsError
from reedpath.jobs import (
    HarpChoice,
    LocalPool,
    PlayerChoice,
    RouteRequest,
    SourceChoice,
    read_source_file,
    survey_phrase,
    survey_tunes,
    write_tune_survey,
)
from reedpath.jobs import tune_surveys as module

# tunes of our own invention
STEPS = "X:1\nT:Seven steps\nM:4/4\nL:1/4\nK:G\nGABc|dcBA|G4|]\n"
TURNS = "X:2\nT:Two turns\nM:4/4\nL:1/4\nK:D\nd^gaf|e2d2|]\n"
HIGH = "X:1\nT:High up\nM:4/4\nL:1/8\nK:Am\nc'3^d'3 e'2|a'8|]\n"


def tune_folder(folder: Path) -> Path:
    (folder / "inner").mkdir(parents=True)
    (folder / "book.abc").write_text(f"{STEPS}\n{TURNS}")
    (folder / "inner" / "high.abc").write_text(HIGH)
    (folder / "inner" / "words.txt").write_text("Dear all, the lesson is on Tuesday.\n")
    (folder / "broken.mid").write_bytes(b"MThd\0\0")
    (folder / ".hidden.abc").write_text(HIGH)
    (folder / "picture.png").write_bytes(b"\x89PNG")
    return folder


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tune_folder(tmp_path_factory.mktemp("many") / "tunes")


@pytest.fixture(scope="module")
def found(folder) -> SurveyedTunes:
    return survey_tunes([folder], RouteRequest(), pool=LocalPool(1))


def test_every_tune_has_a_line_the_easiest_first(found):
    assert {(one.title, one.file, one.tune) for one in found.tunes} == {
        ("Seven steps", "book.abc", 1),
        ("Two turns", "book.abc", 2),
        ("High up", "inner/high.abc", None),
    }
    efforts = [one.best.difficulty for one in found.tunes]
    assert efforts == sorted(efforts)
    assert sum(count for _, count in found.best_harps()) == 3


def test_what_cannot_be_read_is_told_with_its_name(found):
    assert [one.where.file for one in found.unread] == ["broken.mid", "inner/words.txt"]


def test_a_line_says_what_the_survey_of_the_tune_alone_says(folder, found):
    read = read_source_file(folder / "inner" / "high.abc")
    alone = survey_phrase(read.phrase, RouteRequest(), top=3)
    [line] = [one for one in found.tunes if one.title == "High up"]
    assert [(found.harp_of(way).name, way.position, way.shift_semitones, way.truth) for way in line.ways] == [
        (one.harp.name, one.position, one.shift_semitones, one.truth) for one in alone.ranked
    ]
    route = alone.ranked[0].route()
    assert line.best.difficulty == pytest.approx(route.effort.total / len(route.events))
    assert (line.notes, line.key) == (4, read.phrase.key)
    assert line.seconds == pytest.approx(8 * 60 / 100)  # eight quarter notes at the tempo of a source that says none


def test_the_other_tunes_of_a_book_are_not_told_as_left_out(found):
    assert [one.kind for line in found.tunes for one in line.left_out] == []


@pytest.mark.slow
def test_several_processes_find_the_same(folder, found, monkeypatch):
    monkeypatch.setattr(module, "SECONDS_EACH", 100.0)
    again = survey_tunes([folder], RouteRequest(), pool=LocalPool(2))
    assert again.tunes == found.tunes
    assert list(map(str, again.unread)) == list(map(str, found.unread))


def test_a_large_book_is_shared_out_and_every_tune_has_its_line(folder, found, monkeypatch):
    monkeypatch.setattr(module, "BOOK_BYTES", 10)
    monkeypatch.setattr(module, "TOGETHER", 1)
    assert survey_tunes([folder], RouteRequest(), pool=LocalPool(1)).tunes == found.tunes


def test_a_tune_of_a_book_that_cannot_be_read_leaves_the_others(tmp_path):
    book = tmp_path / "book.abc"
    book.write_text(f"{STEPS}\nX:2\nT:Nothing\nK:G\n\n{TURNS.replace('X:2', 'X:3')}")
    found = survey_tunes([book], RouteRequest(), pool=LocalPool(1))
    assert {one.tune for one in found.tunes} == {1, 3}
    [error] = found.unread
    assert (error.where.file, error.where.tune) == (book.as_posix(), 2)


def test_every_tune_of_a_book_has_its_line_though_its_number_comes_again(tmp_path, monkeypatch):
    book = tmp_path / "book.abc"
    book.write_text(f"{STEPS}\n{TURNS.replace('X:2', 'X:1')}\nX:1\nT:Nothing\nK:G\n")
    found = survey_tunes([book], RouteRequest(), pool=LocalPool(1))
    assert {(one.title, one.tune) for one in found.tunes} == {("Seven steps", 1), ("Two turns", "1-2")}
    assert [error.where.tune for error in found.unread] == [1]
    monkeypatch.setattr(module, "BOOK_BYTES", 10)
    monkeypatch.setattr(module, "TOGETHER", 1)
    assert survey_tunes([book], RouteRequest(), pool=LocalPool(1)).tunes == found.tunes


def test_what_is_asked_is_asked_of_every_tune(folder):
    choice = SourceChoice(options={"tune": 2})
    request = RouteRequest(HarpChoice(tunings=("standard", "natural-minor-second")), owned=("Low F", "D"))
    found = survey_tunes([folder / "book.abc"], request, choice=choice, pool=LocalPool(1))
    [line] = found.tunes
    assert (line.title, line.tune) == ("Two turns", None)
    assert {harp.name for harp in found.harps} == {"Low F", "D"}
    easy = survey_tunes([folder], RouteRequest(player=PlayerChoice("first-months")), pool=LocalPool(1))
    assert {one.level for one in easy.tunes} == {"first-months"}


def test_a_position_is_held_in_every_tune(folder):
    found = survey_tunes([folder], RouteRequest(position=2), pool=LocalPool(1))
    assert {way.position for one in found.tunes for way in one.ways} == {2}


@pytest.mark.parametrize(
    ("request_", "key"),
    [
        (RouteRequest(position=13), "harp.position_range"),
        (RouteRequest(owned=("Z",)), "harp.unknown_harp"),
        (RouteRequest(shift_semitones=99), "jobs.shift_too_far"),
        (RouteRequest(player=PlayerChoice("expert")), "arrange.unknown_level"),
        (RouteRequest(HarpChoice("A"), position=2), "jobs.harp_and_position"),
    ],
)
def test_what_cannot_be_had_is_told_before_anything_is_read(folder, request_, key):
    with pytest.raises(ReedpathError) as told:
        survey_tunes([folder], request_, pool=LocalPool(1))
    assert told.value.key == key


def test_a_folder_without_tunes_and_one_that_is_not_there_are_told(tmp_path):
    with pytest.raises(ReadError, match="no file in this folder"):
        survey_tunes([tmp_path], RouteRequest())
    with pytest.raises(ReadError, match="no such file"):
        survey_tunes([tmp_path / "nowhere"], RouteRequest())


def test_files_named_twice_have_one_line(folder):
    found = survey_tunes([folder, folder / "inner" / "high.abc", folder / "inner"], RouteRequest(), pool=LocalPool(1))
    assert sorted(one.title for one in found.tunes) == ["High up", "Seven steps", "Two turns"]


def test_a_fault_of_ours_in_one_file_leaves_the_others(folder, monkeypatch):
    survey = module.survey

    def faulty(phrase, *arguments, **said):
        if phrase.title == "High up":
            raise ZeroDivisionError("of ours")
        return survey(phrase, *arguments, **said)

    monkeypatch.setattr(module, "survey", faulty)
    found = survey_tunes([folder], RouteRequest(), pool=LocalPool(1))
    assert len(found.tunes) == 2
    assert "inner/high.abc: a fault in the program: ZeroDivisionError: of ours" in map(str, found.unread)


# --------------------------------------------------------------------------------------------------------- the table


def table_in(folder: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO((folder / "survey.csv").read_text(encoding="utf-8-sig"))))


def test_the_table_is_written_as_a_page_and_for_spreadsheets(found, tmp_path):
    written = write_tune_survey(found, tmp_path / "out")
    assert written.files == ("survey.csv", "survey.html")
    rows = table_in(tmp_path / "out")
    assert [row["Tune"] for row in rows] == [one.title for one in found.tunes]
    assert float(rows[0]["Effort a note"]) == pytest.approx(found.tunes[0].best.difficulty, abs=1e-4)
    assert {row["File"] for row in rows} == {"book.abc, tune 1", "book.abc, tune 2", "inner/high.abc"}


def test_nothing_of_hers_is_written_over(found, tmp_path):
    out = tmp_path / "hers"
    out.mkdir()
    (out / "survey.csv").write_text("hers")
    (out / "letter.txt").write_text("hers too")
    with pytest.raises(SettingsError):
        write_tune_survey(found, out)
    assert (out / "survey.csv").read_text() == "hers"
    write_tune_survey(found, out, over=True)
    assert table_in(out)
    assert (out / "letter.txt").read_text() == "hers too"


def test_a_table_that_she_edited_is_kept_beside_the_next_one(found, tmp_path):
    out = tmp_path / "out"
    write_tune_survey(found, out)
    (out / "survey.csv").write_text("edited")
    written = write_tune_survey(found, out)
    [kept] = written.kept.values()
    assert (out / kept).read_text() == "edited"
    assert table_in(out)


def test_the_table_speaks_the_language_asked_for(found, tmp_path):
    write_tune_survey(found, tmp_path / "out", language="fr")
    assert "book.abc, air 1" in {row["Fichier"] for row in table_in(tmp_path / "out")}
    assert 'lang="fr"' in (tmp_path / "out" / "survey.html").read_text(encoding="utf-8")
