"""Values of many numbers as lines of text: fields by name, numbers to a few digits, arrays by what they sum to."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from enum import Enum
from fractions import Fraction
from typing import Any

import msgspec
import numpy as np

# digits of a number; the last ones are the processor's. blocks of which an array's mean size is told
DIGITS, BLOCKS = 4, 8
# numbers in a row that are told one by one
MOST_SHOWN = 24


def _number(value: float) -> str:
    rounded = float(f"{value:.{DIGITS}g}")
    return f"{0.0 if abs(rounded) < 1e-9 else rounded:g}"


def _array(value: np.ndarray) -> str:
    if value.size <= BLOCKS or value.dtype == bool:
        return f"array {value.shape} {[_number(float(one)) for one in value.ravel()[:BLOCKS]]}"
    flat = value.astype(float).ravel()
    means = [_number(float(np.abs(block).mean())) for block in np.array_split(flat, BLOCKS)]
    return (
        f"array {value.shape} mean {_number(float(flat.mean()))} largest {_number(float(np.abs(flat).max()))} {means}"
    )


def told_value(value: Any) -> str:
    """A value in a line."""
    match value:
        case Enum():
            return repr(value.value)
        case bool() | None | str() | int():
            return repr(value)
        case Fraction():
            return str(value)
        case float() | np.floating():
            return _number(float(value))
        case np.integer():
            return str(int(value))
        case np.ndarray():
            return _array(value)
        case frozenset() | set():
            return "{" + ", ".join(sorted(map(told_value, value))) + "}"
        case Mapping():
            return "{" + ", ".join(f"{told_value(name)}: {told_value(one)}" for name, one in value.items()) + "}"
        case tuple() | list() if len(value) > MOST_SHOWN and isinstance(value[0], float | int | Fraction):
            return _array(np.array([float(one) for one in value]))
        case tuple() | list():
            return "(" + ", ".join(map(told_value, value)) + ")"
    return f"{type(value).__name__}({', '.join(f'{name}={told_value(one)}' for name, one in _fields(value))})"


def _fields(value: Any) -> list[tuple[str, Any]]:
    if isinstance(value, msgspec.Struct):
        names: tuple[str, ...] = value.__struct_fields__
    elif dataclasses.is_dataclass(value):
        names = tuple(one.name for one in dataclasses.fields(value))
    else:
        return [("is", repr(value))]
    return [(name, getattr(value, name)) for name in names]


def told_lines(value: Any, indent: str = "") -> Iterator[str]:
    """A value of fields a field a line, rows of them a row a line."""
    for name, one in _fields(value):
        if (
            isinstance(one, tuple | list)
            and one
            and (isinstance(one[0], msgspec.Struct) or dataclasses.is_dataclass(one[0]))
        ):
            yield f"{indent}{name}:"
            yield from (f"{indent} {told_value(each)}" for each in one)
        elif isinstance(one, msgspec.Struct) or dataclasses.is_dataclass(one):
            yield f"{indent}{name} {type(one).__name__}:"
            yield from told_lines(one, indent + " ")
        else:
            yield f"{indent}{name}: {told_value(one)}"
