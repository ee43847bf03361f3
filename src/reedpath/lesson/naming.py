"""What a person calls things in a lesson: its parts in each language, who made it and when, a note to the student."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from reedpath.data import replace
from reedpath.errors import SettingsError
from reedpath.lesson.model import Lesson, OwnWords, StepPlace, WordsKind

if TYPE_CHECKING:
    from reedpath.lesson.pieces import LessonOfPieces

# between who made a lesson and when; common practice, no source
BETWEEN = " · "
# where a note to the student stands: before everything
BEFORE_ALL = StepPlace("intro")


def in_language(lesson: Lesson, language: str) -> Lesson:
    """The lesson with its parts called as a person calls them in a language."""
    names = lesson.part_names.get(language)
    if not names:
        return lesson
    parts = (
        replace(part, label=names[part.label], found=False) if part.label in names else part for part in lesson.parts
    )
    return replace(lesson, parts=tuple(parts), part_names={})


def by_line(lesson: Lesson | LessonOfPieces) -> str:
    """Who made a lesson and when; empty where neither is known."""
    return BETWEEN.join(filter(None, (lesson.author.strip(), lesson.date.strip())))


def with_part_names(lesson: Lesson, names: Mapping[str, Mapping[str, str]]) -> Lesson:
    """The lesson with names for its parts, by language and label, beside those it has; an empty one takes one away.

    Raises `SettingsError` for a label that no part has.
    """
    labels = list(dict.fromkeys(part.label for part in lesson.parts))
    named = {language: dict(some) for language, some in lesson.part_names.items()}
    for language, some in names.items():
        for label, name in some.items():
            if label not in labels:
                raise SettingsError("lesson.no_part", label=label, labels=labels)
            named.setdefault(language, {})[label] = name
    kept = {language: {label: name for label, name in some.items() if name} for language, some in named.items()}
    return replace(lesson, part_names={language: some for language, some in kept.items() if some})


def _is_note_before_all(words: OwnWords) -> bool:
    return words.kind is WordsKind.NOTE and words.place == BEFORE_ALL


def with_note(lesson: Lesson, texts: Iterable[tuple[str, str]]) -> Lesson:
    """The lesson with a note to the student, by language, in place of one that it has; an empty one takes it away."""
    own = lesson.own_words
    for language, text in texts:
        own = tuple(words for words in own if not (words.language == language and _is_note_before_all(words)))
        if text.strip():
            own = (OwnWords(language, WordsKind.NOTE, BEFORE_ALL, text.strip()), *own)
    return replace(lesson, own_words=own)
