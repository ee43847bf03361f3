"""The lesson page: one lesson as one HTML file that students open in a browser, its sounds inside."""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.lesson import Lesson, LessonOfPieces, single_lesson
from reedpath.page.web.contents import contents_of
from reedpath.page.web.document import format_document
from reedpath.page.web.pieces import format_pieces
from reedpath.page.web.sounds import PageSound
from reedpath.wording import Catalogue, load_catalogue


def encode_lesson_page(
    lesson: Lesson, *, sounds: Sequence[PageSound], languages: Sequence[str | Catalogue] | None = None
) -> bytes:
    """A lesson as one HTML file that needs no network: ribbon, tab, steps and sounds, in several languages.

    Without script it is a page to read with the sounds to play; with it, the ribbon runs with the sound and every
    part can be looped and slowed. The same lesson and sounds give the same bytes.

    sounds : the phrase at each tempo, slow to full; none gives a page without sound.
    languages : short names of shipped languages, or catalogues, the first to be seen first; the lesson's own for
        None.

    Raises `PageError` for sounds that do not fit the lesson, no language, and where the rhythm cannot be written.
    """
    catalogues = _catalogues(lesson.languages if languages is None else languages)
    page = format_document(contents_of(lesson, sounds=sounds, catalogues=catalogues))
    return page.encode("utf-8", errors="replace")


def _catalogues(languages: Sequence[str | Catalogue]) -> list[Catalogue]:
    return [load_catalogue(one) if isinstance(one, str) else one for one in languages]


def encode_page_of_pieces(
    lesson: LessonOfPieces,
    *,
    sounds: Sequence[Sequence[PageSound]],
    languages: Sequence[str | Catalogue] | None = None,
) -> bytes:
    """A lesson of several pieces as one HTML file that needs no network.

    A list at the top leads to each piece, which has all that the page of a lesson has: ribbon, steps, a player at
    each tempo. One piece is seen at a time, one of its levels, and only one sounds; without script, and in print,
    they follow one another. A lesson of one piece alone is that piece's own page.

    sounds : of each piece, in the lesson's order: its phrase at each tempo, slow to full; none for no sound.
    languages : as for `encode_lesson_page`.

    Raises `PageError` for sounds that do not fit their piece, no language, and where a rhythm cannot be written.
    """
    only = single_lesson(lesson)
    if only is not None:
        return encode_lesson_page(only, sounds=sounds[0], languages=languages)
    catalogues = _catalogues(lesson.languages if languages is None else languages)
    page = format_pieces(lesson, sounds=sounds, catalogues=catalogues)
    return page.encode("utf-8", errors="replace")
