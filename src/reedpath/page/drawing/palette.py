"""Palettes: how each role of the drawing is inked, and the contrast of inks by WCAG 2.2."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from reedpath.errors import SettingsError
from reedpath.page.drawing.measures import FILE, drawing_data, positive

__all__ = ["Palette", "Style", "contrast_ratio", "load_palette", "palette_names"]

_HEX = re.compile(r"#[0-9a-f]{6}")
_STYLE_KEYS = frozenset({"fill", "stroke", "width", "dash", "bold"})


@dataclass(frozen=True, slots=True)
class Style:
    """How a role is inked.

    fill, stroke : "#rrggbb", None where there is none.
    width : width of the stroke, rows.
    dash : lengths on and off, rows; empty for a solid line.
    bold : whether letters are bold.
    """

    fill: str | None
    stroke: str | None
    width: float
    dash: tuple[float, ...]
    bold: bool


@dataclass(frozen=True, slots=True)
class Palette:
    """The inks of a picture and the style of every role.

    name : short name.
    inks : name of ink -> "#rrggbb".
    styles : role -> style.
    """

    name: str
    inks: Mapping[str, str]
    styles: Mapping[str, Style]

    def style(self, role: str) -> Style:
        """How a role is inked."""
        return self.styles[role]


def _linear(channel: int) -> float:
    share = channel / 255
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)


def _relative_luminance(colour: str) -> float:
    red, green, blue = (_linear(int(colour[i : i + 2], 16)) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast_ratio(one: str, other: str) -> float:
    """Contrast of two inks "#rrggbb", 1 to 21, by WCAG 2.2 (W3C 2023), "contrast ratio".

    >>> contrast_ratio("#ffffff", "#000000")
    21.0
    """
    darker, lighter = sorted((_relative_luminance(one), _relative_luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _parse_style(role: str, table: Mapping[str, Any], inks: Mapping[str, str]) -> Style:
    where = f"[roles], '{role}'"
    if unknown := sorted(set(table) - _STYLE_KEYS):
        raise SettingsError(f"unknown key '{unknown[0]}'", where=f"{FILE}, {where}")
    for key in ("fill", "stroke"):
        if key in table and table[key] not in inks:
            raise SettingsError(f"no ink is named {table[key]!r}", where=f"{FILE}, {where}, '{key}'")
    return Style(
        fill=inks[table["fill"]] if "fill" in table else None,
        stroke=inks[table["stroke"]] if "stroke" in table else None,
        width=positive(table["width"], f"{where}, 'width'") if "stroke" in table else 0.0,
        dash=tuple(positive(part, f"{where}, 'dash'") for part in table.get("dash", ())),
        bold=bool(table.get("bold", False)),
    )


def parse_palette(name: str, data: Mapping[str, Any]) -> Palette:
    """The palette of that name from the data of ``drawing.toml``."""
    inks = data["palettes"][name]
    for ink, value in inks.items():
        if not isinstance(value, str) or not _HEX.fullmatch(value):
            raise SettingsError(
                f"{value!r} is no colour", where=f"{FILE}, [palettes.{name}], '{ink}'", hint='write "#0f5257"'
            )
    styles = {role: _parse_style(role, table, inks) for role, table in data["roles"].items()}
    return Palette(name, MappingProxyType(dict(inks)), MappingProxyType(styles))


@cache
def palette_names() -> tuple[str, ...]:
    """Names of the palettes: paper, ink, night."""
    return tuple(drawing_data()["palettes"])


@cache
def load_palette(name: str) -> Palette:
    """
    The palette of that name.

    >>> load_palette("ink").style("bar").stroke
    '#4d4d4d'
    """
    if name not in palette_names():
        raise SettingsError(f"no palette is named {name!r}", hint=f"the palettes are {', '.join(palette_names())}")
    return parse_palette(name, drawing_data())
