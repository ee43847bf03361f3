"""Takes that wait: kept from the moment they come, with their files, and gone with whom they are of."""

from __future__ import annotations

import pytest

from reedpath.errors import SettingsError
from reedpath.shelf import (
    KeptLesson,
    LessonVersion,
    Shelf,
    Student,
    add_waiting_take,
    all_waiting_takes,
    check_shelf,
    erase_student,
    keep_findings,
    remove_waiting_take,
    say_of_waiting_take,
    used_files,
    waiting_take,
)


def test_a_take_waits_over_closing_the_shelf_until_it_is_taken_away(tmp_path):
    path, sound = tmp_path / "shelf.sqlite", tmp_path / "upload.wav"
    sound.write_bytes(b"a sound")
    with Shelf(path, make=True) as shelf:
        first = add_waiting_take(shelf, sound, name="Ada, week 3.wav", added="2026-03-02T18:00:00+00:00")
        second = add_waiting_take(shelf, sound, name="the same.wav")
        keep_findings(shelf, second.number, "{}")
        assert shelf.steps() == []
    with Shelf(path) as shelf:
        waiting = all_waiting_takes(shelf)
        assert [(one.name, one.found) for one in waiting] == [("Ada, week 3.wav", ""), ("the same.wav", "{}")]
        assert waiting[0] == first
        assert check_shelf(shelf).is_whole
        assert used_files(shelf) == {first.sound, second.sound}
        remove_waiting_take(shelf, first.number)
        assert shelf.files.holds(second.sound)
        remove_waiting_take(shelf, second.number)
        assert list(shelf.files.names()) == []
        with pytest.raises(SettingsError):
            waiting_take(shelf, first.number)


def test_a_take_that_waits_is_erased_with_its_student_and_outlives_one_who_is_only_taken_off(tmp_path):
    sound = tmp_path / "upload.wav"
    sound.write_bytes(b"a sound")
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        with shelf.step("student"):
            ada, bo = shelf.add(Student(name="Ada (invented)")), shelf.add(Student(name="Bo (invented)"))
        add_waiting_take(shelf, sound, name="ada.wav", student=ada.number)
        of_bo = add_waiting_take(shelf, sound, name="bo.wav", student=bo.number).number
        with shelf.step("remove"):
            shelf.remove(bo)
        assert waiting_take(shelf, of_bo).student is None
        erase_student(shelf, ada)
        assert [one.number for one in all_waiting_takes(shelf)] == [of_bo]


def test_what_was_found_of_a_take_goes_in_the_write_that_says_it_is_another(tmp_path):
    sound = tmp_path / "upload.wav"
    sound.write_bytes(b"a sound")
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        with shelf.step("lesson"):
            ada = shelf.add(Student(name="Ada (invented)"))
            lesson = shelf.add(KeptLesson(title="Stairs (invented)"))
            version = shelf.add(LessonVersion(lesson=lesson.number, version=1, data="{}")).number
        number = add_waiting_take(shelf, sound, name="ada.wav").number
        keep_findings(shelf, number, "{}")
        said = say_of_waiting_take(shelf, number, student=ada.number, version=version)
        assert (said.student, said.version, said.found) == (ada.number, version, "{}")
        begun: list[str] = []
        shelf.database.set_trace_callback(lambda sql: begun.append(sql) if sql.startswith("BEGIN") else None)
        said = say_of_waiting_take(shelf, number, student=ada.number, version=version, keeps=False)
        assert (said.version, said.found, len(begun)) == (version, "", 1)
