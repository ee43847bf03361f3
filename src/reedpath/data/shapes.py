"""Values by the shape of their types."""

from __future__ import annotations

import dataclasses
import re
import tomllib
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from reedpath.data.numbers import NO_FRACTION
from reedpath.errors import Place, ReadError, ReedpathError, SettingsError

T = TypeVar("T")
# longest TOML file that is read, characters: a catalogue of messages has 60,000, a tuning 500
LONGEST_TOML = 150_000

# digits of each number of a fraction: enough for any note value, few enough for exact sums to stay fast; ours
FRACTION = re.compile(r"-?\d{1,18}(/[1-9]\d{0,17})?", re.ASCII)
# what may stand before UTF-8 text
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


def replace(value: T, /, **changes: Any) -> T:
    """A copy of a Struct or a dataclass with some fields changed: ``copy.replace`` of Python 3.13."""
    if isinstance(value, msgspec.Struct):
        return msgspec.structs.replace(value, **changes)
    return dataclasses.replace(value, **changes)  # type: ignore[type-var]


def replace_inside(value: Any, makers: Mapping[type, Callable[[Any], Any]]) -> Any:
    """The value with everything of certain types inside it made anew: Structs and tuples are looked into."""
    if isinstance(value, tuple):
        return tuple(replace_inside(one, makers) for one in value)
    if isinstance(value, msgspec.Struct):
        fields = ((name, getattr(value, name)) for name in value.__struct_fields__)
        changes = {name: new for name, one in fields if one and (new := replace_inside(one, makers)) is not one}
        value = msgspec.structs.replace(value, **changes) if changes else value
    make = makers.get(type(value))
    return make(value) if make else value


def round_floats(value: Any, decimals: Callable[[str], int], name: str = "") -> Any:
    """The value with each number inside it rounded to as many decimals as the name of its field asks for."""
    if isinstance(value, float):
        return round(float(value), decimals(name))
    if isinstance(value, tuple):
        return tuple(round_floats(one, decimals, name) for one in value)
    if isinstance(value, msgspec.Struct):
        fields = value.__struct_fields__
        changes = {field: round_floats(getattr(value, field), decimals, field) for field in fields}
        return msgspec.structs.replace(value, **changes)
    return value


def extended(value: Any, kind: type[T], **more: Any) -> T:
    """A value of a kind that has all fields of the value and some more."""
    names = getattr(value, "__struct_fields__", None) or value.__dataclass_fields__
    return kind(**{name: getattr(value, name) for name in names}, **more)


def _plain(value: Any) -> Any:
    if isinstance(value, Fraction):
        return str(value)
    raise NotImplementedError(f"no plain data stand for {type(value).__name__}")


def _value(kind: type, plain: Any) -> Any:
    if kind is Fraction and isinstance(plain, str) and FRACTION.fullmatch(plain):
        return Fraction(plain)
    raise ValueError(NO_FRACTION)


def as_plain(value: Any) -> Any:
    """The value as dictionaries, lists, texts, numbers, truth values and None; a fraction is a text such as "3/2"."""
    return msgspec.json.decode(msgspec.json.encode(value, enc_hook=_plain))


def encode_json(value: Any, *, indent: int = 1) -> bytes:
    """The value as JSON text in UTF-8, one line for each entry."""
    return msgspec.json.format(msgspec.json.encode(value, enc_hook=_plain), indent=indent) + b"\n"


def from_plain(
    plain: Any,
    kind: type[T],
    *,
    error: type[ReedpathError] = ReadError,
    where: Place = Place(),  # noqa: B008
) -> T:
    """A value of a kind from plain data.

    Raises `ReedpathError` of the class ``error``, naming the field, for data that do not have the shape of the kind.
    """
    try:
        return msgspec.convert(plain, kind, dec_hook=_value)
    except msgspec.ValidationError as problem:
        from reedpath.data.problems import told  # patterns that only what does not hold needs

        raise told(problem, plain, error, where) from problem
    except RecursionError as problem:
        raise error("data.too_deep", where=where) from problem


# where the library says that it stopped reading JSON text; without it, at the text's end
_BYTE = re.compile(r" \(byte (\d+)\)$")


def _line_and_column(text: bytes, problem: str) -> Place:
    """Where in JSON text of several lines the library found a problem; nowhere where it does not say that."""
    at = _BYTE.search(problem)
    if b"\n" not in text or (at is None and "truncated" not in problem):
        return Place()
    before = text[: int(at[1])] if at else text.rstrip()
    return Place(line=before.count(b"\n") + 1, column=len(before.rpartition(b"\n")[2].decode(errors="replace")) + 1)


