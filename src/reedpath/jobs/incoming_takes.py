"""Takes by the dozen: whose each is, and which lesson it plays, found by its name and by what is heard; and answered.

Nothing is guessed in silence: where a name fits two students, or a sound two lessons, that is said, and the person
says which.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from reedpath.data import as_plain, encode_json, from_plain, read_json
from reedpath.errors import ReedpathError, SettingsError, clean_text
from reedpath.jobs.answering import answer_recording, answered_as_data
from reedpath.jobs.disk import opened
from reedpath.jobs.hearing import see_take
from reedpath.jobs.lesson_folders import lesson_of_version
from reedpath.jobs.processes import JobPart, SideBySide
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.take_matching import (
    KnownLesson,
    LessonHeard,
    find_lesson,
    lessons_listened_for,
    students_named,
)
from reedpath.shelf import KeptAnswer, KeptLesson, KeptTake, LessonVersion, Shelf, Student, now_text

if TYPE_CHECKING:
    from reedpath.jobs.processes import ShareReport
    from reedpath.signal import BytesPut

# seconds of a processor that a take of half a minute takes, about
TAKE_SECONDS = 2.0


class TakeGround(Struct, frozen=True):
    """Who may play, and what."""

    students: tuple[Student, ...]
    lessons: tuple[KnownLesson, ...]


class IncomingTake(Struct, frozen=True):
    """A recording that came in.

    path : where it lies. name : what it was called where it comes from.
    student, version : numbers of the student and of the version of the lesson, where these are said.
    at : when it came in, as ISO 8601 writes it; empty for when it is kept.
    """

    path: Path
    name: str
    student: int | None = None
    version: int | None = None
    at: str = ""


class FoundTake(Struct, frozen=True):
    """What was found of a take.

    student, version : their numbers; None where that is not sure.
    students, lessons : those that it may be, the likeliest first; of one that is sure only this.
    answer : its ``answer.json`` as text; empty as long as the lesson is not sure.
    right_share : of the notes in the best play-through of each piece, None where none is heard.
    """

    take: IncomingTake
    student: int | None
    version: int | None
    students: tuple[int, ...]
    lessons: tuple[LessonHeard, ...]
    answer: str = ""
    right_share: float | None = None

    @property
    def is_sure(self) -> bool:
        """Whether it is known who plays what."""
        return self.student is not None and self.version is not None


def findings_as_text(found: FoundTake) -> str:
    """What was found of a take, as JSON, to be read by `found_before`."""
    plain = {name: as_plain(getattr(found, name)) for name in FoundTake.__struct_fields__ if name != "take"}
    return encode_json(plain).decode()


def found_before(take: IncomingTake, text: str) -> FoundTake:
    """What was found of a take, from its JSON."""
    plain = read_json(text.encode(), dict)
    lists = {"students": tuple(plain["students"]), "lessons": from_plain(plain["lessons"], tuple[LessonHeard, ...])}
    return FoundTake(take, **(plain | lists))


def ground_of(shelf: Shelf) -> TakeGround:
    """All students of a shelf, and the last versions of all its lessons, the newest first."""
    lessons = []
    for one in shelf.all(KeptLesson):
        versions = shelf.all(LessonVersion, lesson=one.number)
        if versions:
            lessons.append(KnownLesson(one.title, versions[-1]))
    lessons.sort(key=lambda one: (one.version.added, one.version.number), reverse=True)
    return TakeGround(tuple(shelf.all(Student)), tuple(lessons))


def hear_take(take: IncomingTake, ground: TakeGround, progress: Progress = silent) -> FoundTake:
    """Find out who plays what in a take, and answer it where the lesson is sure.

    Raises `ReadError` for what is no recording.
    """
    students = students_named(take.name, ground.students) if take.student is None else (take.student,)
    student = students[0] if len(students) == 1 else None
    students = students or tuple(one.number for one in ground.students)
    looked = see_take(take.path, progress=progress)
    if take.version is None:
        lessons = lessons_listened_for(take.name, ground.lessons)
        found, told = find_lesson(looked.seen, take.name, lessons, progress)
    else:
        lessons = [one for one in ground.lessons if one.version.number == take.version]
        found, told = LessonHeard(take.version, lessons[0].title, 1.0) if lessons else None, ()
    if found is None:
        return FoundTake(take, student, None, students, told)
    lesson = next(one for one in lessons if one.version.number == found.version)
    answered = answer_recording(take.path, lesson_of_version(lesson.version), looked=looked, progress=progress)
    return FoundTake(
        take,
        student,
        found.version,
        students,
        (found,),
        encode_json(answered_as_data(answered)).decode(),
        answered.right_share,
    )


def hear_take_apart(
    ground: TakeGround, take: IncomingTake, *, put: BytesPut, report: ShareReport
) -> FoundTake | ReedpathError:
    """A part of hearing many takes, in a process of its own: what is found of one, or why it can't be read.

    Its answer is put into a file.
    """
    try:
        found = hear_take(take, ground, lambda step: report(step.share or 0.0))
    except ReedpathError as error:
        return error
    put(found.answer.encode())
    return replace(found, answer="")


def hear_takes(
    takes: Sequence[IncomingTake], ground: TakeGround, progress: Progress = silent
) -> Iterator[FoundTake | ReedpathError]:
    """What is found of each of many takes, in their order, or why one can't be read; side by side in processes."""
    with TemporaryDirectory(prefix="reedpath-takes-") as folder:
        files = [Path(folder) / f"{number}.json" for number in range(len(takes))]
        parts = [
            JobPart(hear_take_apart, (take,), file, TAKE_SECONDS) for take, file in zip(takes, files, strict=True)
        ]
        found: dict[int, FoundTake | ReedpathError] = {}
        with SideBySide(ground, parts) as hearing:

            def tell(index: int) -> None:
                share = hearing.done_work / (TAKE_SECONDS * len(parts))
                progress(ProgressStep("takes", len(found), len(parts), share=share))

            for index, made in hearing.results(tell):
                found[index] = made
        for index, file in enumerate(files):
            made = found[index]
            yield made if isinstance(made, ReedpathError) else replace(made, answer=file.read_text(encoding="utf-8"))


def keep_found(shelf: Shelf, found: FoundTake) -> KeptTake:
    """Keep a take with its answer, as one step; of one that is there already, only the answer is new.

    Raises `SettingsError` where it is not known who plays what, or student or lesson are not there any more.
    """
    if found.student is None or found.version is None:
        raise SettingsError("jobs.take_unsure", name=found.take.name)
    shelf.get(Student, found.student)
    shelf.get(LessonVersion, found.version)
    with opened(found.take.path) as file:
        sound = shelf.files.keep(file, name=found.take.name)
    there = shelf.all(KeptTake, student=found.student, version=found.version, sound=sound)
    with shelf.step("take"):
        take = (
            there[-1]
            if there
            else shelf.add(
                KeptTake(
                    student=found.student,
                    version=found.version,
                    name=clean_text(found.take.name),
                    sound=sound,
                    added=found.take.at or now_text(),
                )
            )
        )
        known = [one.data for one in shelf.all(KeptAnswer, take=take.number)]
        if found.answer and found.answer not in known[-1:]:
            shelf.add(KeptAnswer(take=take.number, data=found.answer, added=now_text()))
    return take
