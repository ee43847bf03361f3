"""One take answered as a task of many, by whatever process or machine: it is given values and gives back values."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from reedpath.hear import Condition
from reedpath.jobs.answering import answer_files, answer_recording, answered_json
from reedpath.jobs.hearing import see_take
from reedpath.jobs.lesson_folders import lesson_of_version
from reedpath.jobs.take_matching import KnownLesson, LessonHeard, find_lesson
from reedpath.listen import Notice
from reedpath.wording import load_catalogue

# the answer's data: name of its file
ANSWER = "answer.json"


class TakeToAnswer(Struct, frozen=True):
    """A take to be answered.

    sound : the file's bytes, or its path for a process of the same machine. name : what it is called in messages.
    lessons : those that it may play. is_said : whether it is known to play the only one.
    language : of the answer. with_files : whether all files of the answer are wanted, or only its data.
    everything : whether its text tells all that is not as asked.
    broken_off : whether a file that breaks off is heard as far as it goes.
    """

    sound: bytes | Path
    name: str
    lessons: tuple[KnownLesson, ...]
    is_said: bool
    language: str
    with_files: bool
    everything: bool
    broken_off: bool


class TakeAnswered(Struct, frozen=True):
    """What came of a take.

    found : the lesson that it plays, None where that is not sure. heard : what the likeliest explain of it.
    notice : why no lesson can be heard in it, where the recording says so by itself.
    files : those of the answer by name; none where the lesson is not sure.
    """

    found: LessonHeard | None
    heard: tuple[LessonHeard, ...] = ()
    files: dict[str, bytes] = {}
    notice: Notice | None = None


def _nothing_in(condition: Condition) -> Notice | None:
    """What is to be said of a recording in which nothing can be heard."""
    if condition.silent or not condition.duration_seconds:
        return Notice.SILENT
    return Notice.NO_PITCH if condition.without_pitch else None


def answer_one_take(take: TakeToAnswer) -> TakeAnswered:
    """Find out what a take plays, and answer it where that is sure.

    Raises `ReedpathError` for what is no recording.
    """
    looked = see_take(take.sound, name=take.name, broken_off=take.broken_off)
    found: LessonHeard | None
    heard: tuple[LessonHeard, ...] = ()
    if take.is_said:
        only = take.lessons[0]
        found = LessonHeard(only.version.number, only.title, 1.0)
    else:
        found, heard = find_lesson(looked.seen, take.name, take.lessons)
    if found is None:
        return TakeAnswered(None, heard, notice=_nothing_in(looked.condition))
    version = next(one.version for one in take.lessons if one.version.number == found.version)
    lesson = lesson_of_version(version)
    answered = answer_recording(take.sound, lesson, name=take.name, broken_off=take.broken_off, looked=looked)
    if take.with_files:
        files = answer_files(answered, load_catalogue(take.language), everything=take.everything)
    else:
        files = {ANSWER: answered_json(answered)}
    return TakeAnswered(found, heard, files)
