"""The drawing's measures, layouts and letter widths, read once from ``drawing.toml``."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from reedpath.errors import SettingsError
from reedpath.page.drawing.shapes import Box, Label

__all__ = [
    "Layout",
    "Measures",
    "baseline_of",
    "box_of",
    "layout_names",
    "load_layout",
    "load_measures",
    "text_width",
]

FILE = "drawing.toml"


@dataclass(frozen=True, slots=True)
class Measures:
    """Lengths of the drawing, in rows; each is explained in ``drawing.toml``."""

    strip: float
    slim: float
    bulge: float
    hollow: float
    gap: float
    step: float
    lift: float
    dip: float
    weight: float
    weight_apart: float
    wedge: float
    ripple: float
    ripple_apart: float
    text: float
    tight_text: float
    small_text: float
    label_text: float
    pad: float
    tight_pad: float
    comb: float
    attack_share: float
    attack_rows: float
    lead_share: float


@dataclass(frozen=True, slots=True)
class Layout:
    """How much room a picture has.

    name : short name.
    width : rows; infinite for one strip without end.
    row_px : CSS pixels to a row.
    beat : least width of a beat, rows.
    dense_beat : width of a beat up to which short notes get room for their tab inside their strips.
    """

    name: str
    width: float
    row_px: float
    beat: float
    dense_beat: float


@cache
def drawing_data() -> Mapping[str, Any]:
    """The whole of ``drawing.toml``."""
    text = (files("reedpath.page.drawing") / FILE).read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(text))


def positive(value: object, where: str) -> float:
    """A number over 0 from a data file; an error names the place."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not value > 0:
        raise SettingsError(f"{value!r} should be a number over 0", where=f"{FILE}, {where}")
    return float(value)


def parse_numbers(table: Mapping[str, Any], names: tuple[str, ...], where: str) -> dict[str, float]:
    """The named numbers of a table, which may hold nothing else but its source."""
    if wrong := sorted(set(names) ^ (set(table) - {"source"})):
        kind = "unknown" if wrong[0] in table else "missing"
        raise SettingsError(f"{kind} key '{wrong[0]}'", where=f"{FILE}, {where}")
    return {name: positive(table[name], f"{where}, '{name}'") for name in names}


@cache
def load_measures() -> Measures:
    """The measures of the drawing."""
    names = tuple(field.name for field in fields(Measures))
    return Measures(**parse_numbers(drawing_data()["measures"], names, "[measures]"))


@cache
def layout_names() -> tuple[str, ...]:
    """Names of the layouts: sheet, phone, wide, upright, strip."""
    return tuple(drawing_data()["layouts"])


@cache
def load_layout(name: str) -> Layout:
    """
    The layout of that name.

    >>> load_layout("phone").row_px
    23.0
    """
    if name not in layout_names():
        raise SettingsError(f"no layout is named {name!r}", hint=f"the layouts are {', '.join(layout_names())}")
    names = ("width", "row_px", "beat", "dense_beat")
    return Layout(name, **parse_numbers(drawing_data()["layouts"][name], names, f"[layouts.{name}]"))


@cache
def _letter_widths() -> Mapping[str, float]:
    table = drawing_data()["letters"]
    return MappingProxyType(
        {letter: positive(width, "[letters]") for letters, width in table.items() for letter in letters}
    )


def text_width(text: str, size: float) -> float:
    """Room to keep for a text, in the unit of its size; a letter that is not in the table counts as wide.

    >>> round(text_width("-3'", 1.0), 2)
    1.35
    """
    widths = _letter_widths()
    return size * math.fsum(widths.get(letter, 1.0) for letter in text)


# height of capital letters and digits, parts of the size: between Liberation Sans 0.69 and DejaVu Sans 0.73
CAPITAL_HEIGHT = 0.71


def box_of(label: Label) -> Box:
    """The room a label takes, with the widths of `text_width`."""
    width = text_width(label.text, label.size)
    left = label.x - {"start": 0.0, "middle": width / 2, "end": width}[label.anchor]
    half = label.size * CAPITAL_HEIGHT / 2
    return Box(left, label.y - half, left + width, label.y + half)


def baseline_of(label: Label) -> float:
    """Rows, y of the line that a label's letters stand on."""
    return label.y + label.size * CAPITAL_HEIGHT / 2
