"""The hand-out: one lesson, or one of several pieces, as a printed sheet in PDF."""

from __future__ import annotations

from reedpath.lesson import Lesson, LessonOfPieces, single_lesson
from reedpath.page.handout.contents import contents_of
from reedpath.page.handout.pieces import contents_of_pieces
from reedpath.page.handout.typesetting import load_paper, typeset_on_fewest
from reedpath.wording import Catalogue, load_catalogue


def encode_handout(lesson: Lesson, *, catalogue: Catalogue | None = None, paper: str = "a4") -> bytes:
    """A lesson as a hand-out in PDF.

    Title, harp, position, key and tempo; how to read the tab; the score with tab; the ribbon; the steps part by
    part; what to practise apart and the tempo ladder, with boxes to tick; cautions. The same lesson gives the
    same bytes.

    catalogue : language of the hand-out; the lesson's first where none is given.
    paper : name of the paper, see `paper_names`.

    Raises `PageError` for an unknown paper, and where the rhythm cannot be written.
    """
    language = catalogue or load_catalogue(lesson.languages[0])
    contents = contents_of(lesson, catalogue=language, paper=load_paper(paper))
    return typeset_on_fewest(contents)


def encode_handout_of_pieces(
    lesson: LessonOfPieces, *, catalogue: Catalogue | None = None, paper: str | None = None
) -> bytes:
    """A lesson of several pieces as one hand-out in PDF.

    Title, the pieces with their harps and tempos; once for all, how to read the tab and what harps to have at hand;
    then each piece with its score, its ribbon, its steps and tempos, kept on one page where it fits one; cautions. A
    piece at several levels has one score, with every tab under it. A lesson of one piece alone is that piece's own
    hand-out. The same lesson gives the same bytes.

    catalogue : language of the hand-out; the lesson's first where none is given.
    paper : name of the paper, see `paper_names`; the lesson's own where none is given.

    Raises `PageError` for an unknown paper, and where a rhythm cannot be written.
    """
    language = catalogue or load_catalogue(lesson.languages[0])
    only = single_lesson(lesson)
    if only is not None:
        return encode_handout(only, catalogue=language, paper=paper or lesson.paper)
    return typeset_on_fewest(contents_of_pieces(lesson, catalogue=language, paper=load_paper(paper or lesson.paper)))
