"""Many takes on the terminal: answered, and the overview of them."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from reedpath.cli.printing import (
    catalogue_for,
    print_data,
    print_errors,
    print_line,
    progress_display,
)
from reedpath.data import as_plain
from reedpath.errors import SettingsError
from reedpath.jobs.lesson_folders import is_lesson_folder
from reedpath.jobs.many_takes import TakesAsked, TakesRun, lessons_in
from reedpath.jobs.shelves import shelf_at, shelf_path, student_called
from reedpath.jobs.take_overview import answer_with_overview
from reedpath.jobs.take_records import OVERVIEW, answered_takes_on_shelf
from reedpath.jobs.task_pool import pool_at
from reedpath.page.takes import format_takes

if TYPE_CHECKING:
    from reedpath.errors import ReedpathError
    from reedpath.jobs.take_matching import KnownLesson
    from reedpath.jobs.take_records import TakeWithAnswer


@dataclass(frozen=True, slots=True)
class TakesSaid:
    """What is said of many takes on the command line.

    recordings : files and folders. lessons : folders. shelf : None where none is named.
    everything : whether the answers tell all that is not as asked.
    """

    recordings: tuple[Path, ...]
    lessons: tuple[Path, ...]
    shelf: Path | None
    student: str | None
    out: Path | None
    cluster: str | None
    everything: bool
    broken_off: bool
    replace: bool


def is_one_take(said: TakesSaid) -> bool:
    """Whether one take of one lesson is meant, whose answer has a folder of its own."""
    if len(said.recordings) != 1 or said.recordings[0].is_dir() or len(said.lessons) != 1:
        return False
    if said.shelf is not None or said.student is not None or said.cluster is not None:
        return False
    if said.out is not None and (said.out / f"{OVERVIEW}.json").exists():
        return False
    # what is no lesson at all is told as of one
    lesson = said.lessons[0]
    return is_lesson_folder(lesson) or not lesson.is_dir() or not any(lesson.rglob("lesson.json"))


class _OfShelf(NamedTuple):
    """What is known by the shelf: its lessons, its students, and the takes that were answered before."""

    lessons: tuple[KnownLesson, ...] = ()
    students: tuple[str, ...] = ()
    earlier: tuple[TakeWithAnswer, ...] = ()


def _from_shelf(path: Path | None, student: str | None) -> _OfShelf:
    from reedpath.jobs.incoming_takes import ground_of

    if path is None and not shelf_path(None).exists():
        raise SettingsError("cli.no_lessons_said")
    with shelf_at(path) as shelf:
        if student is not None:
            student_called(shelf, student)
        ground = ground_of(shelf)
        earlier = answered_takes_on_shelf(shelf)
    return _OfShelf(ground.lessons, tuple(one.name for one in ground.students), earlier)


def _asked(said: TakesSaid, language: str) -> tuple[TakesAsked, tuple[ReedpathError, ...]]:
    """What is asked, and why some lessons can't be read."""
    lessons: tuple[KnownLesson, ...] = ()
    unread: tuple[ReedpathError, ...] = ()
    kept = _OfShelf()
    if said.lessons:
        lessons, unread = lessons_in(said.lessons)
    if said.shelf is not None or not said.lessons:
        kept = _from_shelf(said.shelf, said.student)
        lessons = lessons or kept.lessons
    if not lessons:
        raise SettingsError("cli.no_lessons_said")
    is_one = len(said.lessons) == 1 and is_lesson_folder(said.lessons[0])
    asked = TakesAsked(
        given=said.recordings,
        lessons=lessons,
        language=language,
        is_one_lesson=is_one,
        students=kept.students,
        earlier=kept.earlier,
        student=said.student or "",
        out=said.out,
        everything=said.everything,
        broken_off=said.broken_off,
        replace=said.replace,
        pool=pool_at(said.cluster),
    )
    return asked, unread


def show_takes(said: TakesSaid, *, language: str | None, json: bool) -> None:
    """Answer takes, keep the answers where they are wanted, and print the overview."""
    catalogue = catalogue_for(language)
    asked, unread = _asked(said, catalogue.name)
    print_errors(unread, catalogue)
    run, out = TakesRun(asked), asked.out
    try:
        with progress_display(catalogue) as progress:
            made = answer_with_overview(run, catalogue, progress)
    except BaseException:
        if out is not None:
            sys.stderr.write(f"{catalogue.say('week.stopped', count=len(run.so_far.now))}\n")
        raise
    told, kept = made.overview, made.kept
    if json:
        data = as_plain(told)
        if out is not None:
            data |= {"folder": str(out), "kept": kept}
        print_data(data)
    else:
        print_line(format_takes(told, catalogue).rstrip())
        if out is not None:
            print_line()
            print_line(str(out / f"{OVERVIEW}.html"))
        for old, new in kept.items():
            print_line(catalogue.say("files.kept", old=old, new=new))
    if told.unanswered:
        raise SystemExit(2)
