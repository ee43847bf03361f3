"""Values as a short text in which all that is not as usual can be read: what a job was asked for."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from enum import Enum
from pathlib import Path
from typing import Any

import msgspec

from reedpath.arrange import Route
from reedpath.film import FilmCut
from reedpath.jobs import ReadPhrase
from reedpath.jobs.answering import Answered
from reedpath.jobs.many_takes import TakesRun
from reedpath.jobs.take_matching import KnownLesson
from reedpath.lesson import Lesson, LessonOfPieces
from reedpath.phrase import Phrase
from reedpath.wording import Catalogue

_NO = object()


# what is told otherwise than field by field
BRIEFLY: dict[Any, Callable[[Any], str]] = {
    Lesson | LessonOfPieces: lambda one: f"<lesson {one.title}>",
    KnownLesson: lambda one: f"<known lesson {one.title}>",
    TakesRun: lambda one: shown(one.asked),
    Route: lambda one: f"<route of {one.phrase.title}>",
    FilmCut: lambda one: f"<cut of {shown(one.films)}>",
    Answered: lambda one: f"<answer to {shown(one.answer.route)}>",
    ReadPhrase: lambda one: shown(one.phrase),
    Phrase: lambda one: f"<phrase {one.title}, {len(one.events)} events>",
    Catalogue: lambda one: f"<catalogue {one.name}>",
    Enum: lambda one: repr(one.value),
    Path: lambda one: f"<{one.as_posix()}>",
    Mapping: lambda one: "{" + ", ".join(f"{shown(key)}: {shown(value)}" for key, value in one.items()) + "}",
    frozenset | set: lambda one: "{" + ", ".join(sorted(map(shown, one))) + "}",
    tuple | list: lambda one: "(" + ", ".join(map(shown, one)) + ")",
}


def _fields(value: Any) -> list[tuple[str, Any, Any]]:
    """Name, value and default of each field."""
    if isinstance(value, msgspec.Struct):
        names, defaults = value.__struct_fields__, value.__struct_defaults__
        usual = (_NO,) * (len(names) - len(defaults)) + defaults
        return [(name, getattr(value, name), default) for name, default in zip(names, usual, strict=True)]
    found = []
    for each in dataclasses.fields(value):
        default = _NO if each.default is dataclasses.MISSING else each.default
        if each.default_factory is not dataclasses.MISSING:
            default = each.default_factory()
        found.append((each.name, getattr(value, each.name), default))
    return found


def shown(value: Any) -> str:
    """The value in a line; of a lesson, a route or a phrase its title alone."""
    for kind, told in BRIEFLY.items():
        if isinstance(value, kind):
            return told(value)
    if callable(value):
        return "..."
    if not isinstance(value, msgspec.Struct) and not dataclasses.is_dataclass(value):
        return repr(value)
    said = [f"{name}={shown(one)}" for name, one, default in _fields(value) if one != default]
    return f"{type(value).__name__}({', '.join(said)})"
