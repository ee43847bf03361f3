"""What a lesson page brings along: a style sheet with the drawing's inks, and a script put together of ES modules.

Inside one file no module can be imported, so their import lines are left out and their exports become plain names of
one module. They are written for that: imports stand at the top, one a line, and no two modules share a name (a test
holds both).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from reedpath.data import shipped_folder, shipped_text
from reedpath.errors import PageError, Place
from reedpath.page.drawing.drawing_data import Role, drawing_data
from reedpath.page.drawing.palette import load_palette

# palettes by light, dark and print
LIGHT, DARK, PRINT = "paper", "night", "ink"
# elements of SVG that the drawing is written with
KINDS = ("path", "text", "rect")
# the module that needs all others, directly or not
FIRST = "main"
_IMPORT = re.compile(r'^import \{[^}]*\} from "\./([a-z]+)\.js";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=function |const |class )", re.MULTILINE)


def _variable(ink: str) -> str:
    return f"--{ink.replace('_', '-')}"


def _variables(palette: str) -> str:
    return "".join(f"{_variable(ink)}:{colour};" for ink, colour in load_palette(palette).inks.items())


def _rule(name: str, role: Role) -> str:
    inks = [("fill", role.fill), ("stroke", role.stroke)]
    rules = "".join(f"{key}:var({_variable(ink)});" for key, ink in inks if ink is not None)
    kinds = ",".join(f"{kind}.{name}" for kind in KINDS)
    return f"{kinds}{{{rules}}}"


def format_inks() -> str:
    """The style sheet: every ink as a variable in each palette, and every role of the drawing inked with them."""
    light, dark, paper = (_variables(name) for name in (LIGHT, DARK, PRINT))
    roles = "\n".join(_rule(name, role) for name, role in drawing_data().roles.items())
    return (
        f":root{{{light}color-scheme:light}}\n"
        f"@media (prefers-color-scheme:dark){{:root:not([data-light=light]){{{dark}color-scheme:dark}}}}\n"
        f":root[data-light=dark]{{{dark}color-scheme:dark}}\n"
        # twice the root, so that it weighs as much as the rule for a dark screen (Selectors Level 4, "specificity")
        f"@media print{{:root:root,:root[data-light]{{{paper}color-scheme:light}}}}\n"
        f"{roles}\n"
    )


def module_names() -> tuple[str, ...]:
    """Names of the modules."""
    return tuple(sorted(one.stem for one in (shipped_folder("reedpath.page.web") / "script").glob("*.js")))


@cache
def module_text(name: str) -> str:
    """The text of a module."""
    return shipped_text("reedpath.page.web", f"script/{name}.js")


def _needed(name: str, path: tuple[str, ...] = ()) -> Iterator[str]:
    """The modules that a module needs, and itself last."""
    if name in path:
        raise PageError("page.scripts_in_a_ring", where=Place(file=f"{name}.js"), names=path)
    for other in _IMPORT.findall(module_text(name)):
        yield from _needed(other, (*path, name))
    yield name


@cache
def joined_script() -> str:
    """All modules as the text of one."""
    order = dict.fromkeys(_needed(FIRST))
    return "\n".join(_EXPORT.sub("", _IMPORT.sub("", module_text(name))).strip() for name in order) + "\n"
