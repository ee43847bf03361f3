"""The overview of many takes as one HTML page to print or to read from: no network, no script."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from urllib.parse import quote

from reedpath.data import shipped_text
from reedpath.page.takes.overview import TakeChange, TakesOverview, ToldTake
from reedpath.page.takes.overview_words import (
    by_student,
    change_words,
    common_words,
    counted_words,
    days_words,
    heard_words,
    left_words,
    lesson_words,
    place_words,
    student_words,
    unanswered_words,
    when_words,
)
from reedpath.page.web.assets import format_inks
from reedpath.page.web.document import plain_page
from reedpath.page.web.markup import element, text
from reedpath.wording import Catalogue

# signs before a change, so that it is seen at a glance and without colour; hidden from a screen reader, which reads
# the words
_SIGNS = {
    TakeChange.BETTER: "▲",
    TakeChange.FASTER: "▲",
    TakeChange.WORSE: "▼",
    TakeChange.SLOWER: "▼",
    TakeChange.SAME: "=",
    TakeChange.FIRST: "●",
}
# files of an answer that are linked, by the key of their name in the catalogues
_LINKED = (("answer.txt", "week.answer"), ("take.svg", "week.picture"), ("drill-1.mp3", "week.drill"))


def _links(take: ToldTake, words: Catalogue) -> str:
    linked = [
        element("a", text(words.say(key)), href=f"{quote(take.folder)}/{quote(name)}")
        for name, key in _LINKED
        if name in take.files
    ]
    return element("p", " ".join(linked), class_="links") if linked else ""


def _take(pieces: Sequence[ToldTake], words: Catalogue) -> Iterator[str]:
    """A take; of several pieces, each that is heard in it."""
    is_first = all(take.last is None for take in pieces)
    title = element("b", text(lesson_words(pieces, words)))
    head = f"{title} {text(when_words(pieces[0]))}<br>"
    for take in pieces:
        yield element("p", head + text(heard_words(take, words, with_piece=len(pieces) > 1)))
        head, change = "", change_words(take, words)
        if change and (take.last is not None or (is_first and take is pieces[-1])):
            sign = element("span", _SIGNS[take.change], aria_hidden="true", class_="sign")
            lines = "<br>".join(text(one) for one in (change, *place_words(take, words)))
            yield element("p", sign + lines, class_="change")
    for take in pieces:
        if take.say:
            told = "".join(element("p", text(one)) for one in take.say)
            yield element("div", element("h3", text(words.say("week.say"))) + told, class_="say")
    yield _links(pieces[0], words)


def _listed(heading: str, lines: list[str]) -> str:
    if not lines:
        return ""
    return element(
        "section", element("h2", text(heading)) + element("ul", "".join(element("li", text(one)) for one in lines))
    )


def encode_takes_page(overview: TakesOverview, words: Catalogue) -> bytes:
    """The page; it needs no network and no script."""
    title, days = words.say("week.title"), days_words(overview, words)
    content = element("h1", text(f"{title}, {days}" if days else title))
    content += element("p", text(counted_words(overview, words)), class_="counted")
    cards = [
        element("li", element("h2", text(student_words(student, words))) + "".join(
            part for pieces in takes for part in _take(pieces, words)
        ))
        for student, takes in by_student(overview)
    ]  # fmt: skip
    if cards:
        content += element("ol", "\n".join(cards), class_="takes")
    if any(not one.student for one in overview.takes):
        content += element("p", text(words.say("week.who_hint")))
    content += _listed(words.say("week.common"), [common_words(one, words) for one in overview.common])
    content += _listed(words.say("week.unanswered"), [unanswered_words(one, words) for one in overview.unanswered])
    content += "".join(element("p", text(one)) for one in left_words(overview, words))
    style = format_inks() + shipped_text("reedpath.page.takes", "overview.css")
    return plain_page(title, content, style, words.name)
