"""The JSON Schemas of docs/schema, made from the types that say the shapes of our files."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from reedpath.data import json_schema
from reedpath.lesson import LESSON_AS_WRITTEN, LessonFile
from reedpath.phrase import PhraseFile

FOLDER = Path(__file__).parents[2] / "docs" / "schema"


def schemas() -> dict[str, dict[str, Any]]:
    """The schema of each kind of file, by the name of the schema's own file."""
    return {
        "lesson-2.schema.json": json_schema(LessonFile, title="Lesson, version 2", written=LESSON_AS_WRITTEN),
        "phrase-2.schema.json": json_schema(PhraseFile, title="Phrase, version 2"),
    }


def schema_text(schema: dict[str, Any]) -> str:
    """A schema as it stands in its file."""
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
