"""What does not hold in plain data, from the words of the library that found it to an error of ours.

msgspec says "Expected `int` <= 127 - at `$.events[3].midi[0]`": from its patterns come the key of a message, the
place and the value, so that the error is told in the person's language. What has no pattern keeps its own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from reedpath.data.numbers import NO_FRACTION
from reedpath.errors import Place, ReedpathError, Term, plain_text

# how the library ends its messages: " - at `$.events[3].midi`", or " - at `key` in `$.signs`" for the name of a field
_AT = re.compile(r" - at (?P<key>`key` in )?`\$(?P<path>.*)`$", re.DOTALL)
_STEP = re.compile(r"\.([^.\[\]]+)|\[(\d+|\.\.\.)\]")
# its messages, and the keys of ours
_PATTERNS = (
    ("missing", re.compile(r"Object missing required field `(?P<name>.*)`")),
    ("unknown_field", re.compile(r"Object contains unknown field `(?P<name>.*)`")),
    (
        "wrong_length",
        re.compile(r"Expected `array` of (?:at \w+ )?length (?P<wanted>\d+), got (?P<count>\d+)"),
    ),
    ("wrong_kind", re.compile(r"Expected `(?P<kinds>[^`]*)`, got `(?P<found>[^`]*)`")),
    ("empty", re.compile(r"Expected `(?:str|array|object)` of length >= 1")),
    ("at_least", re.compile(r"Expected `(?:int|float)` >= (?P<limit>.*)")),
    ("at_most", re.compile(r"Expected `(?:int|float)` <= (?P<limit>.*)")),
    ("over", re.compile(r"Expected `(?:int|float)` > (?P<limit>.*)")),
    ("under", re.compile(r"Expected `(?:int|float)` < (?P<limit>.*)")),
    ("too_many", re.compile(r"Expected `array` of length <= (?P<limit>.*)")),
    ("no_multiple", re.compile(r"Expected `int` that's a multiple of (?P<limit>.*)")),
    ("no_choice", re.compile(r"Invalid (?:enum )?value .*", re.DOTALL)),
    ("no_fraction", re.compile(re.escape(NO_FRACTION))),
    ("out_of_range", re.compile(r"Number out of range")),
)
# its names of kinds, and our terms
_KINDS = {
    "str": "a-text",
    "int": "a-whole-number",
    "float": "a-number",
    "bool": "true-or-false",
    "array": "a-list",
    "object": "an-object",
    "null": "nothing",
}
# stands for a value whose place the library does not tell
_UNKNOWN = object()


def _value_at(plain: Any, path: str) -> Any:
    for name, index in _STEP.findall(path):
        try:
            plain = plain[name] if name else plain[int(index)]
        except (KeyError, IndexError, TypeError, ValueError):
            return _UNKNOWN
    return plain


def _shown(value: Any) -> str | int | float:
    """The value as it stands in the data, a long one cut."""
    if isinstance(value, str):
        return f'"{plain_text(value)}"'
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, (int, float)):
        return value
    if isinstance(value, Mapping):
        return "{…}" if value else "{}"
    return ("[…]" if value else "[]") if isinstance(value, Sequence) else str(value)


def _terms(kinds: str) -> tuple[Term | str, ...]:
    return tuple(Term(_KINDS[kind]) if kind in _KINDS else kind for kind in kinds.split(" | "))


def told(problem: msgspec.ValidationError, plain: Any, error: type[ReedpathError], where: Place) -> ReedpathError:
    """What does not hold, with its field and value; an error of ours that a type raised keeps its own message."""
    text = str(problem)
    at = _AT.search(text)
    path, text = (at["path"], text[: at.start()]) if at else ("", text)
    place = Place(field=path.lstrip(".")).inside(where)
    cause = problem.__cause__
    value = _value_at(plain, path)
    found = Term("this") if value is _UNKNOWN else _shown(value)
    word = text.removeprefix("Invalid enum value ")
    if word != text and at and (at["key"] or value is _UNKNOWN):
        found = word
    if isinstance(cause, ReedpathError):
        return error(cause.key, where=cause.where.inside(place), **cause.values)
    for key, pattern in _PATTERNS:
        match = pattern.fullmatch(text)
        if match is None:
            continue
        if key in ("missing", "unknown_field"):
            return error(f"data.{key}", where=Place(field=match["name"]).inside(place))
        if key == "empty":
            return error("data.empty", where=place)
        if key == "wrong_length":
            return error("data.wrong_length", where=place, count=int(match["count"]), wanted=int(match["wanted"]))
        if key == "wrong_kind":
            return error("data.wrong_kind", where=place, value=found, wanted=_terms(match["kinds"]))
        limits = dict(zip(("limit",), map(float, match.groups()), strict=False))
        return error(f"data.{key}", where=place, value=found, **limits)
    return error("data.does_not_hold", where=place, problem=text)
