"""The index of many lessons as one HTML page: what each is for, and where its page and its hand-out lie."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from urllib.parse import quote

from msgspec import Struct

from reedpath.data import shipped_text
from reedpath.lesson import Lesson, LessonOfPieces, phrases_taught, techniques_words_of_all
from reedpath.page.handout.contents import facts_of, title_words
from reedpath.page.web.assets import format_inks
from reedpath.page.web.document import plain_page
from reedpath.page.web.markup import element, text
from reedpath.phrase import timing_of
from reedpath.wording import Catalogue, clock_words

# between what differs from piece to piece
BETWEEN = " · "


class IndexedLesson(Struct, frozen=True):
    """A lesson of an index.

    lesson : the lesson itself, of one phrase or of several pieces.
    place : path of its folder from the index, with forward slashes.
    files : names of the files in it.
    """

    lesson: Lesson | LessonOfPieces
    place: str
    files: frozenset[str]

    def address(self, name: str) -> str | None:
        """Where a file of it lies, as a link from the index; None where there is none."""
        if name not in self.files:
            return None
        return "/".join(quote(part) for part in (*self.place.split("/"), name) if part not in ("", "."))


def lesson_seconds(lesson: Lesson | LessonOfPieces) -> float:
    """How long the phrase of a lesson lasts at its full tempo, or all its pieces one after the other, seconds."""
    phrases = [one.route.phrase for one in phrases_taught(lesson)]
    return sum(timing_of(phrase).seconds_at(phrase.end) for phrase in phrases)


def _link(address: str | None, label: str) -> str:
    return text(label) if address is None else element("a", text(label), href=address)


def _cells(one: IndexedLesson, words: Catalogue) -> Iterator[tuple[str, str]]:
    """Label and HTML of what is told of a lesson, its title aside; of several pieces all that differs."""
    taught = phrases_taught(one.lesson)
    if isinstance(one.lesson, LessonOfPieces):
        titles = dict.fromkeys(title_words(lesson, words) for lesson in taught)
        if len(titles) > 1:
            named = [words.say("part.named", label=title) for title in titles]
            yield words.say("index.pieces"), text(words.join(named))
    facts: dict[str, dict[str, None]] = {}
    for lesson in taught:
        for fact in facts_of(lesson.route, words):
            facts.setdefault(fact["label"], {})[fact["value"]] = None
    for label, values in facts.items():
        yield label, text(BETWEEN.join(values))
    asked = techniques_words_of_all([lesson.route for lesson in taught], words)
    yield words.say("index.techniques"), text(words.join(list(asked)) if asked else words.say("technique.single"))
    yield words.say("index.length"), clock_words(lesson_seconds(one.lesson))


def _row(one: IndexedLesson, words: Catalogue) -> str:
    page, sheet = one.address("lesson.html"), one.address("sheet.pdf")
    title = title_words(one.lesson, words) if isinstance(one.lesson, Lesson) else one.lesson.title
    heading = element("h2", _link(page, title))
    links = element("p", _link(sheet, words.say("index.sheet")), class_="links") if sheet is not None else ""
    facts = "".join(
        element("div", element("dt", text(label)) + element("dd", told)) for label, told in _cells(one, words)
    )
    return element("li", heading + element("dl", facts) + links)


def encode_lesson_index(
    lessons: Sequence[IndexedLesson], words: Catalogue, *, all_sheets: str | None = None
) -> bytes:
    """
    The page; it needs no network and no script.

    lessons : in the order wanted.
    words : the language of the page.
    all_sheets : name of a file beside the page that holds all hand-outs.
    """
    title = words.say("index.title", count=len(lessons))
    style = format_inks() + shipped_text("reedpath.page.web", "lesson_index.css")
    content = element("h1", text(title))
    if all_sheets is not None:
        content += element("p", _link(quote(all_sheets), words.say("index.all_sheets")), class_="links")
    content += "\n" + element("ol", "\n".join(_row(one, words) for one in lessons), class_="lessons")
    return plain_page(title, content, style, words.name)
