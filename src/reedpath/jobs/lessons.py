"""A lesson: from a phrase to its data, and how everything is made of it that a teacher hands out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from msgspec.structs import replace as replace_fields

from reedpath.errors import SettingsError
from reedpath.harp import load_notation
from reedpath.jobs.arranging import RouteRequest, arranged
from reedpath.jobs.folder_making import PAGE, SOUND_SECONDS, Files, FolderMaking, LadderSound, Making
from reedpath.jobs.lesson_pages import page_before_sounds
from reedpath.jobs.processes import JobPart, PartFunction
from reedpath.jobs.progress import Progress
from reedpath.jobs.rung_sounds import sound_rung
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
from reedpath.phrase import metre_at
from reedpath.sound import encode_midi, play_along_name, play_along_seconds
from reedpath.wording import Catalogue, catalogue_names, load_catalogue


def check_paper(name: str) -> None:
    """Raise SettingsError for a paper that there is none of."""
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
        check_paper(self.paper)


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


def _pictures(lesson: Lesson, catalogue: Catalogue) -> Files:
    chart = format_route_chart_svg(lesson.route, catalogue=catalogue)
    ribbon = format_ribbon_svg(
        taught_route(lesson), parts=parts_in_beats(lesson, catalogue.name), catalogue=catalogue
    )
    return {"chart.svg": chart.encode(), "ribbon.svg": ribbon.encode()}


def _makings(lesson: Lesson, catalogue: Catalogue) -> list[Making]:
    """The steps in order, but for the sounds; none needs them, the page takes them in at the end."""
    makes: dict[str, Callable[[Files], Files]] = {
        "tab": lambda made: {"tab.txt": tab_text(lesson).encode()},
        "score": lambda made: {"score.musicxml": encode_musicxml(lesson, catalogue=catalogue)},
        "engraving": lambda made: {"score.svg": engrave_score(made["score.musicxml"]).encode()},
        "pictures": lambda made: _pictures(lesson, catalogue),
        "steps": lambda made: {"steps.md": format_steps(lesson).encode()},
        "sheet": lambda made: {"sheet.pdf": encode_handout(lesson, catalogue=catalogue, paper=lesson.paper)},
        "midi": lambda made: {"phrase.mid": encode_midi(lesson)},
        "page": lambda made: {PAGE: page_before_sounds(lesson)},
        "data": lambda made: {"lesson.json": encode_lesson(lesson)},
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
    metre = metre_at(lesson.route.phrase, lesson.route.phrase.pickup)
    return [
        LadderSound(
            JobPart(
                sounder,
                (*first, rung),
                folder / play_along_name(rung, metre=metre),
                SOUND_SECONDS * play_along_seconds(lesson, rung),
            ),
            lesson,
            rung,
        )
        for rung in lesson.ladder
    ]


def making_of_lesson(lesson: Lesson, folder: Path, progress: Progress) -> FolderMaking:
    """How everything of a lesson is made in a folder."""
    makings = _makings(lesson, load_catalogue(lesson.languages[0]))
    return FolderMaking(lesson, makings, ladder_sounds(lesson, sound_rung, (), folder), folder, progress)
