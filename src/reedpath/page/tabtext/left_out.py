"""What a lesson does not hold of its source, as plain text under the tab."""

from __future__ import annotations

from reedpath.arrange import Route
from reedpath.lesson import Lesson
from reedpath.page.score.written import left_out_of, sheet_of
from reedpath.page.tabtext.width import wrapped
from reedpath.wording import Catalogue, left_out_blocks

__all__ = ["format_left_out"]

# columns of a page of plain text, and blanks before a line; common practice, no source
PAGE_WIDTH = 80
INDENT = 2


def format_left_out(source: Lesson | Route, *, catalogue: Catalogue, width: int = PAGE_WIDTH) -> str:
    """What was left out and what was guessed, a blank line before each heading; empty for nothing.

    Parameters
    ----------
    width : columns of the page; longer lines are wrapped.
    """
    lines = []
    for block in left_out_blocks(left_out_of(sheet_of(source)), catalogue):
        lines += ["", *wrapped(block.title, width)]
        for told in block.lines:
            first, *more = wrapped(told, width - 2 * INDENT)
            lines += [" " * INDENT + first, *(" " * 2 * INDENT + one for one in more)]
    return "".join(f"{line}\n" for line in lines)
