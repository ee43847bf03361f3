"""The overview of many takes as data: who, which lesson, better or worse than last time and where, what to say."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from msgspec import Meta, Struct


class TakeChange(StrEnum):
    """A take against the one before of the same student and lesson."""

    FIRST = "first"  # there is none before
    BETTER = "better"  # more notes as asked
    WORSE = "worse"  # fewer
    FASTER = "faster"  # about as many, at a faster tempo
    SLOWER = "slower"
    SAME = "same"


class WhyUnanswered(StrEnum):
    """Why a take has no answer."""

    NO_LESSON = "no lesson"  # none of the lessons is heard in it
    SEVERAL_LESSONS = "several lessons"  # two or more fit alike
    UNREADABLE = "unreadable"  # it can't be heard, with what is wrong
    WAITING = "waiting"  # the run ended before it


class LastTime(Struct, frozen=True):
    """The take before, of the same student and lesson.

    recorded : the day. right, notes : notes as asked, and notes tried, in its best play-through.
    bpm : beats a minute, as they are counted.
    """

    recorded: str
    right: int
    notes: int
    bpm: int


class ToldTake(Struct, frozen=True, kw_only=True):
    """A take that is answered; of a lesson of several pieces, one piece that is heard in it.

    student : empty where it is not known whose it is. recorded : the day. file : what the recording was called.
    lesson : its title. piece, piece_title : folder and title of the piece that was played, of a lesson of several.
    folder : name of the answer's folder, empty where it is kept in none. files : names of those in it.
    is_new : whether it was answered in this run.
    right, notes : notes as asked, and notes tried, in the best play-through; None where nothing of it is heard.
    bpm : beats a minute, as they are counted; tempo_percent : of the written tempo.
    better_in, worse_in : the bars with fewer, and with more, faulty notes than last time, in words.
    say : what to say to the student, sentence by sentence; only of the newest take of a lesson, and
        of several pieces in it of the one that needs it most.
    """

    student: str
    recorded: str
    file: str
    lesson: str
    piece: str = ""
    piece_title: str = ""
    folder: str = ""
    files: tuple[str, ...] = ()
    is_new: bool = True
    right: int | None = None
    notes: int | None = None
    bpm: int | None = None
    tempo_percent: int | None = None
    change: TakeChange = TakeChange.FIRST
    last: LastTime | None = None
    better_in: str = ""
    worse_in: str = ""
    say: tuple[str, ...] = ()


class TriedLesson(Struct, frozen=True):
    """A lesson that was listened for, and how much of a take's sound is it played on in time, in per cent."""

    title: str
    percent: int


class UnansweredTake(Struct, frozen=True):
    """A take without an answer.

    tried : the lessons that explain most of it. error : what is wrong with the file, as a sentence.
    """

    file: str
    student: str
    why: WhyUnanswered
    tried: tuple[TriedLesson, ...] = ()
    error: str = ""


class CommonPlace(Struct, frozen=True):
    """A place in a lesson that went wrong for several students.

    place : the bar, in words. move : what is to be played there, in words. students : their names.
    """

    lesson: str
    place: str
    move: str
    students: tuple[str, ...]


class TakesOverview(Struct, frozen=True, kw_only=True, tag_field="schema", tag="reedpath/takes-overview"):
    """The overview of many takes, as it is written.

    version : of the shape of the file. language : of its words.
    first_day, last_day : of the takes in it, as ISO 8601 writes them; empty where there is none.
    takes : those of a student together, students by name, each in the order of time; a take of several pieces once
        for each of them.
    older : takes given that were answered more than a week before the newest, and are not told again.
    unanswered : the rest. common : where several students went wrong.
    same : names of recordings that are the same to the byte as another, with its name.
    others : names of files that are no recordings.
    """

    version: Literal[1] = 1
    language: str
    first_day: str = ""
    last_day: str = ""
    takes: tuple[ToldTake, ...] = ()
    older: Annotated[int, Meta(ge=0)] = 0
    unanswered: tuple[UnansweredTake, ...] = ()
    common: tuple[CommonPlace, ...] = ()
    same: dict[str, str] = {}
    others: tuple[str, ...] = ()
