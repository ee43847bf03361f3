"""Plain data that knows its place, so that an error can name it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeVar

from reedpath.errors import ReadError, ReedpathError

__all__ = ["Placed"]

T = TypeVar("T")

_FRACTION = re.compile(r"-?\d{1,18}(/[1-9]\d{0,17})?")


@dataclass(frozen=True, slots=True)
class Placed:
    """A value of a tree of plain data, and its place in it ("route.events[3].move")."""

    value: Any
    place: str = ""

    def wrong(self, wanted: str) -> ReadError:
        """The error for a value that is not what is wanted here."""
        shown = repr(self.value)
        shown = shown if len(shown) <= 60 else f"{shown[:57]}..."
        return ReadError(f"{shown} is not {wanted}", where=self.place or "the data")

    def __getitem__(self, name: str) -> Placed:
        if not isinstance(self.value, dict):
            raise self.wrong("an object")
        place = f"{self.place}.{name}" if self.place else name
        if name not in self.value:
            raise ReadError("this is missing", where=place)
        return Placed(self.value[name], place)

    def has(self, name: str) -> bool:
        """Whether the value is an object with an entry of that name."""
        return isinstance(self.value, dict) and name in self.value

    def each(self) -> Iterator[Placed]:
        """The entries of a list."""
        if not isinstance(self.value, list):
            raise self.wrong("a list")
        for index, value in enumerate(self.value):
            yield Placed(value, f"{self.place}[{index}]")

    def all(self, read: Callable[[Placed], T]) -> tuple[T, ...]:
        """The entries of a list, each read."""
        return tuple(read(one) for one in self.each())

    def maybe(self, read: Callable[[Placed], T]) -> T | None:
        """The value read, or None for null."""
        return None if self.value is None else read(self)

    def text(self) -> str:
        """A text."""
        if not isinstance(self.value, str):
            raise self.wrong("a text")
        return self.value

    def yes(self) -> bool:
        """A truth value."""
        if not isinstance(self.value, bool):
            raise self.wrong("true or false")
        return self.value

    def whole(self, *, least: int | None = None, most: int | None = None) -> int:
        """A whole number, within bounds if given."""
        value = self.value
        if isinstance(value, bool) or not isinstance(value, int):
            raise self.wrong("a whole number")
        if (least is not None and value < least) or (most is not None and value > most):
            bounds = f"{'' if least is None else least}..{'' if most is None else most}"
            raise self.wrong(f"a whole number in {bounds}")
        return value

    def number(self) -> float:
        """A finite number."""
        value = self.value
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            raise self.wrong("a number")
        return float(value)

    def fraction(self) -> Fraction:
        """An exact fraction, written as a string."""
        if not isinstance(self.value, str) or not _FRACTION.fullmatch(self.value):
            raise self.wrong("a fraction such as '3/2'")
        return Fraction(self.value)

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Names this place in any error of the program that is raised inside."""
        try:
            yield
        except ReadError:
            raise
        except ReedpathError as error:
            raise ReadError(str(error), where=self.place, hint=error.hint) from error
