"""Faces of rooms that import what they show only when it is asked for, so that a command enters no room in vain.

A face is the ``__init__`` of a room. It shows names of its modules, by imports that only type checkers carry out:

    if TYPE_CHECKING:
        from reedpath.harp.moves import Move
    else:
        __getattr__ = lazy_face(__name__)

So each name and its home are said once, and seen by mypy and by import-linter.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable
from functools import cache
from importlib import import_module
from typing import Any


def _is_for_types(node: ast.stmt) -> bool:
    return isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"


@cache
def shown_names(face: str) -> dict[str, str]:
    """The names of the room's own modules that the imports under ``if TYPE_CHECKING`` show, each with its module.

    >>> shown_names("reedpath.jobs")["read_source"]
    'reedpath.jobs.sources'
    """
    loader = sys.modules[face].__loader__ if face in sys.modules else import_module(face).__loader__
    tree = ast.parse(loader.get_source(face) or "")  # type: ignore[union-attr]  # a loader of source files
    imports = [
        node
        for block in tree.body if isinstance(block, ast.If) and _is_for_types(block)
        for node in block.body if isinstance(node, ast.ImportFrom)
    ]  # fmt: skip
    return {
        alias.asname or alias.name: node.module
        for node in imports if node.module and node.module.startswith(f"{face}.")
        for alias in node.names
    }  # fmt: skip


def lazy_face(face: str) -> Callable[[str], Any]:
    """The ``__getattr__`` of a face (PEP 562): imports the module that has a name when the name is first asked for.

    No module of the room may be called as a name that its face shows: importing the module would hide the name.
    """

    def __getattr__(name: str) -> Any:
        home = None if name.startswith("__") else shown_names(face).get(name)
        if home is None:
            raise AttributeError(f"module {face!r} has no attribute {name!r}", name=name, obj=sys.modules[face])
        value = getattr(import_module(home), name)
        setattr(sys.modules[face], name, value)
        return value

    return __getattr__
