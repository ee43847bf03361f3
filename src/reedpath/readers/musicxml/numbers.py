"""Numbers of a MusicXML document, read within bounds."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree.ElementTree import Element

from reedpath.errors import ReadError

__all__ = ["LONGEST", "MOST_DIVISIONS", "number_in", "text_of", "whole_in"]

# divisions of a quarter note, and a duration in them; ours: larger ones are faults
MOST_DIVISIONS = 1_000_000
LONGEST = 100_000_000

_DECIMAL = re.compile(r"[+-]?(\d{1,9}(\.\d{0,9})?|\.\d{1,9})")


def text_of(parent: Element | None, path: str) -> str:
    """Text of the first element of a path, stripped; empty when there is none."""
    if parent is None:
        return ""
    return (parent.findtext(path) or "").strip()


def _bounded(text: str, low: Fraction | int, high: Fraction | int, *, what: str, where: str) -> Fraction:
    value = Fraction(text) if _DECIMAL.fullmatch(text) else None
    if value is None or not low <= value <= high:
        raise ReadError(f"{what} {text[:20]!r}, of {low} to {high} allowed", where=where)
    return value


def number_in(
    parent: Element, path: str, low: Fraction | int, high: Fraction | int, *, where: str
) -> Fraction | None:
    """A decimal number within bounds; None where there is no such element."""
    text = text_of(parent, path)
    return _bounded(text, low, high, what=f"<{path}>", where=where) if text else None


def whole_in(parent: Element, path: str, low: int, high: int, *, where: str) -> int | None:
    """A whole number within bounds; None where there is no such element."""
    value = number_in(parent, path, low, high, where=where)
    if value is None:
        return None
    if value.denominator != 1:
        raise ReadError(f"<{path}> {value}, of whole numbers only", where=where)
    return int(value)
