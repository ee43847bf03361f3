"""Values by the shape of their types."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from fractions import Fraction
from typing import Any, TypeVar

import msgspec

from reedpath.errors import Place, ReadError, ReedpathError, SettingsError

__all__ = ["as_plain", "encode_json", "from_plain", "json_schema", "read_json", "read_toml"]

T = TypeVar("T")

# digits of each number of a fraction: enough for any note value, few enough for exact sums to stay fast; ours
_FRACTION = re.compile(r"-?\d{1,18}(/[1-9]\d{0,17})?")
_FRACTION_SCHEMA = {"type": "string", "pattern": f"^{_FRACTION.pattern}$"}
# how msgspec ends the message of an error: " - at `$.events[3].midi`"
_AT = re.compile(r" - at `(?:key in )?\$(.*)`$")


def _plain(value: Any) -> Any:
    if isinstance(value, Fraction):
        return str(value)
    raise NotImplementedError(f"no plain data stand for {type(value).__name__}")


def _value(kind: type, plain: Any) -> Any:
    if kind is Fraction and isinstance(plain, str) and _FRACTION.fullmatch(plain):
        return Fraction(plain)
    raise ValueError("Expected a fraction such as '3/2'")


def as_plain(value: Any) -> Any:
    """The value as dictionaries, lists, texts, numbers, truth values and None; a fraction is a text such as "3/2"."""
    return msgspec.to_builtins(value, enc_hook=_plain)


def encode_json(value: Any, *, indent: int = 1) -> bytes:
    """The value as JSON text in UTF-8, one line for each entry."""
    return msgspec.json.format(msgspec.json.encode(value, enc_hook=_plain), indent=indent) + b"\n"


def _told(problem: msgspec.ValidationError, error: type[ReedpathError], where: Place) -> ReedpathError:
    """What does not hold, with its field; an error of ours that a type raised itself keeps its own message."""
    text = str(problem)
    found = _AT.search(text)
    place = Place(field=found[1].lstrip(".") if found else "").inside(where)
    if isinstance(problem.__cause__, ReedpathError):
        cause = problem.__cause__
        return error(cause.key, where=cause.where.inside(place), hint=cause._hint, **cause.values)
    return error("data.does_not_hold", where=place, problem=_AT.sub("", text))


def from_plain(
    plain: Any,
    kind: type[T],
    *,
    error: type[ReedpathError] = ReadError,
    where: Place = Place(),  # noqa: B008
) -> T:
    """A value of a kind from plain data.

    Raises
    ------
    ReedpathError
        Of the class ``error``, naming the field, for data that do not have the shape of the kind.
    """
    try:
        return msgspec.convert(plain, kind, dec_hook=_value)
    except msgspec.ValidationError as problem:
        raise _told(problem, error, where) from problem


def read_json(data: bytes, kind: type[T], *, file: str = "") -> T:
    """A value of a kind from JSON text; ReadError names file and field."""
    try:
        return msgspec.json.decode(data, type=kind, dec_hook=_value)
    except msgspec.ValidationError as problem:
        raise _told(problem, ReadError, Place(file=file)) from problem
    except (msgspec.DecodeError, RecursionError, UnicodeDecodeError) as problem:
        raise ReadError("data.no_json", where=Place(file=file), problem=str(problem)) from problem


def read_toml(text: str, kind: type[T], *, file: str) -> T:
    """A value of a kind from TOML text; SettingsError names file and field."""
    try:
        plain = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as problem:
        raise SettingsError("data.no_toml", where=Place(file=file), problem=str(problem)) from problem
    return from_plain(plain, kind, error=SettingsError, where=Place(file=file))


def _schema_of(kind: type) -> dict[str, Any]:
    if kind is Fraction:
        return dict(_FRACTION_SCHEMA)
    raise NotImplementedError(f"no schema stands for {kind.__name__}")


def json_schema(kind: Any, *, hook: Callable[[type], dict[str, Any]] = _schema_of) -> dict[str, Any]:
    """The JSON Schema (2020-12) of a kind."""
    return msgspec.json.schema(kind, schema_hook=hook)
