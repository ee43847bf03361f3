"""The steps as text: Markdown with the languages one after another."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from reedpath.lesson.model import Lesson, StepBlock
from reedpath.lesson.steps import steps_of
from reedpath.wording import Catalogue, load_catalogue

# characters that mean something to Markdown (CommonMark 0.31, section 2.4) where a title might hold them
_MARKED = re.compile(r"([\\`*_{}\[\]<>#&|~])")
# what would begin a list at the start of a line
_LISTED = re.compile(r"^(\d+)([.)]) ")
# white space, but for the spaces that do not break
_SPACES = re.compile(r"[ \t\n\r\f\v]+")


def flat(text: str) -> str:
    """A text on one line; spaces that do not break stay."""
    return _SPACES.sub(" ", text).strip(" ")


def escaped(text: str) -> str:
    """A text on one line that means to Markdown what it says."""
    text = _MARKED.sub(r"\\\1", flat(text))
    return _LISTED.sub(r"\1\\\2 ", text)


def block_lines(block: StepBlock, *, depth: int = 3) -> Iterator[str]:
    """The lines of a block, its heading with so many marks."""
    yield f"{'#' * depth} {escaped(block.title)}"
    yield ""
    yield from (f"- {escaped(group.text)}" for group in block.groups if group.text)
    yield ""


def language_heading(catalogue: Catalogue) -> str:
    """The heading of a language's steps: its own name."""
    return catalogue.sentence(catalogue.title).rstrip(".")


def format_steps(lesson: Lesson, languages: Sequence[str | Catalogue] | None = None) -> str:
    """The text of ``steps.md``: title, then what the teacher says in each language.

    languages : short names of shipped languages, or catalogues; the lesson's own for None.
    """
    lines = [f"# {escaped(lesson.title)}", ""]
    for language in lesson.languages if languages is None else languages:
        catalogue = load_catalogue(language) if isinstance(language, str) else language
        lines += [f"## {language_heading(catalogue)}", ""]
        for block in steps_of(lesson, catalogue):
            lines += block_lines(block)
    return "\n".join(lines).rstrip("\n") + "\n"
