"""Making a lesson from a route."""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.arrange import Route, rounded
from reedpath.data import replace
from reedpath.errors import SettingsError, clean_text
from reedpath.harp import load_notation
from reedpath.lesson.choices import kept_choices
from reedpath.lesson.drills import drills_of
from reedpath.lesson.ladder import ladder_of
from reedpath.lesson.model import Lesson
from reedpath.lesson.parts import parts_again, parts_of
from reedpath.wording import Catalogue, key_words, load_catalogue


def _made_title(route: Route, catalogue: Catalogue) -> str:
    """A title without the harp, which is named beside every title."""
    if route.phrase.key is None:
        return catalogue.say("intro.untitled_no_key")
    return catalogue.say("intro.untitled", key=key_words(route.phrase.key, catalogue))


def make_lesson(
    route: Route, *, title: str = "", notation: str = "sign", languages: Sequence[str] = ("en", "fr")
) -> Lesson:
    """The lesson of a route: its parts, tempos and drills.

    route : as the search gives it; its numbers are rounded to what the lesson's data keep.
    title : the phrase's own where empty, else one made from the key in the first language.
    notation : name of a shipped tab notation.
    languages : short names of shipped catalogues, at least one, in the order wanted.

    Raises `SettingsError`: no such language or notation.
    """
    if not languages:
        raise SettingsError("lesson.no_language")
    catalogues = [load_catalogue(name) for name in dict.fromkeys(languages)]
    load_notation(notation)
    route = rounded(route)
    parts = parts_of(route)
    return Lesson(
        title=clean_text(title).strip() or route.phrase.title.strip() or _made_title(route, catalogues[0]),
        route=route,
        parts=parts,
        ladder=ladder_of(route),
        drills=drills_of(route, parts),
        notation=notation,
        languages=tuple(catalogue.name for catalogue in catalogues),
    )


def remade_lesson(lesson: Lesson, route: Route) -> Lesson:
    """A lesson with another route of its phrase: its parts begin where they did, what follows from moves is new, and
    tempos and drills that a person chose stay.
    """
    route = rounded(route)
    parts = parts_again(route, lesson.parts)
    ladder, drills = kept_choices(lesson, route, parts)
    return replace(lesson, route=route, parts=parts, ladder=ladder, drills=drills)
