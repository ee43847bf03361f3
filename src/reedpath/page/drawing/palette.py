"""Palettes: how each role of the drawing is inked, and the contrast of inks by WCAG 2.2."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from reedpath.errors import SettingsError
from reedpath.page.drawing.drawing_data import Role, drawing_data


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


def _style(role: Role, inks: Mapping[str, str]) -> Style:
    return Style(
        fill=inks[role.fill] if role.fill else None,
        stroke=inks[role.stroke] if role.stroke else None,
        width=role.width or 0.0,
        dash=role.dash,
        bold=role.bold,
    )


def palette_names() -> tuple[str, ...]:
    """Names of the palettes: paper, ink, night."""
    return tuple(drawing_data().palettes)


@cache
def load_palette(name: str) -> Palette:
    """
    The palette of that name.

    >>> load_palette("ink").style("bar").stroke
    '#4d4d4d'
    """
    if name not in palette_names():
        raise SettingsError("page.no_palette", name=name, known=palette_names())
    inks = drawing_data().palettes[name]
    styles = {role: _style(style, inks) for role, style in drawing_data().roles.items()}
    return Palette(name, MappingProxyType(dict(inks)), MappingProxyType(styles))
