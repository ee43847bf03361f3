"""Scripts: the page's ES modules put into one, in the order in which they need one another.

Inside one file no module can be imported, so their import lines are left out and their exports become plain names of
one module. They are written for that: imports stand at the top, one a line, and no two modules share a name (a test
holds both).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from importlib.resources import files

from reedpath.errors import PageError

__all__ = ["joined_script", "module_names", "module_text"]

# the module that needs all others, directly or not
FIRST = "main"

_IMPORT = re.compile(r'^import \{[^}]*\} from "\./([a-z]+)\.js";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=function |const |class )", re.MULTILINE)


def module_names() -> tuple[str, ...]:
    """Names of the modules."""
    folder = files("reedpath.page.web") / "script"
    return tuple(sorted(one.name.removesuffix(".js") for one in folder.iterdir() if one.name.endswith(".js")))


@cache
def module_text(name: str) -> str:
    """The text of a module."""
    return (files("reedpath.page.web") / "script" / f"{name}.js").read_text(encoding="utf-8")


def _needed(name: str, path: tuple[str, ...] = ()) -> Iterator[str]:
    """The modules that a module needs, and itself last."""
    if name in path:
        raise PageError(f"the scripts {' and '.join(path)} need one another", where=f"{name}.js")
    for other in _IMPORT.findall(module_text(name)):
        yield from _needed(other, (*path, name))
    yield name


@cache
def joined_script() -> str:
    """All modules as the text of one."""
    order = dict.fromkeys(_needed(FIRST))
    return "\n".join(_EXPORT.sub("", _IMPORT.sub("", module_text(name))).strip() for name in order) + "\n"
