"""A lesson as plain data, in the documented and versioned shape of ``lesson.json`` (docs/lesson.md)."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from msgspec.structs import replace

from reedpath.arrange import Spot, route_as_data
from reedpath.harp import Harp
from reedpath.lesson._data import data_text
from reedpath.lesson.model import Drill, Lesson, LessonPart, Rung, StepBlock
from reedpath.lesson.rounding import rounded
from reedpath.lesson.steps import steps_of
from reedpath.phrase import phrase_as_data
from reedpath.wording import CAUTIONS

__all__ = ["SCHEMA", "VERSION", "lesson_as_data", "lesson_schema"]

# what lesson.json says it is, and the number of its shape, raised when a reader of the old one would misread it
SCHEMA, VERSION = "reedpath/lesson", 1


@cache
def lesson_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of `lesson_as_data`."""
    schema: dict[str, Any] = json.loads(data_text(f"lesson-{VERSION}.schema.json"))
    return schema


def _harp(harp: Harp) -> dict[str, Any]:
    tuning, temperament = harp.tuning, harp.temperament
    return {
        "key": harp.name,
        "key_midi": harp.key_midi,
        "a4_hz": harp.a4_hz,
        "stretch_cents": harp.stretch_cents,
        "tuning": {
            "name": tuning.name,
            "title": tuning.title,
            "blow": list(tuning.blow),
            "draw": list(tuning.draw),
            "source": tuning.source,
        },
        "temperament": {
            "name": temperament.name,
            "title": temperament.title,
            "cents": list(temperament.cents),
            "source": temperament.source,
        },
    }


def _part(part: LessonPart) -> dict[str, Any]:
    return {
        "label": part.label,
        "first_event": part.first,
        "last_event": part.last,
        "same_as": part.same_as,
        "like": part.like,
        "shared_events": part.shared,
        "found": part.found,
    }


def _ladder(ladder: tuple[Rung, ...]) -> list[dict[str, Any]]:
    return [{"name": rung.name, "factor": rung.factor, "bpm": rung.bpm} for rung in ladder]


def _spot(spot: Spot) -> dict[str, Any]:
    return {
        "first_event": spot.first,
        "last_event": spot.last,
        "effort": spot.effort,
        "reasons": list(spot.reasons),
    }


def _drill(drill: Drill) -> dict[str, Any]:
    return {"spot": _spot(drill.spot), "times": drill.times, "ladder": _ladder(drill.ladder)}


def _block(block: StepBlock) -> dict[str, Any]:
    return {
        "title": block.title,
        "parts": list(block.parts),
        "steps": [
            {
                "text": step.text,
                "kind": step.kind.value,
                "first_event": step.first,
                "last_event": step.last,
            }
            for step in block.steps
        ],
    }


def lesson_as_data(lesson: Lesson) -> dict[str, Any]:
    """Everything in a lesson as plain data: exact beats as strings of fractions, points to four decimals.

    The shape is that of `lesson_schema`. ``steps`` holds what the teacher says in each of the lesson's languages;
    it is made from the rest, as the MIDI numbers and cents of the moves are, and not read back.

    Raises
    ------
    ValueError : the route does not play its own phrase, event by event.
    """
    lesson = replace(lesson, route=rounded(lesson.route))
    if tuple(one.event for one in lesson.route.events) != lesson.route.phrase.events:
        raise ValueError("the events of a lesson's route are those of its phrase")
    return {
        "schema": SCHEMA,
        "version": VERSION,
        "title": lesson.title,
        "notation": lesson.notation,
        "languages": list(lesson.languages),
        "harp": _harp(lesson.route.harp),
        "phrase": phrase_as_data(lesson.route.phrase),
        "route": route_as_data(lesson.route),
        "parts": [_part(part) for part in lesson.parts],
        "ladder": _ladder(lesson.ladder),
        "drills": [_drill(drill) for drill in lesson.drills],
        "steps": {language: [_block(block) for block in steps_of(lesson, language)] for language in lesson.languages},
        "cautions": list(CAUTIONS),
    }
