"""Numbers and places of a MusicXML document."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from xml.etree.ElementTree import Element

from reedpath.errors import Place, ReadError

# divisions of a quarter note, and a duration in them; ours: larger ones are faults
MOST_DIVISIONS = 1_000_000
LONGEST = 100_000_000

# characters of a measure's number that are told; ours
_LONGEST_LABEL = 20
_DECIMAL = re.compile(r"[+-]?(\d{1,9}(\.\d{0,9})?|\.\d{1,9})")


def text_of(parent: Element | None, path: str) -> str:
    """Text of the first element of a path, stripped; empty when there is none."""
    if parent is None:
        return ""
    return (parent.findtext(path) or "").strip()


@lru_cache(maxsize=1_000)  # a score says the same few lengths, octaves and alterations over and over
def _decimal(text: str) -> Fraction | None:
    return Fraction(text) if _DECIMAL.fullmatch(text) else None


def _bounded(text: str, low: Fraction | int, high: Fraction | int, *, element: str, where: Place) -> Fraction:
    value = _decimal(text)
    if value is None or not low <= value <= high:
        raise ReadError("readers.number_out_of_bounds", where=where, element=element, text=text, low=low, high=high)
    return value


def measure_place(measure: Element, number: int) -> Place:
    """The place of a measure: its number as printed, or the one given."""
    label = (measure.get("text") or measure.get("number") or str(number)).strip()[:_LONGEST_LABEL]
    return Place(bar=int(label) if label.isdecimal() else label)


def number_in(
    parent: Element, path: str, low: Fraction | int, high: Fraction | int, *, where: Place
) -> Fraction | None:
    """A decimal number within bounds; None where there is no such element."""
    text = text_of(parent, path)
    return _bounded(text, low, high, element=path, where=where) if text else None


def whole_in(parent: Element, path: str, low: int, high: int, *, where: Place) -> int | None:
    """A whole number within bounds; None where there is no such element."""
    value = number_in(parent, path, low, high, where=where)
    if value is None:
        return None
    if value.denominator != 1:
        raise ReadError("readers.no_whole_number", where=where, element=path, text=text_of(parent, path))
    return int(value)
