"""What a person says of a whole lesson: title, who made it and when, a note to the student, names of its parts."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import SettingsError
from reedpath.lesson import Lesson, LessonOfPieces, with_note, with_part_names

# "fr:" before what is said in a language
_LANGUAGE = re.compile(r"(?P<language>[a-z]{2,3}(?:-[A-Za-z]+)?):(?P<said>.*)", re.DOTALL)


class SaidOfLesson(Struct, frozen=True):
    """What is said of a lesson; None for what stays as it is, empty for what is taken away.

    notes : to the student, as typed: "Listen first", "fr:On \u00e9coute d'abord".
    part_names : as typed: "A=The question", "fr:A=La question".
    """

    title: str | None = None
    author: str | None = None
    date: str | None = None
    notes: tuple[str, ...] = ()
    part_names: tuple[str, ...] = ()


def _in_language(text: str, languages: Sequence[str]) -> tuple[str, str]:
    """The language of what was typed, the first where it says none, and what is said in it."""
    match = _LANGUAGE.fullmatch(text)
    if match is not None and match["language"] in languages:
        return match["language"], match["said"].strip()
    return languages[0], text.strip()


def in_languages(texts: Iterable[str], languages: Sequence[str]) -> dict[str, str]:
    """What was typed, by language; empty where it is to be taken away."""
    return dict(_in_language(text, languages) for text in texts)


def _part_names(texts: tuple[str, ...], lesson: Lesson) -> dict[str, dict[str, str]]:
    names: dict[str, dict[str, str]] = {}
    for text in texts:
        language, said = _in_language(text, lesson.languages)
        label, equals, name = (piece.strip() for piece in said.partition("="))
        if not (equals and label):
            raise SettingsError("jobs.no_part_name", text=text)
        names.setdefault(language, {})[label] = name
    return names


def _said_fields(said: SaidOfLesson) -> dict[str, str]:
    return {name: text for name in ("title", "author", "date") if (text := getattr(said, name)) is not None}


def said_of_lesson(lesson: Lesson, said: SaidOfLesson) -> Lesson:
    """The lesson with what is said of it.

    Raises `SettingsError` for the name of a part that says no part, and for a part that is not there.
    """
    lesson = replace(lesson, **_said_fields(said))
    lesson = with_part_names(lesson, _part_names(said.part_names, lesson)) if said.part_names else lesson
    return with_note(lesson, [_in_language(text, lesson.languages) for text in said.notes])


def said_of_pieces(lesson: LessonOfPieces, said: SaidOfLesson) -> LessonOfPieces:
    """The lesson with what is said of the whole; an empty note takes one away."""
    if said.part_names:
        raise SettingsError("jobs.part_names_of_pieces")
    notes = {**lesson.notes, **in_languages(said.notes, lesson.languages)}
    kept = {language: note for language, note in notes.items() if note}
    return replace(lesson, notes=kept, **_said_fields(said))
