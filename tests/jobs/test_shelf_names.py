"""Students and lessons of a shelf by their names, and what is told where there is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedpath.errors import SettingsError
from reedpath.jobs.shelf_adding import add_to_shelf
from reedpath.jobs.shelves import lesson_called, student_called
from reedpath.shelf import Shelf, Student, last_version
from support.students import TUNES, tune_folder


@pytest.fixture
def shelf(tmp_path: Path):
    with Shelf(tmp_path / "a.sqlite", make=True) as opened:
        add_to_shelf(opened, [tune_folder(title, tmp_path / f"{number}") for number, title in enumerate(TUNES)])
        for name in ("Ada (invented)", "Bo (invented)", "bo (invented)"):
            with opened.step("student"):
                opened.add(Student(name=name))
        yield opened


def test_a_student_is_found_however_the_name_is_written(shelf: Shelf) -> None:
    assert student_called(shelf, "ADA (Invented)").name == "Ada (invented)"


@pytest.mark.parametrize(
    ("name", "key", "values"),
    [
        ("Cy", "shelf.no_student", {"name": "Cy", "names": ["Ada (invented)", "Bo (invented)", "bo (invented)"]}),
        ("Bo (invented)", "shelf.two_students", {"name": "Bo (invented)", "count": 2}),
    ],
)
def test_a_name_of_nobody_or_of_two_is_told_with_who_there_is(
    shelf: Shelf, name: str, key: str, values: dict
) -> None:
    with pytest.raises(SettingsError) as told:
        student_called(shelf, name)
    assert (told.value.key, told.value.values) == (key, values)


def test_a_lesson_is_found_however_its_title_is_written_or_told_with_what_there_is(shelf: Shelf) -> None:
    for title in TUNES:
        version = last_version(shelf, lesson_called(shelf, title.upper()).number)
        assert version.version == 1
        assert title in version.data
    with pytest.raises(SettingsError) as told:
        lesson_called(shelf, "No such")
    assert told.value.key == "shelf.no_lesson"
    assert told.value.values["title"] == "No such"
    assert sorted(told.value.values["titles"]) == sorted(TUNES)
