"""Making a lesson folder: from a phrase to everything a teacher hands out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import accumulate
from os import PathLike
from pathlib import Path
from typing import TypeAlias

from msgspec.structs import replace as replace_fields

from reedpath.errors import Place, ReadError, SettingsError
from reedpath.harp import load_notation
from reedpath.jobs.asking import RouteRequest, best_route
from reedpath.jobs.folders import LIST, Written, holds_nothing, writing_into
from reedpath.jobs.lesson_pages import lesson_page, page_sound
from reedpath.jobs.practising import read_lesson
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.sources import ReadPhrase
from reedpath.lesson import Lesson, Rung, encode_lesson, format_steps, make_lesson, taught_route
from reedpath.page import (
    PageSound,
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
from reedpath.signal import encode_wav
from reedpath.sound import encode_midi, play_along, play_along_name
from reedpath.wording import Catalogue, catalogue_names, load_catalogue

__all__ = ["LessonWishes", "MadeLesson", "lesson_from", "make_lesson_folder", "write_lesson"]

# how long each step lasts, in parts of a hundred, all sounds together; measured with a tune of 80 bars of eighths
TIMES = {
    "tab": 1.0, "score": 2.0, "engraving": 1.0, "pictures": 2.0, "steps": 1.0, "sheet": 11.0, "midi": 1.0,
    "sound": 74.0, "page": 6.0, "data": 1.0,
}  # fmt: skip
# bits a sample; what every player of sound files takes
WAV_BITS = 16

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
    """

    title: str = ""
    notation: str = "sign"
    languages: tuple[str, ...] = ("en", "fr")
    paper: str = "a4"

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
    route = best_route(read.phrase, request, read.typed)
    return make_lesson(route, title=wishes.title, notation=wishes.notation, languages=wishes.languages)


def _tab(lesson: Lesson, catalogue: Catalogue) -> Files:
    left_out = format_left_out(lesson, catalogue=catalogue)
    return {"tab.txt": (format_tab(lesson, catalogue=catalogue) + left_out).encode()}


def _pictures(lesson: Lesson, catalogue: Catalogue) -> Files:
    chart = format_route_chart_svg(lesson.route, catalogue=catalogue)
    ribbon = format_ribbon_svg(taught_route(lesson), parts=parts_in_beats(lesson), catalogue=catalogue)
    return {"chart.svg": chart.encode(), "ribbon.svg": ribbon.encode()}


def _score(lesson: Lesson, catalogue: Catalogue) -> Files:
    return {"score.musicxml": encode_musicxml(lesson, catalogue=catalogue)}


def _play_along(lesson: Lesson, rung: Rung, page_sounds: list[PageSound]) -> Files:
    samples = play_along(lesson, rung)
    page_sounds.append(page_sound(lesson, rung, samples))
    return {play_along_name(rung): encode_wav(samples, bits=WAV_BITS)}


def _data(lesson: Lesson) -> Files:
    return {"lesson.json": encode_lesson(lesson)}


@dataclass(frozen=True, slots=True)
class _Making:
    """A step of the making: its name in the catalogues, what it is about, and what makes its files."""

    name: str
    make: Callable[[Files], Files]
    detail: str = ""


def _sheet(lesson: Lesson, catalogue: Catalogue, paper: str) -> Files:
    return {"sheet.pdf": encode_handout(lesson, catalogue=catalogue, paper=paper)}


def _makings(lesson: Lesson, catalogue: Catalogue, paper: str) -> Iterator[_Making]:
    """The steps in order; each is handed the files of the score."""
    yield _Making("tab", lambda made: _tab(lesson, catalogue))
    yield _Making("score", lambda made: _score(lesson, catalogue))
    yield _Making("engraving", lambda made: {"score.svg": engrave_score(made["score.musicxml"]).encode()})
    yield _Making("pictures", lambda made: _pictures(lesson, catalogue))
    yield _Making("steps", lambda made: {"steps.md": format_steps(lesson).encode()})
    yield _Making("sheet", lambda made: _sheet(lesson, catalogue, paper))
    yield _Making("midi", lambda made: {"phrase.mid": encode_midi(lesson)})
    page_sounds: list[PageSound] = []
    for rung in lesson.ladder:
        sounding = partial(lambda made, rung: _play_along(lesson, rung, page_sounds), rung=rung)
        yield _Making("sound", sounding, f"{rung.bpm:g}")
    yield _Making("page", lambda made: {"lesson.html": lesson_page(lesson, sounds=page_sounds)})
    yield _Making("data", lambda made: _data(lesson))


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


def _shares(makings: Sequence[_Making]) -> list[float]:
    """The share of the whole making's time that lies before each step, about."""
    rungs = sum(making.name == "sound" for making in makings)
    times = [TIMES[making.name] / (rungs if making.name == "sound" else 1) for making in makings]
    return [before / sum(times) for before in accumulate(times[:-1], initial=0.0)]


def _make_all(lesson: Lesson, paper: str, folder: Path, progress: Progress) -> tuple[str, ...]:
    """Make and write everything, step by step; the names of the files."""
    makings = list(_makings(lesson, load_catalogue(lesson.languages[0]), paper))
    shares = _shares(makings)
    names: list[str] = []
    score: Files = {}
    for done, (making, share) in enumerate(zip(makings, shares, strict=True)):
        progress(ProgressStep(making.name, done, len(makings), making.detail, share))
        for name, data in making.make(score).items():
            names.append(name)
            (folder / name).write_bytes(data)
            if making.name == "score":
                score[name] = data
    return tuple(names)


def _make_in_folder(
    lesson_of: Callable[[Progress], Lesson], out: Path, paper: str, *, replace: bool, progress: Progress
) -> MadeLesson:
    """Make everything of a lesson in a folder; the lesson itself once it is sure that the folder may be written."""
    with writing_into(out, command="lesson", anew=True, may_write=partial(_may_write, replace=replace)) as writing:
        lesson = lesson_of(progress)
        names = _make_all(lesson, paper, writing.files, progress)
    return MadeLesson(lesson, replace_fields(writing.written, files=names))


def write_lesson(
    lesson: Lesson,
    folder: str | PathLike[str],
    *,
    paper: str = "a4",
    replace: bool = False,
    progress: Progress = silent,
) -> Written:
    """Write a lesson folder: tab, score, pictures, steps, hand-out, play-alongs, page and data; all appear or none.

    Parameters
    ----------
    paper : of the hand-out, "a4" or "letter".
    replace : whether the lesson is made anew in a folder that holds one; what was edited by hand is kept.

    Raises
    ------
    ReedpathError
        When something of it cannot be made, or the folder cannot be written.
    """
    _check_paper(paper)
    return _make_in_folder(lambda _: lesson, Path(folder), paper, replace=replace, progress=progress).written


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

    return _make_in_folder(made, out, wishes.paper, replace=replace, progress=progress)
