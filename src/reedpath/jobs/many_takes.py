"""Many takes answered at once: each known by its bytes, whose it is and of what found out, and answered once.

Each answer is in its folder as soon as it is there, so that what was answered stays, however the run ends; what was
answered before is not answered again.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from reedpath.errors import Place, ReadError, ReedpathError, SettingsError, clean_text
from reedpath.jobs.disk import sha256_of
from reedpath.jobs.folder_plans import LIST
from reedpath.jobs.folders import Written, holds_nothing
from reedpath.jobs.many_lessons import find_lessons
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.shelf_lessons import lesson_to_keep
from reedpath.jobs.take_files import RecordingFile, find_recordings
from reedpath.jobs.take_matching import KnownLesson, LessonHeard, lessons_listened_for
from reedpath.jobs.take_names import same_student, student_named
from reedpath.jobs.take_records import (
    TakeRecord,
    TakeWithAnswer,
    answered_takes,
    answered_takes_beside,
    every_answer,
    keep_answered_take,
    keep_record,
)
from reedpath.jobs.take_tasks import ANSWER, TakeAnswered, TakeToAnswer, answer_one_take
from reedpath.jobs.task_pool import ClusterPool, LocalPool, TaskPool, run_tasks
from reedpath.listen import Notice
from reedpath.shelf import LessonVersion

# seconds of a processor that a take of half a minute takes, its drills with it, about
TAKE_SECONDS = 4.0


class TakesAsked(Struct, frozen=True):
    """What is asked of many takes.

    given : files, and folders of such. lessons : those that may be played.
    is_one_lesson : whether every take is of the only lesson there is, as the teacher says.
    students : names that are known. student : whose all takes are, where the teacher says so.
    earlier : takes that were answered elsewhere, as on the shelf.
    out : the folder for the answers; None for none to be kept.
    everything : whether the answers' texts tell all that is not as asked.
    broken_off : whether a file that breaks off is heard as far as it goes.
    replace : whether what was answered is answered again.
    """

    given: tuple[Path, ...]
    lessons: tuple[KnownLesson, ...]
    language: str
    is_one_lesson: bool = False
    students: tuple[str, ...] = ()
    student: str = ""
    earlier: tuple[TakeWithAnswer, ...] = ()
    out: Path | None = None
    everything: bool = False
    broken_off: bool = False
    replace: bool = False
    pool: TaskPool = LocalPool()


class GivenTake(Struct, frozen=True):
    """A recording that was given.

    student : whose it is, empty where that is not known.
    """

    recording: RecordingFile
    sha256: str
    student: str
    is_said: bool


class OpenTake(Struct, frozen=True):
    """A take that has no answer.

    heard : what the likeliest lessons explain of it, where none is sure. error : why it can't be heard.
    notice : why no lesson can be heard, where the recording itself says so. Where there is none of them it was not
        come to yet.
    """

    take: GivenTake
    heard: tuple[LessonHeard, ...] = ()
    error: ReedpathError | None = None
    notice: Notice | None = None


class AnsweredTakes(Struct, frozen=True):
    """What came of many takes.

    now, before : those of the takes given that were answered now, and before, in the order of time.
    earlier : others that were answered, in this folder or beside it.
    open : those without an answer.
    same : names of recordings that are the same to the byte as another, with its name.
    others : names of files that are no recordings.
    """

    now: tuple[TakeWithAnswer, ...] = ()
    before: tuple[TakeWithAnswer, ...] = ()
    earlier: tuple[TakeWithAnswer, ...] = ()
    open: tuple[OpenTake, ...] = ()
    same: dict[str, str] = {}
    others: tuple[str, ...] = ()


def lessons_in(folders: Sequence[Path]) -> tuple[tuple[KnownLesson, ...], tuple[ReedpathError, ...]]:
    """The lessons in folders, as takes may play them, and why others can't be read."""
    found = find_lessons(folders)
    lessons = []
    for number, one in enumerate(found.lessons, start=1):
        kept = lesson_to_keep(one.lesson, unnamed=one.folder.resolve().name)
        pieces = {folder: data.decode() for folder, data in kept.pieces.items()}
        version = LessonVersion(number=number, lesson=number, version=1, data=kept.data.decode(), pieces=pieces)
        lessons.append(KnownLesson(kept.title, version))
    return tuple(lessons), found.unread


def _refuse_other_folder(out: Path) -> None:
    """A SettingsError for a folder in which other things than answers lie."""
    if not out.is_dir() or holds_nothing(out) or (out / LIST).is_file():
        return
    raise SettingsError("jobs.answers_among_others", where=Place(file=str(out)))


