"""Takes that came in: whose they are by name, kept once, and never for who is gone; sounds are in the stories."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedpath.errors import SettingsError
from reedpath.jobs import add_to_shelf
from reedpath.jobs.incoming_takes import FoundTake, IncomingTake, ground_of, keep_found
from reedpath.jobs.take_matching import LessonHeard, students_named, sure_lesson
from reedpath.shelf import KeptAnswer, KeptTake, Shelf, Student, erase_student
from support.students import TUNES, tune_folder

LANE, KITE = TUNES
STUDENTS = [
    Student(number=1, name="Ada Inventée"),
    Student(number=2, name="Bo Inventé"),
    Student(number=3, name="Anna-Lena O'Shea"),
    Student(number=4, name="Ada Other"),
]


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("bo.wav", (2,)),
        ("BO_week-3.m4a", (2,)),
        ("2026-03-01 anna lena.mp3", (3,)),
        ("anna.mp3", (3,)),
        ("ada inventee.wav", (1,)),
        ("ADA.wav", (1, 4)),
        ("recording 7.wav", ()),
        ("abobora.wav", ()),
        ("oshea.wav", ()),
        ("", ()),
    ],
)
def test_whose_a_take_is_is_told_by_the_words_of_its_name(name: str, found: tuple[int, ...]) -> None:
    assert students_named(name, STUDENTS) == found


def heard(*shares: float) -> list[LessonHeard]:
    return [LessonHeard(number, f"Lesson {number}", share) for number, share in enumerate(shares, start=1)]


@pytest.mark.parametrize(
    ("shares", "named", "version"),
    [
        ((0.9, 0.2), set(), 1),
        ((0.9, 0.8), set(), None),  # two that teach about the same
        ((0.9, 0.8), {2}, 2),
        ((0.9, 0.8), {1, 2}, None),
        ((0.9, 0.2), {2}, 1),  # what is heard counts, not what is written
        ((0.3, 0.1), set(), None),
        ((0.3, 0.1), {1}, None),
        ((), set(), None),
    ],
)
def test_a_lesson_is_sure_where_one_explains_far_more_than_any_other(shares, named, version) -> None:
    found = sure_lesson(heard(*shares), named)
    assert (None if found is None else found.version) == version


@pytest.fixture
def shelf(tmp_path: Path):
    with Shelf(tmp_path / "a.sqlite", make=True) as opened:
        add_to_shelf(opened, [tune_folder(title, tmp_path / f"{number}") for number, title in enumerate(TUNES)])
        with opened.step("student"):
            opened.add(Student(name="Ada (invented)"))
        yield opened


def found_take(path: Path, **fields) -> FoundTake:
    path.write_bytes(b"RIFF, invented")
    take = IncomingTake(path, "Ada.wav")
    return FoundTake(**{"take": take, "student": 1, "version": 1, "students": (1,), "lessons": (), **fields})


def test_the_ground_are_all_students_and_the_last_versions(shelf: Shelf) -> None:
    ground = ground_of(shelf)
    assert [one.name for one in ground.students] == ["Ada (invented)"]
    assert sorted(one.title for one in ground.lessons) == sorted(TUNES)


def test_a_take_is_kept_once_and_a_new_answer_to_it_beside_the_old(shelf: Shelf, tmp_path: Path) -> None:
    found = found_take(tmp_path / "x.wav", answer='{"first": 1}')
    kept = keep_found(shelf, found)
    assert keep_found(shelf, found) == kept
    assert len(shelf.all(KeptAnswer)) == len(shelf.all(KeptTake)) == 1
    keep_found(shelf, found_take(tmp_path / "x.wav", answer='{"second": 2}'))
    assert [one.data for one in shelf.all(KeptAnswer, take=kept.number)] == ['{"first": 1}', '{"second": 2}']
    assert keep_found(shelf, found_take(tmp_path / "x.wav", version=2)).number != kept.number


@pytest.mark.parametrize("fields", [{"student": None}, {"version": None}, {"student": 9}, {"version": 9}])
def test_what_is_not_known_is_not_kept(shelf: Shelf, tmp_path: Path, fields) -> None:
    with pytest.raises(SettingsError):
        keep_found(shelf, found_take(tmp_path / "x.wav", **fields))
    assert shelf.all(KeptTake) == []


def test_a_take_of_who_was_erased_meanwhile_is_not_kept(shelf: Shelf, tmp_path: Path) -> None:
    found = found_take(tmp_path / "x.wav")
    erase_student(shelf, shelf.get(Student, 1))
    with pytest.raises(SettingsError):
        keep_found(shelf, found)
    assert list(shelf.files.names()) == []
