"""Tab as text: a lesson in a monospace face, tab aligned under counted beats."""

from __future__ import annotations

from itertools import groupby

from reedpath.arrange import Route
from reedpath.lesson import Lesson
from reedpath.page.score.sheet import left_out_of, sheet_of
from reedpath.page.score.tokens import marks_for
from reedpath.page.tabtext.columns import Section, columns_of, folded
from reedpath.page.tabtext.header import header_of
from reedpath.page.tabtext.systems import MARGIN, set_systems, wrapped
from reedpath.wording import Catalogue, left_out_blocks, load_catalogue

__all__ = ["format_left_out", "format_tab"]

# columns of a page of plain text; common practice, no source
PAGE_WIDTH = 80


def _again(section: Section, catalogue: Catalogue, breath: str) -> str:
    """The line that stands for a part printed before."""
    first, last = section.first_bar, section.last_bar
    bars = catalogue.say("sheet.bars", first=first, last=last, count=last - first + 1)
    words = f"[{section.label}] {catalogue.say('tab.again', label=section.as_label)} ({bars})"
    return f"{words} {breath}" if section.breathes_after else words


def format_tab(
    source: Lesson | Route,
    *,
    notation: str | None = None,
    catalogue: Catalogue | None = None,
    note_names: bool = False,
    fold_repeats: bool = True,
    width: int = PAGE_WIDTH,
    ascii_only: bool = False,
) -> str:
    """A lesson or a route as tab text.

    A header says title, harp, position, key, tempo and the signs used; then come systems of a few bars, the
    count above, the tab below, each token under the moment it starts. A note that goes on is shown at each
    counted place, a rest is left blank.

    Parameters
    ----------
    notation : name of the tab notation; the lesson's own where none is given.
    catalogue : language of the words in it, English where none is given.
    note_names : whether a row under the tab names the notes.
    fold_repeats : whether a part that repeats an earlier one bar for bar is only named.
    width : columns of the page; a token longer than that is left to stick out.
    ascii_only : whether only ASCII signs stand in the tab.

    Raises `PageError` where the rhythm or metre cannot be written.
    """
    language = catalogue or load_catalogue("en")
    sheet = sheet_of(source, notation=notation)
    if not sheet.notes:
        return "\n".join(
            [*header_of(sheet, language, width=width, ascii_only=ascii_only), "", language.say("route.empty"), ""]
        )
    lines = header_of(sheet, language, width=width, ascii_only=ascii_only)
    columns = columns_of(sheet, names_in=language if note_names else None, ascii_only=ascii_only)
    marks = marks_for(ascii_only=ascii_only)
    sections = folded(sheet, columns) if fold_repeats else [Section(columns)]
    for is_printed, group in groupby(sections, key=lambda section: not section.as_label):
        if not is_printed:
            lines += ["", *(" " * MARGIN + _again(section, language, marks.breath) for section in group)]
            continue
        printed = [column for section in group for column in section.columns]
        for system in set_systems(printed, width=width, marks=marks):
            lines += ["", *system]
    return "\n".join(lines) + "\n"


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
