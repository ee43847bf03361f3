"""Making a lesson folder: from a phrase to everything a teacher hands out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from os import PathLike
from pathlib import Path
from typing import TypeAlias

from msgspec.structs import replace as replace_fields

from reedpath.errors import Place, ReadError, SettingsError
from reedpath.harp import load_notation
from reedpath.jobs.asking import RouteRequest, arranged
from reedpath.jobs.folder_plans import LIST
from reedpath.jobs.folders import Written, holds_nothing, writing_into
from reedpath.jobs.lesson_pages import page_before_sounds, page_with_sounds, sound_rung
from reedpath.jobs.practising import read_lesson
from reedpath.jobs.processes import JobPart, SideBySide
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.sources import ReadPhrase
from reedpath.jobs.wording_of_lessons import SaidOfLesson, said_of_lesson
from reedpath.lesson import Lesson, encode_lesson, format_steps, make_lesson, taught_route
from reedpath.page import (
    encode_handout,
    encode_musicxml,
    engrave_score,
    format_left_out,
    format_ribbon_svg,
    format_route_chart_svg,
    format_tab,
    paper_names,
    parts_in_beats,
)
from reedpath.sound import encode_midi, lay_out, play_along_name
from reedpath.wording import Catalogue, catalogue_names, load_catalogue

__all__ = [
    "LessonWishes",
    "MadeLesson",
    "lesson_from",
    "make_in_folder",
    "make_lesson_folder",
    "tab_text",
    "write_lesson",
]

# seconds of a processor that each step takes for an event of the route, and the sounds for a second of them, coding
# included; measured with a tab of 320 bars of eighths on the machine of docs/performance.md
EVENT_SECONDS = {
    "tab": 0.0003, "score": 0.0003, "engraving": 0.0006, "pictures": 0.0004, "steps": 0.0002, "sheet": 0.0024,
    "midi": 0.0003, "page": 0.002, "data": 0.0005,
}  # fmt: skip
SOUND_SECONDS = 0.02

# share of the work that is told of at most: putting the sounds into the page and the files into place comes last
MOST_SHARE = 0.99
# the page for students
PAGE = "lesson.html"

Files: TypeAlias = dict[str, bytes]


def _check_paper(name: str) -> None:
    if name not in paper_names():
        raise SettingsError("jobs.unknown_paper", name=name, names=paper_names())


@dataclass(frozen=True, slots=True)
class LessonWishes:
    """How a lesson is to look.

    title : empty for the phrase's own, or one made from key and harp.
    notation : name of the tab notation.
    languages : catalogues of the steps; the first is the hand-out's.
    paper : name of the hand-out's paper.
    said : of the whole lesson beside its title.
    """

    title: str = ""
    notation: str = "sign"
    languages: tuple[str, ...] = ("en", "fr")
    paper: str = "a4"
    said: SaidOfLesson | None = None

    def check(self) -> None:
        """Raise SettingsError, before any work is done, for a wish that cannot be had."""
        load_notation(self.notation)
        if not self.languages:
            raise SettingsError("jobs.no_language", names=catalogue_names())
        for language in self.languages:
            load_catalogue(language)
        _check_paper(self.paper)


@dataclass(frozen=True, slots=True)
class MadeLesson:
    """A lesson, and what came of writing its folder."""

    lesson: Lesson
    written: Written


def lesson_from(read: ReadPhrase, request: RouteRequest, wishes: LessonWishes) -> Lesson:
    """The lesson of a phrase, as data."""
    wishes.check()
    route, pins = arranged(read.phrase, request, read.typed)
    made = make_lesson(route, title=wishes.title, notation=wishes.notation, languages=wishes.languages)
    made = replace_fields(made, paper=wishes.paper, pins=pins)
    return said_of_lesson(made, wishes.said) if wishes.said else made


def tab_text(lesson: Lesson) -> str:
    """The tab of a lesson as its folder has it, in the lesson's first language."""
    catalogue = load_catalogue(lesson.languages[0])
    return format_tab(lesson, catalogue=catalogue) + format_left_out(lesson, catalogue=catalogue)


def _tab(lesson: Lesson) -> Files:
    return {"tab.txt": tab_text(lesson).encode()}


def _pictures(lesson: Lesson, catalogue: Catalogue) -> Files:
    chart = format_route_chart_svg(lesson.route, catalogue=catalogue)
    ribbon = format_ribbon_svg(
        taught_route(lesson), parts=parts_in_beats(lesson, catalogue.name), catalogue=catalogue
    )
    return {"chart.svg": chart.encode(), "ribbon.svg": ribbon.encode()}


def _score(lesson: Lesson, catalogue: Catalogue) -> Files:
    return {"score.musicxml": encode_musicxml(lesson, catalogue=catalogue)}


def _data(lesson: Lesson) -> Files:
    return {"lesson.json": encode_lesson(lesson)}


def _sheet(lesson: Lesson, catalogue: Catalogue) -> Files:
    return {"sheet.pdf": encode_handout(lesson, catalogue=catalogue, paper=lesson.paper)}


@dataclass(frozen=True, slots=True)
class _Making:
    """A step of the making: its name in the catalogues, and what makes its files, handed those of the score."""

    name: str
    make: Callable[[Files], Files]


def _makings(lesson: Lesson, catalogue: Catalogue) -> list[_Making]:
    """The steps in order, but for the sounds; none needs them, the page takes them in at the end."""
    return [
        _Making("tab", lambda made: _tab(lesson)),
        _Making("score", lambda made: _score(lesson, catalogue)),
        _Making("engraving", lambda made: {"score.svg": engrave_score(made["score.musicxml"]).encode()}),
        _Making("pictures", lambda made: _pictures(lesson, catalogue)),
        _Making("steps", lambda made: {"steps.md": format_steps(lesson).encode()}),
        _Making("sheet", lambda made: _sheet(lesson, catalogue)),
        _Making("midi", lambda made: {"phrase.mid": encode_midi(lesson)}),
        _Making("page", lambda made: {PAGE: page_before_sounds(lesson)}),
        _Making("data", lambda made: _data(lesson)),
    ]


