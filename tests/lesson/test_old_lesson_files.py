"""Lesson files of before things left out had kinds are read still, and say the same in any language."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest

from reedpath.errors import ReadError
from reedpath.lesson import lesson_as_data, lesson_from_data, lesson_schema, make_lesson
from reedpath.phrase import LeftOut
from support.built_routes import built_route

OLD = [
    {"what": "voice low", "place": "", "count": 3},
    {"what": "hammer-ons (played as plain notes)", "place": "bar 2", "count": 1},
    {"what": "part track 1, channel 8", "place": "", "count": 20},
    {"what": "jiggle", "place": "line 8, column 3", "count": 2},
]


def lesson_data(left_out: list[dict[str, Any]]) -> dict[str, Any]:
    data = json.loads(json.dumps(lesson_as_data(make_lesson(built_route("2d 3d' 4b")))))
    data["phrase"]["left_out"] = left_out
    return data


def test_a_file_without_kinds_is_read_and_its_texts_find_theirs() -> None:
    data = lesson_data(OLD)
    jsonschema.Draft202012Validator(lesson_schema()).validate(data)
    assert lesson_from_data(data).route.phrase.left_out == (
        LeftOut("voice", "", 3, (("name", "low"),)),
        LeftOut("hammer-ons", "bar 2"),
        LeftOut("channel", "", 20, (("channel", "8"), ("track", "1"))),
        LeftOut("unlisted", "line 8, column 3", 2, (("what", "jiggle"),)),
    )


def test_its_texts_are_written_back_as_they_were() -> None:
    written = lesson_as_data(lesson_from_data(lesson_data(OLD)))["phrase"]["left_out"]
    assert [{name: one[name] for name in ("what", "place", "count")} for one in written] == OLD
    jsonschema.Draft202012Validator(lesson_schema()).validate(lesson_data(written))


def test_a_kind_of_a_later_version_keeps_its_text() -> None:
    later = {"kind": "confetti", "values": {"colour": "red"}, "what": "red confetti", "place": "bar 1", "count": 1}
    (one,) = lesson_from_data(lesson_data([later])).route.phrase.left_out
    assert (one.kind, one.what) == ("unlisted", "red confetti")


@pytest.mark.parametrize("values", [{}, {"name": 3}, [], None])
def test_a_kind_without_its_values_is_refused_by_its_place(values: object) -> None:
    wrong = {"kind": "voice", "values": values, "what": "voice low", "place": "", "count": 1}
    with pytest.raises(ReadError, match=r"left_out\[0\]\.values"):
        lesson_from_data(lesson_data([wrong]))
