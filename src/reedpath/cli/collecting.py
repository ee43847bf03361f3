"""Many lessons on the terminal: an index over them, and what they ask for."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reedpath.cli.printing import (
    catalogue_for,
    print_data,
    print_errors,
    print_line,
    print_table,
    print_written,
    written_as_data,
)
from reedpath.wording import harp_words

if TYPE_CHECKING:
    from reedpath.jobs import FoundLessons
    from reedpath.lesson import LessonNeeds
    from reedpath.wording import Catalogue


def index_folder(folder: Path, *, language: str | None, replace: bool, json: bool) -> None:
    """Make the index of a folder and say which lessons are in it."""
    from reedpath.jobs import make_lesson_index

    catalogue = catalogue_for(language)
    found, written = make_lesson_index(folder, language=catalogue.name, replace=replace)
    print_errors(found.unread, catalogue)
    if json:
        print_data(written_as_data(folder, written) | {"lessons": [str(one.folder) for one in found.lessons]})
    else:
        print_line(catalogue.say("index.title", count=len(found.lessons)))
        print_written(folder, written, catalogue)


def _titles(found: FoundLessons, places: Sequence[int]) -> list[str]:
    return [found.lessons[place].lesson.title or str(found.lessons[place].folder) for place in places]


def _harp_rows(found: FoundLessons, needs: LessonNeeds, catalogue: Catalogue) -> list[list[str]]:
    return [
        [
            catalogue.sentence(harp_words(one.harp, catalogue, with_tuning=one.harp.tuning.name != "standard"))[:-1],
            str(len(one.lessons)),
            "; ".join(_titles(found, one.lessons)),
        ]
        for one in needs.harps
    ]


def _as_data(found: FoundLessons, needs: LessonNeeds) -> dict[str, Any]:
    def folders(places: Sequence[int]) -> list[str]:
        return [str(found.lessons[place].folder) for place in places]

    return {
        "harps": [
            {"harp": one.harp.name, "tuning": one.harp.tuning.name, "lessons": folders(one.lessons)}
            for one in needs.harps
        ],
        "setup": [
            {
                "harp": one.harp.name,
                "hole": one.hole,
                "alteration": one.alteration.value,
                "lessons": folders(one.lessons),
            }
            for one in needs.overbends
        ],
        "techniques": [
            {"technique": one.technique.value, "lessons": folders(one.lessons)} for one in needs.techniques
        ],
    }


def _show_retunings(found: FoundLessons, reeds: int, catalogue: Catalogue, *, json: bool) -> None:
    from reedpath.cli.retunings import print_retunings, retunings_as_data
    from reedpath.jobs import retunings_for

    retunings = retunings_for([one.lesson for one in found.lessons], reeds=reeds)
    if json:
        print_data(retunings_as_data(retunings))
        return
    lessons = catalogue.say("index.title", count=len(found.lessons))
    print_retunings(retunings, catalogue.say("retuning.lessons", count=reeds, lessons=lessons), catalogue)


def show_needs(folders: Sequence[Path], *, tune_for: int | None, language: str | None, json: bool) -> None:
    """Print what the lessons of folders ask for: harps, set-up and techniques; or which retuning makes them easiest.

    tune_for : how many reeds may be retuned, None for not to ask.
    """
    from reedpath.jobs import find_lessons
    from reedpath.lesson import needs_of

    catalogue = catalogue_for(language)
    found = find_lessons(folders)
    print_errors(found.unread, catalogue)
    if tune_for is not None:
        _show_retunings(found, tune_for, catalogue, json=json)
        return
    needs = needs_of([one.lesson for one in found.lessons])
    if json:
        print_data(_as_data(found, needs))
        return
    print_line(catalogue.say("index.title", count=len(found.lessons)))
    print_line()
    print_line(catalogue.say("needs.harps"))
    print_table(_harp_rows(found, needs, catalogue), right=(1,))
    if needs.techniques:
        print_line()
        print_line(catalogue.say("index.techniques"))
        rows = [
            [
                catalogue.say(f"technique.{one.technique.value}"),
                str(len(one.lessons)),
                "; ".join(_titles(found, one.lessons)),
            ]
            for one in needs.techniques
        ]
        print_table(rows, right=(1,))
    if needs.overbends:
        print_line()
        print_line(catalogue.say("needs.setup"))
        for need in needs.overbends:
            harp = catalogue.sentence(harp_words(need.harp, catalogue)).rstrip(".")
            titles = "; ".join(_titles(found, need.lessons))
            print_line(catalogue.say(f"needs.{need.alteration.value}", harp=harp, hole=need.hole, lessons=titles))
        print_line(catalogue.say("needs.valves"))
        print_line(catalogue.say("caution.reeds"))