def _decoded(data: bytes, where: Place) -> Any:
    text = data.removeprefix(_BYTE_ORDER_MARK)
    try:
        return msgspec.json.decode(text)
    except RecursionError as problem:
        raise ReadError("data.too_deep", where=where) from problem
    except (msgspec.DecodeError, UnicodeDecodeError) as problem:
        place = _line_and_column(text, str(problem)).inside(where)
        raise ReadError(
            "data.no_json", where=place, problem=_BYTE.sub("", str(problem)) if place.line else str(problem)
        ) from problem


def read_json(data: bytes, kind: type[T], *, file: str = "") -> T:
    """A value of a kind from JSON text; ReadError names file and field."""
    return from_plain(_decoded(data, Place(file=file)), kind, where=Place(file=file))


class _Head(msgspec.Struct, frozen=True):
    """What every JSON file of the program says of itself."""

    schema: str
    version: int


class _Named(msgspec.Struct, frozen=True):
    """The one thing that tells files of the program apart."""

    schema: str = ""


def schema_of(data: bytes) -> str:
    """The schema that a JSON file says it is of; empty for one that says none, and for what is no JSON."""
    try:
        return msgspec.json.decode(data.removeprefix(_BYTE_ORDER_MARK), type=_Named).schema
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return ""


def plain_of_version(data: bytes, *, schema: str, version: int, older: Mapping[int, Callable[[Any], Any]]) -> Any:
    """The plain data of a JSON file that names its schema and version, as those of this version.

    older : what makes plain data of this version from those of an older one, by its number.

    Raises `ReadError` for what is no JSON, for other files, and for those of a version that is not known.
    """
    plain = _decoded(data, Place())
    head = from_plain(plain, _Head)
    if head.schema != schema:
        raise ReadError("data.other_schema", where=Place(field="schema"), found=head.schema, wanted=schema)
    if head.version > version:
        raise ReadError("data.newer", where=Place(field="version"), found=head.version, known=version)
    if head.version == version:
        return plain
    if head.version not in older:
        raise ReadError("data.no_version", where=Place(field="version"), found=head.version, known=version)
    return older[head.version](plain)


def _tables(text: str, where: Place, error: type[ReedpathError]) -> dict[str, Any]:
    if len(text) > LONGEST_TOML:
        raise error("data.too_long", where=where, count=len(text), most=LONGEST_TOML)
    try:
        return tomllib.loads(text)
    except RecursionError as problem:
        raise error("data.too_deep", where=where) from problem
    except ValueError as problem:  # what the library raises is one, and it lets through some of Python's own
        raise error("data.no_toml", where=where, problem=str(problem)) from problem


def read_toml(text: str, kind: type[T], *, file: str, error: type[ReedpathError] = SettingsError) -> T:
    """A value of a kind from TOML text; an error of the class ``error`` names file and field."""
    where = Place(file=file)
    return from_plain(_tables(text, where, error), kind, error=error, where=where)


def from_tables(
    tables: Mapping[str, Any], kind: type[T], *, error: type[ReedpathError], where: Place
) -> dict[str, T]:
    """Values of one kind from plain tables, by their names; an error names the table."""
    return {
        name: from_plain(table, kind, error=error, where=Place(field=name).inside(where))
        for name, table in tables.items()
    }


def read_tables(text: str, kind: type[T], *, file: str, error: type[ReedpathError] = SettingsError) -> dict[str, T]:
    """Values of one kind from the tables of a TOML text, by their names."""
    where = Place(file=file)
    return from_tables(_tables(text, where, error), kind, error=error, where=where)


# where the program is
_PROGRAM = Path(__file__).parents[1]


def shipped_folder(package: str) -> Path:
    """The folder of one of the program's packages; the library for that loads twenty modules more, at every start."""
    return _PROGRAM.joinpath(*package.split(".")[1:])


@cache
def shipped_text(package: str, path: str) -> str:
    """Text of a data file that ships with the program, its path given from the folder of its package."""
    return (shipped_folder(package) / path).read_text(encoding="utf-8")


@cache
def shipped_names(package: str, folder: str) -> tuple[str, ...]:
    """Names, without their ending, of the TOML files in one of a package's folders, sorted."""
    entries = (shipped_folder(package) / folder).iterdir()
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in entries if entry.name.endswith(".toml")))
