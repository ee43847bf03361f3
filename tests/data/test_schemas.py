"""The committed JSON Schemas say what the types say."""

from __future__ import annotations

import jsonschema
import pytest

from support.schemas import FOLDER, schema_text, schemas

NAMES = sorted(path.name for path in FOLDER.iterdir())


@pytest.mark.parametrize("name", NAMES)
def test_the_committed_schema_is_that_of_the_types(name: str) -> None:
    """Made with scripts/make_schemas.py."""
    jsonschema.Draft202012Validator.check_schema(schemas()[name])
    assert (FOLDER / name).read_text(encoding="utf-8") == schema_text(schemas()[name])


@pytest.mark.parametrize("name", NAMES)
def test_every_object_and_field_is_described_or_bounded(name: str) -> None:
    for kind, definition in schemas()[name]["$defs"].items():
        assert definition["description"].strip(), kind
        assert definition["properties"], kind


def test_no_other_schema_is_committed() -> None:
    assert set(NAMES) == set(schemas())
