"""The lesson desk: a process that opens versions of lessons, shows and changes them, for a program that has no time
for it itself.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import ReedpathError
from reedpath.jobs.band_choices import BandChoice, SaidPlaces, said_places
from reedpath.jobs.conversations import Channel, told_error
from reedpath.jobs.lesson_views import LessonView, lesson_view
from reedpath.jobs.shelf_lessons import OpenedLesson, lesson_to_keep, open_version
from reedpath.lesson import LessonOfPieces, Taught
from reedpath.shelf import KeptFiles, LessonToKeep, LessonVersion
from reedpath.wording import load_catalogue

# versions that are kept open
MOST_OPEN = 8


class DeskQuestion(Struct, frozen=True):
    """What is wanted of a version.

    shown : name of the language in which it is to be shown; empty for a change.
    notes : how that language names notes, empty for its custom.
    changes : what is to be done with the lesson, one after the other.
    band : of a band, to be told where in the form each piece then stands.
    """

    version: LessonVersion
    shown: str = ""
    notes: str = ""
    changes: tuple[Callable[[Taught], Taught], ...] = ()
    band: BandChoice | None = None


class ChangedLesson(Struct, frozen=True):
    """A lesson after a change, to be kept; see `shelf_lessons.keep_version`."""

    opened: OpenedLesson
    kept: LessonToKeep


class DeskAnswer(Struct, frozen=True):
    """What comes of a question: a view, a changed lesson, or what is wrong."""

    view: LessonView | None = None
    changed: ChangedLesson | None = None
    places: tuple[SaidPlaces, ...] = ()
    error: ReedpathError | None = None


def _key(version: LessonVersion) -> str:
    """By which a version is known again, with the files that it has now."""
    return f"{version.uid} {sorted(version.files.items())}"


class _Desk:
    def __init__(self, files: Path) -> None:
        self._files = KeptFiles(files)
        self._open: dict[str, OpenedLesson] = {}
        self._views: dict[tuple[str, str, str], LessonView] = {}

    def _opened(self, version: LessonVersion) -> OpenedLesson:
        key = _key(version)
        if key not in self._open:
            self._open[key] = open_version(self._files, version)
            for old in list(self._open)[:-MOST_OPEN]:
                del self._open[old]
        return self._open[key]

    def answer(self, question: DeskQuestion) -> DeskAnswer:
        opened = self._opened(question.version)
        if question.band is not None:
            return DeskAnswer(places=self._places(opened, question, question.band))
        if question.shown:
            key = (_key(question.version), question.shown, question.notes)
            if key not in self._views:
                self._views[key] = lesson_view(opened.lesson, question.shown, notes=question.notes)
                for old in list(self._views)[:-MOST_OPEN]:
                    del self._views[old]
            return DeskAnswer(view=self._views[key])
        lesson = opened.lesson
        for change in question.changes:
            lesson = change(lesson)
        return DeskAnswer(changed=ChangedLesson(replace(opened, lesson=lesson), lesson_to_keep(lesson)))

    def _places(self, opened: OpenedLesson, question: DeskQuestion, band: BandChoice) -> tuple[SaidPlaces, ...]:
        words = load_catalogue(question.shown, notes=question.notes or None)
        if isinstance(opened.lesson, LessonOfPieces):
            pieces = opened.lesson.pieces
            return tuple(said_places(band, one.lesson.route, words, title=one.lesson.title) for one in pieces)
        return (said_places(band, opened.lesson.route, words),)


def serve_lesson_desk(channel: Channel, files: str) -> None:
    """Answer one `DeskQuestion` after the other with a `DeskAnswer`, until nobody asks any more.

    files : path of the shelf's kept files.
    """
    desk = _Desk(Path(files))
    while (message := channel.receive()) is not None:
        try:
            answer = desk.answer(pickle.loads(message))
        except Exception as error:  # noqa: BLE001 - told there, and the desk goes on
            answer = DeskAnswer(error=told_error(error))
        channel.send(pickle.dumps(answer, protocol=pickle.HIGHEST_PROTOCOL))
