"""Lessons of the shelf: edited into new versions, written out and made whole; what a person wrote is never lost."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reedpath.data import as_plain
from reedpath.errors import SettingsError
from reedpath.jobs import (
    add_to_shelf,
    keep_version,
    lesson_of_version,
    lesson_to_keep,
    lines_in,
    make_kept_lesson,
    open_version,
    piece_of,
    read_taught,
    revise_lesson,
    with_drills_chosen,
    with_line_edited,
    with_pieces_in_order,
    with_tempos_chosen,
    with_words_said,
)
from reedpath.jobs.shelf_lessons import write_kept_lesson
from reedpath.jobs.wording_of_lessons import SaidOfLesson
from reedpath.lesson import DrillWish, LineEdit, LineKind, Taught, encode_lesson, lesson_file
from reedpath.shelf import KeptLesson, KeptPhrase, LessonVersion, Shelf, last_version
from reedpath.sound import sound_blocks
from support.lesson_folders import edit
from support.pieces import lesson_of_pieces, porch

OWN = "Play it as if you told somebody the time of day."


@pytest.fixture
def shelf(tmp_path: Path):
    with Shelf(tmp_path / "shelf.sqlite", make=True) as opened:
        yield opened


def _put(shelf: Shelf, folder: Path, *, with_files: bool = False) -> int:
    add_to_shelf(shelf, [folder], with_files=with_files)
    return shelf.all(KeptLesson)[0].number


@pytest.fixture
def given(porch_folder: Path, tmp_path: Path) -> Path:
    """A lesson folder that may be changed."""
    return Path(shutil.copytree(porch_folder, tmp_path / "given"))


def _sentence(lesson: Taught, piece: int | None = None) -> tuple[int, str]:
    lines = lines_in(lesson, "en", piece)
    return next((i, line.text) for i, line in enumerate(lines) if line.kind is LineKind.SENTENCE)


def _kept(shelf: Shelf, number: int, change) -> LessonVersion:
    opened = open_version(shelf.files, last_version(shelf, number))
    version, _ = keep_version(shelf, opened, lesson_to_keep(change(opened.lesson)))
    return version


@pytest.mark.slow
def test_an_edit_is_a_new_version_and_can_be_undone(shelf: Shelf, porch_folder: Path) -> None:
    number = _put(shelf, porch_folder)
    index, was = _sentence(porch())
    version = _kept(shelf, number, lambda lesson: with_line_edited(lesson, "en", LineEdit(index, was, OWN)))
    assert version.version == 2
    assert lines_in(lesson_of_version(version), "en")[index].text == OWN
    assert len(shelf.all(KeptPhrase)) == 1
    same = _kept(shelf, number, lambda lesson: with_line_edited(lesson, "en", LineEdit(index, OWN, OWN)))
    assert same == version
    assert len(shelf.all(LessonVersion)) == 2
    shelf.undo()
    assert [one.version for one in shelf.all(LessonVersion)] == [1]
    shelf.redo()
    assert lines_in(lesson_of_version(last_version(shelf, number)), "en")[index].text == OWN


def test_a_version_that_came_between_is_not_passed_over(shelf: Shelf, porch_folder: Path) -> None:
    number = _put(shelf, porch_folder)
    opened = open_version(shelf.files, last_version(shelf, number))
    _kept(shelf, number, lambda lesson: with_words_said(lesson, SaidOfLesson(author="Ada (invented)")))
    with pytest.raises(SettingsError) as told:
        keep_version(shelf, opened, lesson_to_keep(with_words_said(opened.lesson, SaidOfLesson(date="Monday"))))
    assert told.value.key == "shelf.version_between"


def test_another_title_is_the_same_lesson_and_no_other_lesson_s(
    shelf: Shelf, porch_folder: Path, tmp_path: Path
) -> None:
    number = _put(shelf, porch_folder)
    other = encode_lesson(with_words_said(porch(), SaidOfLesson(title="Elsewhere")))
    (tmp_path / "lesson.json").write_bytes(other)
    add_to_shelf(shelf, [tmp_path])
    _kept(shelf, number, lambda lesson: with_words_said(lesson, SaidOfLesson(title="Down the porch")))
    assert [one.title for one in shelf.all(KeptLesson)] == ["Down the porch", "Elsewhere"]
    assert last_version(shelf, number).version == 2
    with pytest.raises(SettingsError) as told:
        _kept(shelf, number, lambda lesson: with_words_said(lesson, SaidOfLesson(title="elsewhere")))
    assert told.value.key == "shelf.lesson_title_there"


@pytest.mark.slow
def test_her_files_go_on_with_the_lesson_and_what_was_made_does_not(shelf: Shelf, given: Path) -> None:
    (given / "my-notes.txt").write_text("bring the D harp")
    (given / "chart.svg").write_text("<svg><!-- drawn over by hand --></svg>")
    number = _put(shelf, given, with_files=True)
    assert "sheet.pdf" in last_version(shelf, number).files
    version = _kept(shelf, number, lambda lesson: with_tempos_chosen(lesson, (50.0, 70.0)))
    assert set(version.files) == {"my-notes.txt", "chart.svg"}
    made = make_kept_lesson(shelf.files, version)
    assert made.data == version.data
    assert {"sheet.pdf", "lesson.html", "my-notes.txt", "chart.kept.svg"} <= set(made.files)
    assert shelf.files.path(made.files["chart.kept.svg"]).read_text().startswith("<svg><!-- drawn over")


@pytest.mark.slow
def test_what_sounds_as_in_an_earlier_version_is_not_sounded_again(
    shelf: Shelf, porch_folder: Path, monkeypatch
) -> None:
    sounded = []

    def counted(layout):
        sounded.append(layout.seconds)
        return sound_blocks(layout)

    monkeypatch.setattr("reedpath.jobs.rung_sounds.sound_blocks", counted)
    monkeypatch.setenv("REEDPATH_PROCESSES", "1")
    number = _put(shelf, porch_folder, with_files=True)
    earlier = last_version(shelf, number)
    slower = _kept(shelf, number, lambda lesson: with_tempos_chosen(lesson, (53.0,)))
    version = _kept(shelf, number, lambda lesson: with_words_said(lesson, SaidOfLesson(author="Ada (invented)")))
    assert set(slower.files) == set(version.files) == set()
    made = make_kept_lesson(shelf.files, version, earlier=earlier)
    assert len(sounded) == 1
    assert make_kept_lesson(shelf.files, version) == made
    assert len(sounded) == 3
    assert make_kept_lesson(shelf.files, version, earlier=made) == made
    assert len(sounded) == 3


@pytest.mark.slow
def test_what_was_edited_in_the_folder_is_in_the_lesson_when_it_is_opened(
    shelf: Shelf, given: Path, tmp_path: Path
) -> None:
    _, was = _sentence(porch())
    edit(given / "steps.md", (f"- {was}", f"- {OWN}"))
    number = _put(shelf, given, with_files=True)
    opened = open_version(shelf.files, last_version(shelf, number))
    assert OWN in [line.text for line in lines_in(opened.lesson, "en")]
    assert opened.own_files == {}
    version = _kept(shelf, number, lambda lesson: with_words_said(lesson, SaidOfLesson(notes=("Slowly.",))))
    made = make_kept_lesson(shelf.files, version)
    write_kept_lesson(shelf.files, made, tmp_path / "out")
    text = (tmp_path / "out/steps.md").read_text(encoding="utf-8")
    assert OWN in text
    assert "Slowly." in text
    assert revise_lesson(tmp_path / "out").pieces[0].new_words == ()


@pytest.mark.slow
def test_a_version_is_written_out_as_it_was_brought_in(shelf: Shelf, pieces_folder: Path, tmp_path: Path) -> None:
    folder = pieces_folder
    number = _put(shelf, folder, with_files=True)
    names = write_kept_lesson(shelf.files, last_version(shelf, number), tmp_path / "deep" / "out")
    before = {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    after = {
        p.relative_to(tmp_path / "deep/out").as_posix(): p.read_bytes()
        for p in (tmp_path / "deep/out").rglob("*")
        if p.is_file()
    }
    assert after == before
    assert set(names) == set(before)
    with pytest.raises(SettingsError):
        write_kept_lesson(shelf.files, last_version(shelf, number), tmp_path / "deep/out")
    assert [one.name for one in (tmp_path / "deep").iterdir()] == ["out"]


@pytest.mark.slow
def test_pieces_are_edited_one_by_one_and_put_in_order(shelf: Shelf, pieces_folder: Path, tmp_path: Path) -> None:
    number = _put(shelf, pieces_folder)
    index, was = _sentence(lesson_of_pieces(), 3)
    version = _kept(shelf, number, lambda lesson: with_line_edited(lesson, "en", LineEdit(index, was, OWN), 3))
    assert lines_in(lesson_of_version(version), "en", 3)[index].text == OWN
    version = _kept(shelf, number, lambda lesson: with_pieces_in_order(lesson, (3, 0, 1, 2, 4)))
    assert lines_in(lesson_of_version(version), "en", 0)[index].text == OWN
    version = _kept(shelf, number, lambda lesson: with_drills_chosen(lesson, [DrillWish(0, 2)], 1))
    version = _kept(shelf, number, lambda lesson: with_tempos_chosen(lesson, [44.0], 1))
    again = lesson_of_version(version)
    assert as_plain(lesson_file(piece_of(again, 1))) == as_plain(
        lesson_file(with_tempos_chosen(with_drills_chosen(porch(), [DrillWish(0, 2)]), [44.0]))
    )
    made = make_kept_lesson(shelf.files, version)
    assert "1-two-doors/tab.txt" in made.files
    write_kept_lesson(shelf.files, made, tmp_path / "out")
    assert read_taught(tmp_path / "out") == again
    for piece in (None, 5, -1):
        with pytest.raises(SettingsError):
            with_tempos_chosen(again, None, piece)
