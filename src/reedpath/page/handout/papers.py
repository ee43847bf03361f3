"""Papers that a hand-out can be printed on."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from reedpath.errors import PageError, SettingsError

__all__ = ["Paper", "load_paper", "paper_names", "parse_papers"]

FILE = "papers.toml"


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper: its name for the typesetter, its width and its side margins in millimetres."""

    paper: str
    width_mm: float
    margin_mm: float

    @property
    def text_width_mm(self) -> float:
        """Width between the margins, millimetres."""
        return self.width_mm - 2 * self.margin_mm


def parse_papers(text: str) -> dict[str, Paper]:
    """Papers by name, from the text of a papers file; a SettingsError names the key that does not hold."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"not a TOML file: {error}", where=FILE) from error
    return {name: _paper(values, where=f"{FILE}, [{name}]") for name, values in tables.items()}


def _paper(values: Any, *, where: str) -> Paper:
    kinds = {"paper": str, "width_mm": float, "margin_mm": float}
    if not isinstance(values, dict) or set(values) != set(kinds):
        raise SettingsError(f"a paper has the keys {', '.join(kinds)}, unlike {values!r}", where=where)
    for key, kind in kinds.items():
        if not isinstance(values[key], kind):
            raise SettingsError(f"key {key!r} is not of the right kind: {values[key]!r}", where=where)
    paper = Paper(**values)
    if not 0 <= paper.margin_mm < paper.width_mm / 2:
        raise SettingsError(
            f"key 'margin_mm' is {paper.margin_mm}: it lies from 0 up to half the width {paper.width_mm}", where=where
        )
    return paper


@cache
def _papers() -> dict[str, Paper]:
    return parse_papers((files("reedpath.page.handout") / FILE).read_text(encoding="utf-8"))


def paper_names() -> tuple[str, ...]:
    """Names of the papers that hand-outs can be set for.

    >>> paper_names()
    ('a4', 'letter')
    """
    return tuple(_papers())


def load_paper(name: str) -> Paper:
    """The paper of that name."""
    if name not in _papers():
        raise PageError(f"no paper is named {name!r}", hint=f"the papers are {', '.join(paper_names())}")
    return _papers()[name]
