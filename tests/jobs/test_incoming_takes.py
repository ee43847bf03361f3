"""Takes that came in: whose they are by name, kept once, and never for who is gone; sounds are in the stories."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from reedpath.errors import SettingsError
from reedpath.jobs import add_to_shelf, incoming_takes
from reedpath.jobs.incoming_takes import (
    FoundTake,
    IncomingTake,
    findings_as_text,
    found_before,
    ground_of,
    hear_take,
    keep_found,
)
from reedpath.jobs.progress import silent
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


class _Heard:
    """What would be heard of a take, asked for by name in place of listening."""

    def __init__(self, monkeypatch, *, found: LessonHeard | None, told: tuple[LessonHeard, ...] = ()) -> None:
        self.asked: dict[str, tuple] = {}
        self.answer = SimpleNamespace(right_share=0.75)
        self._stand_in(monkeypatch, "see_take", SimpleNamespace(seen="what is seen"))
        self._stand_in(monkeypatch, "find_lesson", (found, told))
        self._stand_in(monkeypatch, "lessons_listened_for", None)
        self._stand_in(monkeypatch, "lesson_of_version", "the lesson")
        self._stand_in(monkeypatch, "answer_recording", self.answer)
        self._stand_in(monkeypatch, "answered_as_data", {"it": "is answered"})

    def _stand_in(self, monkeypatch, name: str, gives: object) -> None:
        def asked(*given, **named):
            self.asked[name] = (*given, *named.items())
            return given[1] if name == "lessons_listened_for" else gives

        monkeypatch.setattr(incoming_takes, name, asked)


def test_a_take_whose_name_and_sound_are_sure_is_answered(shelf: Shelf, monkeypatch) -> None:
    ground = ground_of(shelf)
    (version,) = [one.version for one in ground.lessons if one.title == KITE]
    heard = _Heard(monkeypatch, found=LessonHeard(version.number, KITE, 0.9))
    take = IncomingTake(Path("raw"), "Ada week 3.wav")
    found = hear_take(take, ground, silent)
    assert found == FoundTake(
        take, 1, version.number, (1,), (LessonHeard(version.number, KITE, 0.9),), found.answer, right_share=0.75
    )
    assert json.loads(found.answer) == {"it": "is answered"}
    assert heard.asked["see_take"] == (Path("raw"), ("progress", silent))
    assert heard.asked["find_lesson"] == ("what is seen", take.name, ground.lessons, silent)
    assert heard.asked["lesson_of_version"] == (version,)
    assert heard.asked["answer_recording"][:2] == (Path("raw"), "the lesson")
    assert heard.asked["answered_as_data"] == (heard.answer,)


def test_of_a_take_whose_lesson_is_said_no_other_is_listened_for(shelf: Shelf, monkeypatch) -> None:
    ground = ground_of(shelf)
    (version,) = [one.version for one in ground.lessons if one.title == LANE]
    heard = _Heard(monkeypatch, found=None)
    take = IncomingTake(Path("raw"), "x.wav", student=1, version=version.number)
    found = hear_take(take, ground)
    assert (found.student, found.version, found.students) == (1, version.number, (1,))
    assert found.lessons == (LessonHeard(version.number, LANE, 1.0),)
    assert heard.asked["lesson_of_version"] == (version,)
    assert "find_lesson" not in heard.asked
    # a version that is gone
    gone = hear_take(IncomingTake(Path("raw"), "x.wav", version=99), ground)
    assert (gone.version, gone.lessons, gone.answer) == (None, (), "")


def test_of_a_take_that_is_not_sure_all_that_it_may_be_is_told(shelf: Shelf, monkeypatch) -> None:
    with shelf.step("student"):
        shelf.add(Student(name="Bo (invented)"))
    told = (LessonHeard(1, LANE, 0.5), LessonHeard(2, KITE, 0.4))
    heard = _Heard(monkeypatch, found=None, told=told)
    found = hear_take(IncomingTake(Path("raw"), "recording 7.wav"), ground_of(shelf))
    assert (found.student, found.version, found.students, found.lessons) == (None, None, (1, 2), told)
    assert (found.answer, found.right_share, found.is_sure) == ("", None, False)
    assert "answer_recording" not in heard.asked
    # where nothing of the lesson is heard there is no share
    heard = _Heard(monkeypatch, found=LessonHeard(1, LANE, 0.9))
    heard.answer.right_share = None
    assert hear_take(IncomingTake(Path("raw"), "x.wav"), ground_of(shelf)).right_share is None


def test_what_was_found_is_kept_as_text_and_read_again() -> None:
    take = IncomingTake(Path("raw"), "x.wav", at="2026-03-01")
    found = FoundTake(take, None, 3, (1, 2), (LessonHeard(3, "x", 0.5), LessonHeard(4, "y", 0.25)), "{}", 0.5)
    assert found_before(take, findings_as_text(found)) == found