class _Week:
    """The takes of a run, while they are answered."""

    def __init__(self, asked: TakesAsked) -> None:
        self.asked = asked
        out = asked.out
        self.here = answered_takes(out) if out is not None else ()
        self.beside = answered_takes_beside(out) if out is not None else ()
        found = find_recordings(asked.given)
        self.others = found.others
        self.given: dict[str, GivenTake] = {}
        self.same: dict[str, str] = {}
        self.open: dict[str, OpenTake] = {}
        known = list(
            dict.fromkeys([*asked.students, *(one.record.student for one in self._kept() if one.record.student)])
        )
        for recording in found.recordings:
            self._take_in(recording, known)
        kept = {one.record.sha256: one for one in self.here}
        self.before: dict[str, TakeWithAnswer] = {}
        if not asked.replace:
            for digest in self.given.keys() & kept.keys():
                self.before[digest] = self._named_as_now(kept[digest])
        self.now: dict[str, TakeWithAnswer] = {}
        self.written: list[Written] = []

    def _kept(self) -> tuple[TakeWithAnswer, ...]:
        return (*self.here, *self.beside, *self.asked.earlier)

    def _take_in(self, recording: RecordingFile, known: list[str]) -> None:
        try:
            digest = sha256_of(recording.path)
        except ReedpathError as error:
            digest = f"unread {recording.name}"
            self.open[digest] = OpenTake(GivenTake(recording, digest, "", is_said=False), error=error)
        student = self.asked.student or self._student_of(recording, known)
        there = self.given.get(digest)
        if there is not None and (there.student or not student):
            self.same[recording.name] = there.recording.name
            return
        if there is not None:  # the same recording by a name that says whose it is
            self.same[there.recording.name] = recording.name
        if student and student not in known:
            known.append(student)
        self.given[digest] = GivenTake(recording, digest, student, is_said=bool(self.asked.student))

    def _student_of(self, recording: RecordingFile, known: Sequence[str]) -> str:
        titles = [one.title for one in self.asked.lessons]
        named = student_named(recording.folders, recording.stem, titles)
        if named:
            return same_student(named, known)
        # a folder that is no name by itself may be one of who is known
        above = same_student(student_named((), recording.above, titles), known)
        return above if above in known else ""

    def _named_as_now(self, kept: TakeWithAnswer) -> TakeWithAnswer:
        """What was answered before, with the student that it has now, unless the teacher said whose it is."""
        take, out = self.given[kept.record.sha256], self.asked.out
        if out is None or not take.student or (kept.record.is_said and not take.is_said):
            return kept
        return keep_record(out, kept, take.student, is_said=take.is_said)

    @property
    def left(self) -> list[GivenTake]:
        """The takes that are to be answered."""
        return [
            one for digest, one in self.given.items()
            if digest not in self.before and digest not in self.now and digest not in self.open
        ]  # fmt: skip

    def to_answer(self, take: GivenTake) -> TakeToAnswer:
        """A take as it is handed to who answers it."""
        asked, name = self.asked, take.recording.name
        path = take.recording.path
        sound = path.read_bytes() if isinstance(asked.pool, ClusterPool) else path.resolve()
        lessons = asked.lessons if asked.is_one_lesson else tuple(lessons_listened_for(name, asked.lessons))
        return TakeToAnswer(
            sound=sound,
            name=name,
            lessons=lessons,
            is_said=asked.is_one_lesson,
            language=asked.language,
            with_files=asked.out is not None,
            everything=asked.everything,
            broken_off=asked.broken_off,
        )

    def keep(self, take: GivenTake, made: TakeAnswered) -> None:
        """Keep what came of a take."""
        if made.found is None:
            self.open[take.sha256] = OpenTake(take, made.heard, notice=made.notice)
            return
        record = TakeRecord(
            file=clean_text(take.recording.path.name),
            sha256=take.sha256,
            recorded=take.recording.recorded,
            modified=take.recording.modified,
            student=take.student,
            is_said=take.is_said,
            lesson=made.found.title,
        )
        if self.asked.out is None:
            self.now[take.sha256] = TakeWithAnswer(record, "", made.files[ANSWER])
            return
        answered, written = keep_answered_take(self.asked.out, record, made.files, self.here)
        self.now[take.sha256] = answered
        self.written.append(written)

    def result(self) -> AnsweredTakes:
        """What has come of it so far."""
        waiting = [OpenTake(one) for one in self.left]
        shown = (*self.now.values(), *self.before.values())
        done = {one.record.sha256 for one in shown}
        return AnsweredTakes(
            now=tuple(sorted(self.now.values(), key=lambda one: one.record.when)),
            before=tuple(sorted(self.before.values(), key=lambda one: one.record.when)),
            earlier=tuple(one for one in every_answer((self._kept(),)) if one.record.sha256 not in done),
            open=(*self.open.values(), *waiting),
            same=self.same,
            others=self.others,
        )


def _as_told(error: Exception, take: GivenTake) -> ReedpathError:
    """Why a take can't be answered, as an error for a person."""
    if isinstance(error, ReedpathError):
        return error
    if isinstance(error, OSError):
        return ReadError("jobs.no_file", where=Place(file=take.recording.name))
    return SettingsError(
        "jobs.take_fault", where=Place(file=take.recording.name), kind=type(error).__name__, text=str(error)
    )


class TakesRun:
    """Takes being answered: what there is to do, done by `run`, and what has come of it so far, however that ends."""

    def __init__(self, asked: TakesAsked) -> None:
        """Look at what is given and what is there; ReedpathError where it can't be."""
        if asked.out is not None:
            _refuse_other_folder(asked.out)
        self.asked = asked
        self._week = _Week(asked)

    @property
    def so_far(self) -> AnsweredTakes:
        """What has come of the takes so far."""
        return self._week.result()

    @property
    def kept(self) -> dict[str, str]:
        """New name by old of what had been edited by hand in answers that were written again."""
        return {old: new for written in self._week.written for old, new in written.kept.items()}

    def run(self, progress: Progress = silent) -> None:
        """Answer what is not answered yet, side by side."""
        week = self._week
        left = week.left
        progress(ProgressStep("takes", 0, len(left), share=0.0))
        answers = run_tasks(
            answer_one_take,
            left,
            pool=week.asked.pool,
            load=week.to_answer,
            returns=TakeAnswered,
            seconds_each=TAKE_SECONDS,
        )
        for done, answer in enumerate(answers, start=1):
            take = left[answer.index]
            if answer.result is not None:
                week.keep(take, answer.result)
            else:
                error = _as_told(answer.error or RuntimeError(), take)
                week.open[take.sha256] = OpenTake(take, error=error)
            progress(ProgressStep("takes", done, len(left), share=done / len(left)))
