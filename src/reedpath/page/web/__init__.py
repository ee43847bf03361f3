"""The lesson page: one lesson as one HTML file that students open in a browser, its sounds inside."""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.lesson import Lesson
from reedpath.page.web.contents import contents_of
from reedpath.page.web.document import format_document
from reedpath.page.web.sounds import CountInBeat, PageSound
from reedpath.wording import Catalogue, load_catalogue

__all__ = ["CountInBeat", "PageSound", "encode_lesson_page"]


def encode_lesson_page(
    lesson: Lesson, *, sounds: Sequence[PageSound], languages: Sequence[str | Catalogue] | None = None
) -> bytes:
    """A lesson as one HTML file that needs no network: ribbon, tab, steps and sounds, in several languages.

    Without script it is a page to read with the sounds to play; with it, the ribbon runs with the sound and every
    part can be looped and slowed. The same lesson and sounds give the same bytes.

    Parameters
    ----------
    sounds : the phrase at each tempo, slow to full; none gives a page without sound.
    languages : short names of shipped languages, or catalogues, the first to be seen first; the lesson's own for
        None.

    Raises
    ------
    PageError
        For sounds that do not fit the lesson, no language, and where the rhythm cannot be written.
    """
    chosen = lesson.languages if languages is None else languages
    catalogues = [load_catalogue(one) if isinstance(one, str) else one for one in chosen]
    page = format_document(contents_of(lesson, sounds=sounds, catalogues=catalogues))
    return page.encode("utf-8", errors="replace")
