"""What every bound of a type says when it does not hold, tables of one kind, rounded numbers, the schema of it."""

from __future__ import annotations

from enum import Enum
from typing import Annotated, Any, Literal

import pytest
from msgspec import Meta, Struct

from reedpath.data import from_plain, from_tables, read_json, read_tables, read_toml, round_floats
from reedpath.errors import Place, ReadError, ReedpathError, SettingsError, TuningError
from support.json_schemas import json_schema


class Colour(Enum):
    RED = "red"
    BLUE = "blue"


class Thing(Struct, frozen=True, forbid_unknown_fields=True):
    """A thing.

    size, ratio : how large,
        and how much so.
    name : what it is called. colour : what it looks like.
    """

    size: Annotated[int, Meta(ge=1, le=9)] = 1
    ratio: Annotated[float, Meta(gt=0, lt=8)] = 1.0
    name: Annotated[str, Meta(min_length=1, pattern="^[a-z]*$")] = "a"
    colour: Colour = Colour.RED
    few: Annotated[tuple[int, ...], Meta(min_length=1, max_length=2)] = (1,)
    even: Annotated[int, Meta(multiple_of=2)] = 2
    colours: dict[Colour, int] = {}
    pair: tuple[int, str] = (1, "x")
    flag: bool = False
    maybe: str | None = None


@pytest.mark.parametrize(
    ("plain", "key", "says"),
    [
        ({"size": 0}, "at_least", "'size': 0 is too low: 1 at least"),
        ({"size": 10}, "at_most", "'size': 10 is too high: 9 at most"),
        ({"ratio": 0}, "over", "'ratio': 0 is too low: over 0"),
        ({"ratio": 8.5}, "under", "'ratio': 8.5 is too high: under 8"),
        ({"name": ""}, "empty", "'name': this is empty"),
        ({"few": []}, "empty", "'few': this is empty"),
        ({"few": [1, 2, 3]}, "too_many", "'few': too many entries: 2 at most"),
        ({"few": [1, "b"]}, "wrong_kind", "'few[1]': \"b\" is not a whole number"),
        ({"even": 3}, "no_multiple", "'even': 3 is not a multiple of 2"),
        ({"colour": "green"}, "no_choice", "'colour': \"green\" is not one of the words known here"),
        ({"colours": {"green": 1}}, "no_choice", "'colours': 'green' is not one of the words known here"),
        ({"pair": [1, "x", 3]}, "wrong_length", "'pair': 3 entries, where there are 2"),
        ({"pair": [1, None]}, "wrong_kind", "'pair[1]': null is not a text"),
        ({"flag": 1}, "wrong_kind", "'flag': 1 is not true or false"),
        ({"maybe": 3}, "wrong_kind", "'maybe': 3 is not a text, null"),
        ({"sise": 3}, "unknown_field", "'sise': there is no such field"),
        ({"name": "A"}, "does_not_hold", "'name': Expected `str` matching regex '^[a-z]*$'"),
        ({"size": {"a": 1}}, "wrong_kind", "'size': {…} is not a whole number"),
        ({"size": {}}, "wrong_kind", "'size': {} is not a whole number"),
        ({"size": [1]}, "wrong_kind", "'size': […] is not a whole number"),
        ({"size": []}, "wrong_kind", "'size': [] is not a whole number"),
        ({"size": False}, "wrong_kind", "'size': false is not a whole number"),
        ({"size": "x" * 200}, "wrong_kind", f"'size': \"{'x' * 59}…\" is not a whole number"),
        (None, "wrong_kind", "null is not an object"),
    ],
)
def test_what_does_not_hold_is_told_by_its_key_place_and_value(plain: Any, key: str, says: str) -> None:
    with pytest.raises(ReadError) as caught:
        from_plain(plain, Thing)
    assert (caught.value.key, str(caught.value)) == (f"data.{key}", says)


def test_every_table_of_a_text_is_a_value_by_its_name() -> None:
    assert read_tables('a = {size = 2}\n[b]\nname = "x"\n', Thing, file="t.toml") == {
        "a": Thing(size=2),
        "b": Thing(name="x"),
    }


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a = 3", "t.toml, 'a': 3 is not an object"),
        ("[a]\nsize = 10", "t.toml, 'a.size': 10 is too high: 9 at most"),
        ("a = [", "t.toml: not TOML: "),
        ("x = " + "[" * 100_000, "t.toml: this is nested too deeply"),
        ("#" * 150_001, "t.toml: 150,001 characters are too many: 150,000 at most"),
    ],
)
def test_a_wrong_table_names_its_file_and_itself(text: str, says: str) -> None:
    for error in (SettingsError, TuningError):
        with pytest.raises(error) as caught:
            read_tables(text, Thing, file="t.toml", error=error)
        assert str(caught.value).startswith(says)
    with pytest.raises(SettingsError):
        read_tables(text, Thing, file="t.toml")


def test_the_longest_text_allowed_is_read() -> None:
    assert read_toml("#" * 150_000, Thing, file="") == Thing()


def test_tables_that_stand_somewhere_say_so() -> None:
    with pytest.raises(TuningError, match=r"^a\.toml, 'signs\.up\.size': 0 is too low"):
        from_tables({"up": {"size": 0}}, Thing, error=TuningError, where=Place(file="a.toml", field="signs"))


