"""The drawing's measures, layouts and letter widths, read once from ``drawing.toml``."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any

from msgspec import Meta, Struct
from msgspec.structs import replace

from reedpath.data import from_tables, read_toml, shipped_text
from reedpath.errors import Place, SettingsError
from reedpath.page.drawing.shapes import Box, Label, Shape, bounds_of

FILE = "drawing.toml"
_HEX = re.compile(r"#[0-9a-f]{6}")

# the measures that are sizes of letters
_TEXTS = ("text", "tight_text", "small_text", "label_text")
# rows, CSS pixels and parts of a size
Length = Annotated[float, Meta(gt=0)]


class Measures(Struct, frozen=True, forbid_unknown_fields=True):
    """Lengths of the drawing, in rows; each is explained in ``drawing.toml``.

    letters : width of letters against those that ``drawing.toml`` has widths of.
    """

    source: str
    strip: Length
    slim: Length
    bulge: Length
    hollow: Length
    gap: Length
    step: Length
    lift: Length
    dip: Length
    weight: Length
    weight_apart: Length
    wedge: Length
    ripple: Length
    ripple_apart: Length
    text: Length
    tight_text: Length
    small_text: Length
    label_text: Length
    pad: Length
    tight_pad: Length
    comb: Length
    attack_share: Length
    attack_rows: Length
    lead_share: Length
    letters: Length = 1.0


class Layout(Struct, frozen=True, forbid_unknown_fields=True):
    """How much room a picture has.

    width : rows; infinite for one strip without end.
    row_px : CSS pixels to a row.
    beat : least width of a beat, rows.
    dense_beat : width of a beat up to which short notes get room for their tab inside their strips.
    least_text : size of the smallest letters, rows; 0 for the measures' own.
    letters : width of letters against those that ``drawing.toml`` has widths of.
    name, source : short name, and where the numbers come from.
    """

    width: Length
    row_px: Length
    beat: Length
    dense_beat: Length
    least_text: Annotated[float, Meta(ge=0)] = 0.0
    letters: Length = 1.0
    name: str = ""
    source: str = ""


class Role(Struct, frozen=True, forbid_unknown_fields=True):
    """How a role is inked in any palette.

    fill, stroke : names of inks, None where there is none.
    width : width of the stroke, rows.
    dash : lengths on and off, rows; empty for a solid line.
    bold : whether letters are bold.
    """

    fill: str | None = None
    stroke: str | None = None
    width: Length | None = None
    dash: tuple[Length, ...] = ()
    bold: bool = False


class _Contrast(Struct, frozen=True, forbid_unknown_fields=True):
    """Pairs of inks that must stand apart."""

    text: tuple[tuple[str, str], ...]
    graphic: tuple[tuple[str, str], ...]


class _DrawingFile(Struct, frozen=True, forbid_unknown_fields=True):
    """What ``drawing.toml`` holds, the tables of several things still plain."""

    measures: Measures
    contrast: _Contrast
    layouts: dict[str, Any]
    palettes: dict[str, dict[str, Any]]
    roles: dict[str, Any]
    letters: dict[str, Any]


class DrawingData(Struct, frozen=True):
    """All of ``drawing.toml``: palettes hold a colour for each ink, letters a width for each row of signs."""

    measures: Measures
    contrast: _Contrast
    layouts: Mapping[str, Layout]
    palettes: Mapping[str, Mapping[str, str]]
    roles: Mapping[str, Role]
    letters: Mapping[str, float]


def _each(table: Mapping[str, Any], kind: Any, field: str) -> Mapping[str, Any]:
    """The entries of a table by their names, each of a kind."""
    return MappingProxyType(from_tables(table, kind, error=SettingsError, where=Place(file=FILE, field=field)))


def _inks(table: Mapping[str, Any], field: str) -> Mapping[str, str]:
    """The inks of a palette, "#rrggbb" each."""
    inks = _each(table, str, field)
    for name, colour in inks.items():
        if not _HEX.fullmatch(colour):
            raise SettingsError("page.no_colour", where=Place(file=FILE, field=f"{field}.{name}"), value=colour)
    return inks


def parse_drawing(text: str) -> DrawingData:
    """The drawing's data; SettingsError names the field that does not hold."""
    file = read_toml(text, _DrawingFile, file=FILE)
    data = DrawingData(
        measures=file.measures,
        contrast=file.contrast,
        layouts=_each(file.layouts, Layout, "layouts"),
        palettes={name: _inks(inks, f"palettes.{name}") for name, inks in file.palettes.items()},
        roles=_each(file.roles, Role, "roles"),
        letters=_each(file.letters, Length, "letters"),
    )
    for name, role in data.roles.items():
        for key, ink in (("fill", role.fill), ("stroke", role.stroke)):
            if ink is not None and any(ink not in inks for inks in data.palettes.values()):
                raise SettingsError("page.no_ink", where=Place(file=FILE, field=f"roles.{name}.{key}"), name=ink)
        if (role.stroke is None) != (role.width is None):
            raise SettingsError("page.stroke_and_width", where=Place(file=FILE, field=f"roles.{name}"))
    return data


@cache
def drawing_data() -> DrawingData:
    """The whole of ``drawing.toml``."""
    return parse_drawing(shipped_text("reedpath.page.drawing", FILE))


def load_measures(layout: Layout | None = None) -> Measures:
    """The measures of the drawing, for a layout that may ask for larger or narrower letters."""
    measures = drawing_data().measures
    if layout is None or (not layout.least_text and layout.letters == 1):
        return measures
    sizes = {name: max(getattr(measures, name), layout.least_text) for name in _TEXTS}
    return replace(measures, **sizes, letters=layout.letters)


def layout_names() -> tuple[str, ...]:
    """Names of the layouts: sheet, phone, wide, upright, strip."""
    return tuple(drawing_data().layouts)


@cache
def load_layout(name: str) -> Layout:
    """
    The layout of that name.

    >>> load_layout("phone").row_px
    23.0
    """
    if name not in layout_names():
        raise SettingsError("page.no_layout", name=name, known=layout_names())
    return replace(drawing_data().layouts[name], name=name)


@cache
def _letter_widths() -> Mapping[str, float]:
    table = drawing_data().letters
    return MappingProxyType({letter: width for letters, width in table.items() for letter in letters})


def text_width(text: str, size: float) -> float:
    """Room to keep for a text, in the unit of its size; a letter that is not in the table counts as wide.

    >>> round(text_width("-3'", 1.0), 2)
    1.35
    """
    widths = _letter_widths()
    return size * math.fsum(widths.get(letter, 1.0) for letter in text)


# height of capital letters and digits, parts of the size: between Liberation Sans 0.69 and DejaVu Sans 0.73
CAPITAL_HEIGHT = 0.71


def box_of(shape: Shape) -> Box:
    """The room a shape takes, a label's with the widths of `text_width`."""
    if not isinstance(shape, Label):
        return bounds_of([shape])
    width = text_width(shape.text, shape.size)
    left = shape.x - {"start": 0.0, "middle": width / 2, "end": width}[shape.anchor]
    half = shape.size * CAPITAL_HEIGHT / 2
    return Box(left, shape.y - half, left + width, shape.y + half)


def baseline_of(label: Label) -> float:
    """Rows, y of the line that a label's letters stand on."""
    return label.y + label.size * CAPITAL_HEIGHT / 2
