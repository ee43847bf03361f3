"""Many lessons at once: found in folders, and put into an index."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace
from pypdf import PdfReader

from reedpath.errors import ReadError, ReedpathError, SettingsError
from reedpath.jobs.many_lessons import find_lessons, make_lesson_index
from reedpath.lesson import encode_lesson, make_lesson
from reedpath.page import encode_handout
from reedpath.wording import load_catalogue
from support.built_routes import built_route

LESSON = make_lesson(built_route("2d:1 3d':1 4b:2", key="A", bpm=60.0))
SHEET = encode_handout(LESSON, catalogue=load_catalogue("en"))


def put(folder: Path, title: str, *, sheet: bool = False) -> Path:
    folder.mkdir(parents=True)
    (folder / "lesson.json").write_bytes(encode_lesson(replace(LESSON, title=title)))
    if sheet:
        (folder / "sheet.pdf").write_bytes(SHEET)
    return folder


def test_lessons_are_found_at_any_depth_by_title(tmp_path: Path) -> None:
    put(tmp_path / "z", "Alpha")
    put(tmp_path / "week 1" / "day" / "b", "gamma")
    put(tmp_path / "a", "Beta")
    put(tmp_path / ".old", "Hidden")
    put(tmp_path / "c" / ".unfinished" / "new", "Put aside")
    found = find_lessons([tmp_path])
    assert [one.lesson.title for one in found.lessons] == ["Alpha", "Beta", "gamma"]
    assert found.unread == ()


def test_a_lesson_named_twice_is_found_once(tmp_path: Path) -> None:
    one = put(tmp_path / "one", "One")
    assert len(find_lessons([tmp_path, one, one / "lesson.json"]).lessons) == 1


def test_a_hurt_lesson_does_not_hide_the_others(tmp_path: Path) -> None:
    put(tmp_path / "one", "One")
    (put(tmp_path / "two", "Two") / "lesson.json").write_text("{", encoding="utf-8")
    found = find_lessons([tmp_path])
    assert [one.lesson.title for one in found.lessons] == ["One"]
    assert [str(tmp_path / "two") in error.where.file for error in found.unread] == [True]
    with pytest.raises(ReedpathError):
        find_lessons([tmp_path / "two"])


def test_no_lessons_and_no_folder_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="there is no lesson in this folder"):
        find_lessons([tmp_path])
    with pytest.raises(ReadError, match="no such folder"):
        find_lessons([tmp_path / "gone"])


def test_an_index_with_all_hand_outs(tmp_path: Path) -> None:
    put(tmp_path / "one", "One", sheet=True)
    put(tmp_path / "two", "Two", sheet=True)
    put(tmp_path / "three", "Without a sheet")
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    found, written = make_lesson_index(tmp_path, language="en")
    assert len(found.lessons) == 3
    assert {"index.html", "sheets.pdf"} <= set(written.files)
    assert [item.title for item in PdfReader(tmp_path / "sheets.pdf").outline] == ["One", "Two"]
    assert b"two/lesson.html" not in (tmp_path / "index.html").read_bytes()  # there is none
    assert {path: path.read_bytes() for path in before} == before


def test_without_hand_outs_there_is_the_page_alone(tmp_path: Path) -> None:
    put(tmp_path / "one", "One")
    _, written = make_lesson_index(tmp_path)
    assert "sheets.pdf" not in written.files
    assert "sheets.pdf" not in (tmp_path / "index.html").read_text(encoding="utf-8")


def test_what_is_there_is_not_written_over_unasked(tmp_path: Path) -> None:
    put(tmp_path / "one", "One")
    (tmp_path / "index.html").write_text("mine", encoding="utf-8")
    with pytest.raises(SettingsError, match="there is a file of that name"):
        make_lesson_index(tmp_path)
    assert (tmp_path / "index.html").read_text(encoding="utf-8") == "mine"
    make_lesson_index(tmp_path, replace=True)
    assert "One" in (tmp_path / "index.html").read_text(encoding="utf-8")


def test_a_hand_out_that_is_no_pdf_is_named(tmp_path: Path) -> None:
    (put(tmp_path / "one", "One") / "sheet.pdf").write_bytes(b"no pdf")
    with pytest.raises(ReedpathError, match="cannot be read as a PDF"):
        make_lesson_index(tmp_path)
    assert not (tmp_path / "index.html").exists()
