"""The JSON Schemas of docs/schema, made from the types that say the shapes of our files."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from reedpath.jobs import AnsweredFile, AnswerOfPiecesFile
from reedpath.jobs.take_records import TakeRecord
from reedpath.lesson import LESSON_AS_WRITTEN, LessonFile, LessonOfPiecesFile
from reedpath.listen import ANSWER_AS_WRITTEN, PlayThroughsFile
from reedpath.page.takes import TakesOverview
from reedpath.phrase import PhraseFile
from reedpath.shelf.zip_shapes import shelf_file_as_written
from support.json_schemas import json_schema

FOLDER = Path(__file__).parents[2] / "docs" / "schema"


@cache
def schemas() -> dict[str, dict[str, Any]]:
    """The schema of each kind of file, by the name of the schema's own file."""
    as_written = LESSON_AS_WRITTEN | ANSWER_AS_WRITTEN
    return {
        "answer-2.schema.json": json_schema(AnsweredFile, title="Answer to a take, version 2", written=as_written),
        "answer-of-pieces-1.schema.json": json_schema(
            AnswerOfPiecesFile, title="Answer to a take of several pieces, version 1", written=as_written
        ),
        "answered-take-1.schema.json": json_schema(TakeRecord, title="Record of an answered take, version 1"),
        "lesson-2.schema.json": json_schema(LessonFile, title="Lesson, version 2", written=LESSON_AS_WRITTEN),
        "lesson-of-pieces-1.schema.json": json_schema(
            LessonOfPiecesFile, title="Lesson of several pieces, version 1"
        ),
        "phrase-2.schema.json": json_schema(PhraseFile, title="Phrase, version 2"),
        "play-throughs-2.schema.json": json_schema(PlayThroughsFile, title="Play-throughs of a take, version 2"),
        "shelf-1.schema.json": json_schema(shelf_file_as_written(), title="List of a shelf's zip, version 1"),
        "takes-overview-1.schema.json": json_schema(TakesOverview, title="Overview of many takes, version 1"),
    }


# how deep a schema's objects are written one entry a line: its definitions, their words and their fields
_DEEP = 4


def _entries(value: Any, depth: int) -> str:
    if depth == _DEEP or not isinstance(value, dict):
        return json.dumps(value, ensure_ascii=False)
    entries = (f"{' ' * (depth + 1)}{json.dumps(name)}: {_entries(one, depth + 1)}" for name, one in value.items())
    return "{\n" + ",\n".join(entries) + "\n" + " " * depth + "}"


def schema_text(schema: dict[str, Any]) -> str:
    """A schema as it stands in its file, one field a line."""
    return _entries(schema, 0) + "\n"
