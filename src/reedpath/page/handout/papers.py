"""Papers that a hand-out can be printed on."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from reedpath.errors import PageError

__all__ = ["Paper", "load_paper", "paper_names"]


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


@cache
def _papers() -> dict[str, Paper]:
    text = (files("reedpath.page.handout") / "papers.toml").read_text(encoding="utf-8")
    return {name: Paper(**values) for name, values in tomllib.loads(text).items()}


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
