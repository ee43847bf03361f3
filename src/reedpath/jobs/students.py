"""Students and their takes put on a shelf."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import load_player
from reedpath.errors import SettingsError, clean_text
from reedpath.jobs.disk import naming_file, opened, read_bytes
from reedpath.jobs.instruments import HarpChoice, chosen_harps
from reedpath.jobs.shelves import lesson_called, student_called
from reedpath.lesson import PlayingTechnique
from reedpath.shelf import KeptAnswer, KeptTake, OwnedHarp, Shelf, Student, last_version, now_text

# bytes of an answer's file; one to a take of an hour has a tenth
MOST_ANSWER_BYTES = 64_000_000


class StudentSaid(Struct, frozen=True):
    """What is said of a student; None for what is not said.

    harps : keys. techniques : names of techniques that the student has.
    """

    level: str | None = None
    harps: tuple[str, ...] | None = None
    techniques: tuple[str, ...] | None = None
    note: str | None = None


def _checked(said: StudentSaid) -> None:
    """A SettingsError for a level, a harp or a technique that there is not."""
    load_player(said.level or None)
    chosen_harps(HarpChoice(), owned=said.harps or ())
    known = [one.value for one in PlayingTechnique]
    for name in said.techniques or ():
        if name not in known:
            raise SettingsError("jobs.unknown_technique", name=name, names=known)


def put_student(shelf: Shelf, name: str, said: StudentSaid) -> tuple[Student, tuple[OwnedHarp, ...]]:
    """Put a student on the shelf, or say more of one who is there; and his or her harps."""
    _checked(said)
    name = clean_text(name)
    with shelf.step("student"):
        found = [one for one in shelf.all(Student) if one.name.casefold() == name.casefold()]
        student = student_called(shelf, name) if found else shelf.add(Student(name=name, added=now_text()))
        return _said(shelf, student, said)


def change_student(shelf: Shelf, number: int, name: str, said: StudentSaid) -> tuple[Student, tuple[OwnedHarp, ...]]:
    """Say more of a student by number, or give him or her another name; an empty one changes none.

    Raises `SettingsError` also for a name that another student has.
    """
    _checked(said)
    student = shelf.get(Student, number)
    name = clean_text(name) or student.name
    others = [one for one in shelf.all(Student) if one.number != number]
    if any(one.name.casefold() == name.casefold() for one in others):
        raise SettingsError("shelf.name_taken", name=name)
    with shelf.step("student"):
        named = replace(student, name=name)
        if named != student:
            shelf.change(named)
        return _said(shelf, named, said)


def _said(shelf: Shelf, student: Student, said: StudentSaid) -> tuple[Student, tuple[OwnedHarp, ...]]:
    """Let hold what is said of a student, within a step; a harp that is there already stays as it is."""
    grown = replace(
        student,
        level=student.level if said.level is None else said.level,
        techniques=student.techniques if said.techniques is None else said.techniques,
        note=student.note if said.note is None else _lines(said.note),
    )
    if grown != student:
        shelf.change(grown)
    there = shelf.all(OwnedHarp, student=student.number)
    if said.harps is not None and [one.key for one in there] != list(said.harps):
        tunings = {one.key: one for one in there}
        for harp in there:
            shelf.remove(harp)
        for key in said.harps:
            kept = tunings.get(key)
            shelf.add(OwnedHarp(student=student.number, key=key) if kept is None else replace(kept, number=0, uid=""))
    return grown, tuple(shelf.all(OwnedHarp, student=student.number))


def _lines(text: str) -> str:
    """A text whose lines stay lines, each as it can be shown anywhere."""
    return "\n".join(clean_text(line) for line in text.splitlines())


def add_take(
    shelf: Shelf, recording: Path, *, student: str, lesson: str | None, answer: Path | None, note: str = ""
) -> KeptTake:
    """Put a student's take on the shelf, with its answer where there is one.

    lesson : title of the lesson that was played; its last version is meant.
    answer : an ``answer.json``, or the folder that it is in.
    """
    who = student_called(shelf, student)
    version = last_version(shelf, lesson_called(shelf, lesson).number).number if lesson is not None else None
    data = None
    if answer is not None:
        path = answer / "answer.json" if answer.is_dir() else answer
        data = read_bytes(path, most_bytes=MOST_ANSWER_BYTES)
        from reedpath.shelf.importing import plain_of_answer

        with naming_file(path):
            plain_of_answer(data)
    with opened(recording) as file:
        sound = shelf.files.keep(file, name=recording.name)
    with shelf.step("take"):
        name = clean_text(recording.name)
        made = KeptTake(
            student=who.number, version=version, name=name, sound=sound, note=clean_text(note), added=now_text()
        )
        take = shelf.add(made)
        if data is not None:
            shelf.add(KeptAnswer(take=take.number, data=data.decode(), added=now_text()))
    return take
