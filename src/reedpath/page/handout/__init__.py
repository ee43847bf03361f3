"""The hand-out: one lesson as a printed sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face
from reedpath.wording import load_catalogue

if TYPE_CHECKING:
    from reedpath.lesson import Lesson
    from reedpath.page.handout.rows import change_words
    from reedpath.page.handout.typesetting import paper_names
    from reedpath.wording import Catalogue
else:
    __getattr__ = lazy_face(__name__)

__all__ = ["change_words", "encode_handout", "paper_names"]


def encode_handout(lesson: Lesson, *, catalogue: Catalogue | None = None, paper: str = "a4") -> bytes:
    """A lesson as a hand-out in PDF.

    Title, harp, position, key and tempo; how to read the tab; the score with tab; the ribbon; the steps part by
    part; what to practise apart and the tempo ladder, with boxes to tick; cautions. The same lesson gives the
    same bytes.

    Parameters
    ----------
    catalogue : language of the hand-out; the lesson's first where none is given.
    paper : name of the paper, see `paper_names`.

    Raises `PageError` for an unknown paper, and where the rhythm cannot be written.
    """
    from reedpath.page.handout.contents import contents_of
    from reedpath.page.handout.typesetting import load_paper, typeset

    language = catalogue or load_catalogue(lesson.languages[0])
    contents = contents_of(lesson, catalogue=language, paper=load_paper(paper))
    return typeset(contents)
