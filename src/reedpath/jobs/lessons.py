"""Making a lesson folder: from a phrase to everything a teacher hands out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from os import PathLike
from pathlib import Path
from typing import Any, TypeVar

from msgspec.structs import replace as replace_fields

from reedpath.errors import Place, ReadError, SettingsError
from reedpath.harp import load_notation
from reedpath.jobs.asking import RouteRequest, arranged
from reedpath.jobs.folder_making import PAGE, SOUND_SECONDS, Files, FolderMaking, LadderSound, Making
from reedpath.jobs.folder_plans import LIST
from reedpath.jobs.folders import Written, holds_nothing, writing_into
from reedpath.jobs.kept_sounds import KeptSounds
from reedpath.jobs.lesson_folders import read_taught, whole_above
from reedpath.jobs.lesson_pages import page_before_sounds
from reedpath.jobs.processes import JobPart, PartFunction
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.rung_sounds import sound_rung
from reedpath.jobs.sources import ReadPhrase
from reedpath.jobs.wording_of_lessons import SaidOfLesson, said_of_lesson
from reedpath.lesson import Lesson, LessonOfPieces, encode_lesson, format_steps, make_lesson, taught_route
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
from reedpath.sound import encode_midi, play_along_name, play_along_seconds
from reedpath.wording import Catalogue, catalogue_names, load_catalogue

__all__ = [
    "LessonWishes",
    "MadeLesson",
    "ladder_sounds",
    "lesson_from",
    "made_in_folder",
    "make_in_folder",
    "make_lesson_folder",
    "makings_inside",
    "may_write_lesson",
    "tab_text",
    "write_lesson",
]


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


# a lesson of one phrase or of several pieces
TaughtLesson = TypeVar("TaughtLesson", Lesson, LessonOfPieces)


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


def _makings(lesson: Lesson, catalogue: Catalogue) -> list[Making]:
    """The steps in order, but for the sounds; none needs them, the page takes them in at the end."""
    makes: dict[str, Callable[[Files], Files]] = {
        "tab": lambda made: _tab(lesson),
        "score": lambda made: _score(lesson, catalogue),
        "engraving": lambda made: {"score.svg": engrave_score(made["score.musicxml"]).encode()},
        "pictures": lambda made: _pictures(lesson, catalogue),
        "steps": lambda made: {"steps.md": format_steps(lesson).encode()},
        "sheet": lambda made: _sheet(lesson, catalogue),
        "midi": lambda made: {"phrase.mid": encode_midi(lesson)},
        "page": lambda made: {PAGE: page_before_sounds(lesson)},
        "data": lambda made: _data(lesson),
    }
    return [Making(name, make, len(lesson.route.events)) for name, make in makes.items()]


def makings_inside(lesson: Lesson, folder: str) -> list[Making]:
    """The steps of one piece of several, in a folder of its own: all but what stands once for the whole."""

    def inside(make: Callable[[Files], Files]) -> Callable[[Files], Files]:
        def made_inside(made: Files) -> Files:
            own = {name.removeprefix(f"{folder}/"): data for name, data in made.items()}
            return {f"{folder}/{name}": data for name, data in make(own).items()}

        return made_inside

    makings = _makings(lesson, load_catalogue(lesson.languages[0]))
    return [
        Making(one.name, inside(one.make), one.events)
        for one in makings
        if one.name not in ("steps", "sheet", "page")
    ]


def ladder_sounds(lesson: Lesson, sounder: PartFunction, first: tuple[Any, ...], folder: Path) -> list[LadderSound]:
    """The sounds of a lesson's ladder.

    sounder : called with what is common to all sounds, with what comes ``first``, and the rung.
    """
    return [
        LadderSound(
            JobPart(
                sounder,
                (*first, rung),
                folder / play_along_name(rung),
                SOUND_SECONDS * play_along_seconds(lesson, rung),
            ),
            lesson,
            rung,
        )
        for rung in lesson.ladder
    ]


def may_write_lesson(folder: Path, *, replace: bool) -> None:
    """A SettingsError for a folder that holds something, unless it is a lesson that may be made anew."""
    if holds_nothing(folder):
        return
    where = Place(file=str(folder))
    above = whole_above(folder)
    if above is not None:
        raise SettingsError("jobs.piece_of_a_lesson", where=where, folder=str(above))
    if not replace:
        raise SettingsError("jobs.folder_not_empty", where=where)
    if not (folder / LIST).is_file():
        try:
            read_taught(folder)
        except ReadError as error:
            raise SettingsError("jobs.folder_without_lesson", where=where) from error


def made_in_folder(
    lesson_of: Callable[[Progress], TaughtLesson],
    making_of: Callable[[TaughtLesson, Path], FolderMaking],
    out: Path,
    *,
    replace: bool,
    progress: Progress,
    taken_in: Mapping[str, str] | None = None,
) -> tuple[TaughtLesson, Written]:
    """A lesson, of one phrase or of several pieces, and the folder that everything of it was made in.

    A sound that lies there already, and is what would be made, is kept (`kept_sounds`).

    lesson_of : the lesson itself, asked for once it is sure that the folder may be written.
    making_of : how everything of it is made in a folder that is not in its place yet.
    taken_in : SHA-256 of files edited by hand that the lesson has taken everything from, known once it is made.
    """
    may_write = partial(may_write_lesson, replace=replace)
    with writing_into(out, command="lesson", anew=True, may_write=may_write, taken_in=taken_in) as writing:
        lesson = lesson_of(progress)
        making = making_of(lesson, writing.files)
        names = making.names(KeptSounds(out))
        writing.sounds = making.sounds_in
    return lesson, replace_fields(writing.written, files=names)


def make_in_folder(
    lesson_of: Callable[[Progress], Lesson],
    out: Path,
    *,
    replace: bool,
    progress: Progress,
    taken_in: Mapping[str, str] | None = None,
) -> MadeLesson:
    """Make everything of a lesson in a folder, as `made_in_folder`."""

    def making(lesson: Lesson, folder: Path) -> FolderMaking:
        makings = _makings(lesson, load_catalogue(lesson.languages[0]))
        return FolderMaking(lesson, makings, ladder_sounds(lesson, sound_rung, (), folder), folder, progress)

    return MadeLesson(*made_in_folder(lesson_of, making, out, replace=replace, progress=progress, taken_in=taken_in))


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
