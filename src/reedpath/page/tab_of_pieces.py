"""The tab of a lesson of several pieces as text: one after the other, the levels of a piece below one another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reedpath.lesson import Lesson, LessonOfPieces, in_language
from reedpath.page.handout.piece_groups import PieceGroup, groups_of_pieces, said_of_pieces, unlike_versions
from reedpath.page.score.elements import clean_text
from reedpath.page.score.sheet import sheet_of
from reedpath.page.tabtext.printing import PAGE_WIDTH, format_left_out, format_tab, format_versions
from reedpath.page.tabtext.systems import columns_of_text, wrapped
from reedpath.wording import Catalogue


def _stand_together(lessons: Sequence[Lesson]) -> bool:
    """Whether several tabs have the same bars, all of them, and notes to print."""
    sheets = [sheet_of(lesson) for lesson in lessons]
    ends = {tuple((bar.onset, bar.end) for bar in sheet.bars) for sheet in sheets}
    return len(ends) == 1 and all(sheet.notes for sheet in sheets)


def _tabs(lesson: LessonOfPieces, group: PieceGroup, catalogue: Catalogue) -> Iterator[str]:
    """The tab of a piece: its versions together where they can be, and what was left out of its source."""
    unlike, names = unlike_versions(lesson, group, catalogue)
    lessons = [in_language(version, catalogue.name) for version in unlike]
    if len(lessons) > 1 and _stand_together(lessons):
        yield format_versions(dict(zip(names, lessons, strict=True)), catalogue=catalogue)
    else:
        for name, version in zip(names, lessons, strict=True):
            heading = f"{name}\n\n" if len(lessons) > 1 else ""
            yield heading + format_tab(version, catalogue=catalogue)
    left_out = dict.fromkeys(format_left_out(version, catalogue=catalogue) for version in lessons)
    yield from (text for text in left_out if text)


def format_tab_of_pieces(lesson: LessonOfPieces, *, catalogue: Catalogue, width: int = PAGE_WIDTH) -> str:
    """All pieces as tab text, each under its heading with what is said before it.

    Raises `PageError` where a rhythm or metre cannot be written.
    """
    groups = groups_of_pieces(lesson)
    said = said_of_pieces(lesson, groups, catalogue)
    texts = [line for line in wrapped(clean_text(lesson.title), width)]
    blocks = ["\n".join(texts)] if texts else []
    for group, heading, before in zip(groups, said.headings, said.before, strict=True):
        lines = wrapped(clean_text(heading), width)
        lines.append("-" * max((columns_of_text(line) for line in lines), default=0))
        lines += [part for line in before for part in wrapped(clean_text(line), width)]
        blocks.append("\n".join(lines) + "\n\n" + "".join(_tabs(lesson, group, catalogue)).rstrip("\n"))
    return "\n\n\n".join(blocks) + "\n"
