"""The steps as text: Markdown with the languages one after another."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from reedpath.lesson.model import Lesson, StepBlock
from reedpath.lesson.steps import steps_of
from reedpath.wording import Catalogue, load_catalogue

__all__ = ["format_steps"]

# characters that mean something to Markdown (CommonMark 0.31, section 2.4) where a title might hold them
_MARKED = re.compile(r"([\\`*_{}\[\]<>#&|~])")
# what would begin a list at the start of a line
_LISTED = re.compile(r"^(\d+)([.)]) ")
# white space, but for the spaces that do not break
_SPACES = re.compile(r"[ \t\n\r\f\v]+")


def _escaped(text: str) -> str:
    text = _MARKED.sub(r"\\\1", _SPACES.sub(" ", text).strip())
    return _LISTED.sub(r"\1\\\2 ", text)


def _block(block: StepBlock) -> Iterator[str]:
    yield f"### {_escaped(block.title)}"
    yield ""
    yield from (f"- {_escaped(group.text)}" for group in block.groups)
    yield ""


def format_steps(lesson: Lesson, languages: Sequence[str | Catalogue] | None = None) -> str:
    """The text of ``steps.md``: title, then what the teacher says in each language.

    languages : short names of shipped languages, or catalogues; the lesson's own for None.
    """
    lines = [f"# {_escaped(lesson.title)}", ""]
    for language in lesson.languages if languages is None else languages:
        catalogue = load_catalogue(language) if isinstance(language, str) else language
        lines += [f"## {catalogue.sentence(catalogue.title).rstrip('.')}", ""]
        for block in steps_of(lesson, catalogue):
            lines += _block(block)
    return "\n".join(lines).rstrip("\n") + "\n"
