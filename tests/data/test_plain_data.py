"""Plain data to values and back: every error names the field and the value, in words of our own."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Literal

import pytest
from msgspec import Meta, Struct

from reedpath.data import (
    as_plain,
    encode_json,
    extended,
    from_plain,
    plain_of_version,
    read_json,
    read_toml,
    replace,
    replace_inside,
)
from reedpath.errors import PhraseError, Place, ReadError, SettingsError
from support.json_schemas import json_schema


class Inner(Struct, frozen=True, rename={"beats": "length_beats"}):
    """What stands inside.

    beats : its length.
    share : of the whole. word : one of two.
    """

    beats: Fraction
    share: Annotated[float, Meta(ge=0, lt=1)] = 0.0
    word: Literal["high", "low"] = "low"

    def __post_init__(self) -> None:
        if self.beats < 0:
            raise PhraseError("readers.empty", where=Place(bar=3))


@dataclass(frozen=True, slots=True)
class Beside:
    number: Annotated[int, Meta(ge=1)]


class Outer(Struct, frozen=True, forbid_unknown_fields=True):
    inner: tuple[Inner, ...]
    beside: Beside
    pair: tuple[int, str] = (1, "a")
    words: dict[str, int | None] = {}


GOOD = {"inner": [{"length_beats": "3/2"}], "beside": {"number": 2}}
VALUE = Outer((Inner(Fraction(3, 2)),), Beside(2))


def test_there_and_back() -> None:
    plain = as_plain(VALUE)
    assert plain["inner"] == [{"length_beats": "3/2", "share": 0.0, "word": "low"}]
    assert from_plain(plain, Outer) == from_plain(GOOD, Outer) == VALUE
    assert read_json(encode_json(VALUE), Outer) == VALUE


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        (("inner", 0, "length_beats"), "one", "'inner[0].length_beats': \"one\" is not a fraction such as '3/2'"),
        (("inner", 0, "length_beats"), "1/0", "'inner[0].length_beats': \"1/0\" is not a fraction such as '3/2'"),
        (("inner", 0, "length_beats"), "٣", "'inner[0].length_beats': \"٣\" is not a fraction such as '3/2'"),
        (
            ("inner", 0, "length_beats"),
            "9" * 19,
            f"'inner[0].length_beats': \"{'9' * 19}\" is not a fraction such as '3/2'",
        ),
        (("inner", 0, "length_beats"), "-1", "bar 3, 'inner[0]': the source is empty"),
        (("inner", 0, "share"), -1, "'inner[0].share': -1 is too low: 0 at least"),
        (("inner", 0, "share"), 1, "'inner[0].share': 1 is too high: under 1"),
        (("inner", 0, "word"), "mid", "'inner[0].word': \"mid\" is not one of the words known here"),
        (("inner", 0), {}, "'inner[0].length_beats': this is missing"),
        (("inner",), {}, "'inner': {} is not a list"),
        (("beside", "number"), 1.5, "'beside.number': 1.5 is not a whole number"),
        (("beside", "number"), True, "'beside.number': true is not a whole number"),
        (("beside", "number"), -(10**12), "'beside.number': -1,000,000,000,000 is too low: 1 at least"),
        (("pair",), [1], "'pair': 1 entries, where there are 2"),
        (("words",), {"a": "b"}, "'words[...]': this is not a whole number, null"),
        (("other",), 1, "'other': there is no such field"),
    ],
)
def test_what_does_not_hold_is_named(path: tuple[str | int, ...], value: Any, says: str) -> None:
    plain = as_plain(VALUE)
    at = plain
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    with pytest.raises(ReadError) as caught:
        from_plain(plain, Outer)
    assert str(caught.value) == says


def test_the_error_is_of_the_kind_asked_for_and_names_the_file() -> None:
    with pytest.raises(SettingsError, match=r"^mine\.toml, 'beside\.number': 0 is too low: 1 at least"):
        read_toml("inner = []\nbeside.number = 0", Outer, file="mine.toml")
    with pytest.raises(SettingsError, match=r"^mine\.toml: not TOML"):
        read_toml("inner = [", Outer, file="mine.toml")
    with pytest.raises(ReadError, match=r"^a\.json: not JSON"):
        read_json(b"{", Outer, file="a.json")


def test_only_files_of_known_versions_are_read() -> None:
    def read(text: str) -> Any:
        return plain_of_version(text.encode(), schema="ours", version=3, older={2: lambda plain: plain | {"new": 1}})

    assert read('{"schema": "ours", "version": 3}') == {"schema": "ours", "version": 3}
    assert read('{"schema": "ours", "version": 2}')["new"] == 1
    for text, says in [
        ('{"schema": "theirs", "version": 3}', "'schema': this is 'theirs', not 'ours'"),
        ('{"schema": "ours", "version": 4}', "'version': this file is of version 4, written by a newer reedpath"),
        ('{"schema": "ours", "version": 1}', "'version': there is no version 1"),
        ('{"schema": "ours"}', "'version': this is missing"),
        ("[]", r"\[\] is not an object"),
        ('{"schema": "ours", "version": 3, "a": "\\ud800"}', "not JSON"),
        ('{"a": ' + "[" * 100_000, "this is nested too deeply|not JSON"),
    ]:
        with pytest.raises(ReadError, match=f"^({says})"):
            read(text)


def test_copies() -> None:
    assert replace(VALUE, pair=(2, "b")).pair == (2, "b")
    assert replace(Beside(1), number=4) == Beside(4)

    class Longer(Inner, frozen=True):
        more: str = ""

    longer = extended(VALUE.inner[0], Longer, more="x")
    assert (longer.beats, longer.more) == (Fraction(3, 2), "x")
    changed = replace_inside(VALUE, {Inner: lambda one: replace(one, word="high"), Beside: lambda _: Beside(9)})
    assert changed == Outer((Inner(Fraction(3, 2), 0.0, "high"),), Beside(9))
    assert replace_inside(VALUE, {}) == VALUE


def test_the_schema_says_names_bounds_defaults_and_what_docstrings_say() -> None:
    schema = json_schema(Outer, title="An outer thing")
    inner = schema["$defs"]["Inner"]
    assert (schema["title"], inner["description"], inner["required"]) == (
        "An outer thing",
        "What stands inside.",
        ["length_beats"],
    )
    assert inner["properties"]["share"] == {
        "type": "number",
        "minimum": 0,
        "exclusiveMaximum": 1,
        "description": "of the whole.",
        "default": 0.0,
    }
    assert inner["properties"]["word"]["enum"] == ["high", "low"]
    assert schema["$defs"]["Outer"]["properties"]["words"]["additionalProperties"] == {
        "anyOf": [{"type": "integer"}, {"type": "null"}]
    }
