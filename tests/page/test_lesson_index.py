"""The index of lessons as a page."""

from __future__ import annotations

import re

import pytest
from lxml import html
from msgspec.structs import replace

from reedpath.lesson import make_lesson
from reedpath.page import IndexedLesson, encode_lesson_index, lesson_seconds
from reedpath.wording import load_catalogue
from support.built_routes import built_route

EN, FR = load_catalogue("en"), load_catalogue("fr")
LESSON = replace(make_lesson(built_route("2d:1 3d':1 4b:2", key="A", bpm=60.0)), title="Stepping stones")
ALL = frozenset({"lesson.html", "sheet.pdf", "lesson.json"})


def page(*lessons: IndexedLesson, words=EN, **more: str) -> html.HtmlElement:
    return html.fromstring(encode_lesson_index(lessons, words, **more))


def test_what_a_lesson_is_for_is_told() -> None:
    told = page(IndexedLesson(LESSON, "week 1/stones", ALL))
    facts = dict(zip(told.xpath("//dt/text()"), told.xpath("//dd/text()"), strict=True))
    assert told.xpath("//h2/a/text()") == ["Stepping stones"]
    assert facts["Harp"] == "A harp"
    assert facts["Techniques"] == "draw bends (3 draw half-step bend)"
    assert facts["Length"] == "0:04"
    assert told.xpath("//a/@href") == ["week%201/stones/lesson.html", "week%201/stones/sheet.pdf"]


def test_it_speaks_the_language_asked_for() -> None:
    told = page(IndexedLesson(LESSON, "a", ALL), words=FR)
    assert told.get("lang") == "fr"
    assert told.xpath("//h1/text()") == ["1 leçon"]


def test_only_what_is_there_is_linked() -> None:
    assert page(IndexedLesson(LESSON, "a", frozenset())).xpath("//a") == []
    assert page(IndexedLesson(LESSON, ".", ALL)).xpath("//h2/a/@href") == ["lesson.html"]
    assert page(IndexedLesson(LESSON, "a", frozenset()), all_sheets="sheets.pdf").xpath("//a/@href") == ["sheets.pdf"]
    links = "//p[@class='links']/a/@href"
    assert page(IndexedLesson(LESSON, ".", ALL), all_sheets="sheets.pdf").xpath(links) == ["sheets.pdf", "sheet.pdf"]


@pytest.mark.parametrize("title", ["</main><script>alert(1)</script>", 'a"b&amp;', "{title}", "\u202eabc"])
def test_titles_stay_text(title: str) -> None:
    told = page(IndexedLesson(replace(LESSON, title=title), "x/<y>", ALL))
    assert told.xpath("//script") == []
    assert len(told.xpath("//h2")) == 1
    assert "".join(told.xpath("//h2")[0].itertext()) == replace(LESSON, title=title).title


def test_nothing_is_fetched() -> None:
    text = encode_lesson_index([IndexedLesson(LESSON, "a", ALL)], EN).decode()
    policy = html.fromstring(text).xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0]
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    assert "script-src" not in policy
    assert not re.search(r"https?:|url\(|src=", text)


def test_seconds_are_those_of_the_full_tempo() -> None:
    assert lesson_seconds(LESSON) == pytest.approx(4.0)
