"""The modules of the program as trees of their syntax, each parsed once and only where a test asks."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

SOURCE = Path(__file__).parents[2] / "src" / "reedpath"
MODULES = sorted(SOURCE.rglob("*.py"))


@cache
def tree_of(path: Path) -> ast.Module:
    """The tree of a module."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def nodes_of(path: Path) -> list[ast.AST]:
    """All that stands in a module."""
    return list(ast.walk(tree_of(path)))