def _may_write(folder: Path, *, replace: bool) -> None:
    """A SettingsError for a folder that holds something, unless it is a lesson that may be made anew."""
    if holds_nothing(folder):
        return
    where = Place(file=str(folder))
    if not replace:
        raise SettingsError("jobs.folder_not_empty", where=where)
    if not (folder / LIST).is_file():
        try:
            read_lesson(folder)
        except ReadError as error:
            raise SettingsError("jobs.folder_without_lesson", where=where) from error


class _LessonMaking:
    """The making of everything in a lesson's folder: the sounds beside the rest, which needs one processor only."""

    def __init__(self, lesson: Lesson, folder: Path, progress: Progress) -> None:
        self._lesson, self._folder, self._progress = lesson, folder, progress
        self._makings = _makings(lesson, load_catalogue(lesson.languages[0]))
        self._parts = [
            JobPart(
                sound_rung, (rung,), folder / play_along_name(rung), SOUND_SECONDS * lay_out(lesson, rung).seconds
            )
            for rung in lesson.ladder
        ]
        self._names: list[str] = []
        self._score: Files = {}
        self._done_steps, self._done_work = 0, 0.0

    def _work(self, *makings: _Making) -> float:
        return len(self._lesson.route.events) * sum(EVENT_SECONDS[making.name] for making in makings)

    def _tell(self, name: str, sounded: float, detail: str = "") -> None:
        """Say which step is at work, and what share of the whole work is done."""
        whole = self._work(*self._makings) + sum(part.work for part in self._parts)
        steps = len(self._makings) + len(self._parts)
        share = (self._done_work + sounded) / whole if whole else 0.0
        self._progress(ProgressStep(name, self._done_steps, steps, detail, min(share, MOST_SHARE)))

    def _make(self, making: _Making, sounded: float) -> None:
        self._tell(making.name, sounded)
        for name, data in making.make(self._score).items():
            self._names.append(name)
            (self._folder / name).write_bytes(data)
            if making.name == "score":
                self._score[name] = data
        self._done_steps += 1
        self._done_work += self._work(making)

    def _sound(self, sounding: SideBySide) -> list[bytes]:
        """What is left of the sounds: their small files, in the order of the ladder."""
        rungs = self._lesson.ladder

        def tell(index: int) -> None:
            self._tell("sound", sounding.done_work, f"{rungs[index].bpm:g}")

        made: dict[int, bytes] = {}
        if rungs:
            tell(0)
        for index, sound in sounding.results(tell):
            made[index] = sound
            self._done_steps += 1
        return [made[index] for index in range(len(rungs))]

    def names(self) -> tuple[str, ...]:
        """Make and write everything; the names of the files."""
        with SideBySide(self._lesson, self._parts, beside=self._work(*self._makings)) as sounding:
            for making in self._makings:
                self._make(making, sounding.done_work)
            sounds = self._sound(sounding)
        page = self._folder / PAGE
        page.write_bytes(page_with_sounds(page.read_bytes(), sounds))
        at = self._names.index(PAGE)
        self._names[at:at] = [part.file.name for part in self._parts]
        return tuple(self._names)


def make_in_folder(
    lesson_of: Callable[[Progress], Lesson],
    out: Path,
    *,
    replace: bool,
    progress: Progress,
    taken_in: Mapping[str, str] | None = None,
) -> MadeLesson:
    """Make everything of a lesson in a folder; the lesson itself once it is sure that the folder may be written.

    taken_in : SHA-256 of files edited by hand that the lesson has taken everything from, known once it is made.
    """
    may_write = partial(_may_write, replace=replace)
    with writing_into(out, command="lesson", anew=True, may_write=may_write, taken_in=taken_in) as writing:
        lesson = lesson_of(progress)
        names = _LessonMaking(lesson, writing.files, progress).names()
    return MadeLesson(lesson, replace_fields(writing.written, files=names))


def write_lesson(
    lesson: Lesson,
    folder: str | PathLike[str],
    *,
    paper: str | None = None,
    replace: bool = False,
    progress: Progress = silent,
) -> Written:
    """Write a lesson folder: tab, score, pictures, steps, hand-out, play-alongs, page and data; all appear or none.

    Parameters
    ----------
    paper : of the hand-out, "a4" or "letter"; the lesson's own for None.
    replace : whether the lesson is made anew in a folder that holds one; what was edited by hand is kept.

    Raises
    ------
    ReedpathError
        When something of it cannot be made, or the folder cannot be written.
    """
    paper = paper or lesson.paper
    _check_paper(paper)
    on_paper = replace_fields(lesson, paper=paper)
    return make_in_folder(lambda _: on_paper, Path(folder), replace=replace, progress=progress).written


def make_lesson_folder(
    read: ReadPhrase,
    request: RouteRequest,
    wishes: LessonWishes,
    out: Path,
    *,
    replace: bool = False,
    progress: Progress = silent,
) -> MadeLesson:
    """Make the lesson of a phrase in a folder, which appears only when everything is in it.

    Raises
    ------
    ReedpathError
        When the phrase cannot be arranged, a wish cannot be had, or the folder cannot be written.
    """
    wishes.check()

    def made(progress: Progress) -> Lesson:
        progress(ProgressStep("arranging", 0, 1))
        return lesson_from(read, request, wishes)

    return make_in_folder(made, out, replace=replace, progress=progress)
