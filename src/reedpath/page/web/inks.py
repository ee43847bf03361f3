"""Inks: the drawing's palettes as a style sheet, so that one picture serves light, dark and print."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from reedpath.page.shapes_measures import drawing_data
from reedpath.page.shapes_palette import load_palette

__all__ = ["format_inks"]

# palettes by light, dark and print
LIGHT, DARK, PRINT = "paper", "night", "ink"


def _variable(ink: str) -> str:
    return f"--{ink.replace('_', '-')}"


def _variables(palette: str) -> str:
    return "".join(f"{_variable(ink)}:{colour};" for ink, colour in load_palette(palette).inks.items())


def _rule(role: str, style: Mapping[str, Any]) -> str:
    inks = "".join(f"{name}:var({_variable(style[name])});" for name in ("fill", "stroke") if name in style)
    return f"path.{role},text.{role}{{{inks}}}"


def format_inks() -> str:
    """The style sheet: every ink as a variable in each palette, and every role of the drawing inked with them."""
    light, dark, paper = (_variables(name) for name in (LIGHT, DARK, PRINT))
    roles = "\n".join(_rule(role, style) for role, style in drawing_data()["roles"].items())
    return (
        f":root{{{light}color-scheme:light}}\n"
        f"@media (prefers-color-scheme:dark){{:root:not([data-light=light]){{{dark}color-scheme:dark}}}}\n"
        f":root[data-light=dark]{{{dark}color-scheme:dark}}\n"
        f"@media print{{:root,:root[data-light]{{{paper}color-scheme:light}}}}\n"
        f"{roles}\n"
    )