def test_a_text_of_no_file_names_none() -> None:
    with pytest.raises(SettingsError, match=r"^not TOML"):
        read_toml("a = [", Thing, file="")


def test_json_may_begin_with_a_byte_order_mark_and_nothing_else() -> None:
    assert read_json(b'\xef\xbb\xbf{"size": 3}', Thing) == Thing(size=3)
    for data, says in [
        (b"\xff{}", "f: not JSON"),
        (b"", "f: not JSON"),
        (b"[" * 100_000, "f: (this is nested too deeply|not JSON)"),
        (b'{"size": 0}', "f, 'size': 0 is too low"),
    ]:
        with pytest.raises(ReedpathError, match=f"^{says}"):
            read_json(data, Thing, file="f")


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ('{\n "size": 3\n "name": "b"\n}', "line 3, column 2"),
        ('{\n "name": "\u00e9\u00e9" "size": 3}\n', "line 2, column 15"),
        ('{\n "size": 3,\n', "line 2, column 12"),
    ],
)
def test_a_slip_in_json_is_told_by_line_and_column(text: str, place: str) -> None:
    for lead in ("", "\ufeff"):
        with pytest.raises(ReadError, match=f"^f, {place}: not JSON: [^(]*$"):
            read_json((lead + text).encode(), Thing, file="f")


class Measured(Struct, frozen=True):
    seconds: float
    cents: tuple[float, ...]
    inner: tuple[Thing, ...] = ()
    name: str = "1.23456"


def test_numbers_are_rounded_as_the_name_of_their_field_asks() -> None:
    decimals = {"seconds": 3, "cents": 1, "ratio": 2}
    measured = Measured(1.23456, (4.55, -0.04), (Thing(size=7, ratio=2.3456),))
    assert round_floats(measured, lambda name: decimals[name]) == Measured(
        1.235, (4.5, -0.0), (Thing(size=7, ratio=2.35),)
    )
    assert round_floats(0.126, lambda name: 2 if name == "" else 0) == 0.13
    assert round_floats((0.126, "x", 3), lambda name: 2 if name == "up" else 0, "up") == (0.13, "x", 3)


class Tagged(Struct, frozen=True, tag_field="kind", tag="tagged"):
    """One of several."""

    thing: Thing
    word: Literal["a", "b"]
    more: tuple[Thing, ...] = ()


def test_the_schema_has_every_bound_and_refers_to_what_is_inside() -> None:
    schema = json_schema(Tagged, title="All of it")
    assert (schema["$schema"], schema["$ref"]) == (
        "https://json-schema.org/draft/2020-12/schema",
        "#/$defs/Tagged",
    )
    tagged, thing = schema["$defs"]["Tagged"], schema["$defs"]["Thing"]
    assert tagged["required"] == ["kind", "thing", "word"]
    assert tagged["additionalProperties"] is False
    assert tagged["properties"]["kind"] == {"const": "tagged"}
    assert tagged["properties"]["thing"] == {"$ref": "#/$defs/Thing"}
    assert tagged["properties"]["more"] == {"type": "array", "items": {"$ref": "#/$defs/Thing"}, "default": []}
    assert (thing["title"], thing["type"], thing["description"]) == ("Thing", "object", "A thing.")
    fields = thing["properties"]
    assert thing["required"] == []
    assert fields["size"] == {
        "type": "integer", "minimum": 1, "maximum": 9, "description": "how large, and how much so.", "default": 1,
    }  # fmt: skip
    assert (fields["ratio"]["exclusiveMinimum"], fields["ratio"]["exclusiveMaximum"]) == (0, 8)
    assert fields["ratio"]["description"] == "how large, and how much so."
    assert (fields["name"]["minLength"], fields["name"]["pattern"]) == (1, "^[a-z]*$")
    assert fields["name"]["description"] == "what it is called."
    assert fields["colour"] == {"enum": ["red", "blue"], "description": "what it looks like.", "default": "red"}
    assert (fields["few"]["minItems"], fields["few"]["maxItems"]) == (1, 2)
    assert fields["pair"] == {
        "type": "array", "prefixItems": [{"type": "integer"}, {"type": "string"}], "minItems": 2, "maxItems": 2,
        "default": [1, "x"],
    }  # fmt: skip
    assert fields["flag"]["type"] == "boolean"
    assert fields["maybe"]["anyOf"] == [{"type": "string"}, {"type": "null"}]


class Loop(Struct, frozen=True):
    """A thing that holds its like."""

    inner: tuple[Loop, ...] = ()


class WithMore(Struct, frozen=True):
    """What is written of a thing that holds its like."""

    inner: tuple[Loop, ...] = ()
    depth: int = 0


def test_a_schema_may_hold_itself_and_say_what_is_written_of_a_kind() -> None:
    plain = json_schema(Loop, title="loop")["$defs"]["Loop"]
    assert plain["properties"]["inner"]["items"] == {"$ref": "#/$defs/Loop"}
    assert "depth" not in plain["properties"]
    written = json_schema(Loop, title="loop", written={Loop: WithMore})["$defs"]["Loop"]
    assert written["properties"]["depth"] == {"type": "integer", "default": 0}
    assert written["description"] == "What is written of a thing that holds its like."


def test_a_type_without_a_schema_is_told() -> None:
    class Anything(Struct):
        what: Any = None

    with pytest.raises(NotImplementedError, match="no schema stands for"):
        json_schema(Anything, title="x")
