"""The page of a lesson of several pieces as a file: one document, each piece with what a lesson page has."""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Sequence
from itertools import pairwise

import pytest
from lxml import html

from reedpath.data import replace
from reedpath.errors import PageError
from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    Piece,
    VariantKind,
    play_through_rounds,
    single_lesson,
    steps_of,
)
from reedpath.page import CountInBeat, PageSound, encode_lesson_page, encode_page_of_pieces
from reedpath.page.web.pieces import named_apart
from reedpath.phrase import timing_of
from reedpath.wording import CAUTIONS, load_catalogue
from support.pieces import NOTE, doors, lesson_of_pieces, nothing, porch, porch_easy, sixth

pytestmark = pytest.mark.slow
HOSTILE = (
    "</script><script>sting()</script>\"'><img src=x onerror=sting()>]]>--><!--\x00\u2028{$title}\ud800&amp; "
    'id="play"'
)


def sounds_of(lesson: Lesson, name: str) -> list[PageSound]:
    """Sounds with the times of the phrase's own tempo, a second of count-in first; their bytes tell them apart."""
    made = []
    for rung in lesson.ladder:
        timing = timing_of(lesson.route.phrase).scaled(rung.factor)
        events = [one.event for one in lesson.route.events]
        made.append(
            PageSound(
                rung,
                "audio/mpeg",
                f"{name} {rung.name}".encode(),
                starts=tuple(1.0 + timing.seconds_at(event.onset) for event in events),
                ends=tuple(1.0 + timing.seconds_at(event.end) for event in events),
                bar_end_seconds=1.0 + timing.seconds_at(lesson.route.phrase.end + 1),
                counts=(CountInBeat(0.1, 1), CountInBeat(0.55, 2)),
            )
        )
    return made


def encoded(lesson: LessonOfPieces, languages: Sequence[str] | None = None) -> bytes:
    sounds = [sounds_of(piece.lesson, piece.folder) for piece in lesson.pieces]
    return encode_page_of_pieces(lesson, sounds=sounds, languages=languages)


def page_of(lesson: LessonOfPieces, languages: Sequence[str] | None = None) -> html.HtmlElement:
    return html.document_fromstring(encoded(lesson, languages))


def data_of(page: html.HtmlElement) -> dict:
    return json.loads(page.xpath("//script[@type='application/json']/text()")[0])


def test_every_name_in_the_document_is_there_once_and_leads_somewhere() -> None:
    page = page_of(lesson_of_pieces())
    names = page.xpath("//@id")
    assert len(names) == len(set(names))
    led_to = [*page.xpath("//@for"), *page.xpath("//@aria-labelledby"), *(one[1:] for one in page.xpath("//@href"))]
    assert [one for one in led_to if one not in names and one] == []
    # radio buttons of one lesson are never those of another
    groups = {
        name: {one[: one.index("-") + 1] for one in page.xpath(f"//input[@name='{name}']/@id")}
        for name in set(page.xpath("//input[@type='radio']/@name"))
    }
    assert all(len(prefixes) == 1 for prefixes in groups.values())


def test_a_list_at_the_top_leads_to_each_piece_in_order() -> None:
    page = page_of(lesson_of_pieces())
    links = page.xpath("//nav[@class='pieces']//a")
    assert [link.get("href") for link in links] == ["#piece-1", "#piece-3", "#piece-4", "#piece-5", "#piece-all"]
    assert [link.xpath("string(b)") for link in links][2:] == [
        "Piece 3: Two doors", "Piece 4: Over the sixth", "All in a row",
    ]  # fmt: skip
    assert links[2].xpath("string(small)") == "D harp · ♩ = 84"
    shown = [name for name in page.xpath("//main/section/@id") if name.startswith("piece-")]
    assert shown == [link.get("href")[1:] for link in links]


def test_each_piece_has_what_a_lesson_page_has() -> None:
    lesson = lesson_of_pieces()
    page = page_of(lesson)
    for place, piece in enumerate(lesson.pieces, start=1):
        (scope,) = page.xpath(f"//div[@id='p{place}-lesson']")
        assert scope.xpath(f".//section[@id='p{place}-player']")
        assert len(scope.xpath(".//audio[@src]")) == len(piece.lesson.ladder)
        assert len(scope.xpath(f".//input[@name='p{place}-rung']")) == len(piece.lesson.ladder)
        assert scope.xpath(".//*[contains(@class, 'strip')]")
        assert scope.xpath(".//pre")
        assert scope.xpath(f".//*[@id='p{place}-chart']")
        told = scope.text_content()
        for block in steps_of(piece.lesson, "en"):
            assert all(step.text in told for step in block.steps if step.kind not in ("spot", "ladder"))


def test_sounds_stand_in_their_own_piece() -> None:
    lesson = lesson_of_pieces()
    page = page_of(lesson)
    for place, piece in enumerate(lesson.pieces, start=1):
        held = page.xpath(f"//div[@id='p{place}-lesson']//audio/@src")
        told = [base64.b64decode(one.split(",")[1]).decode() for one in held]
        assert told == [f"{piece.folder} {rung.name}" for rung in piece.lesson.ladder]


def test_what_they_share_is_said_once() -> None:
    page = page_of(lesson_of_pieces())
    assert len(page.xpath("//details[contains(@class, 'keyboard')]")) == 1
    english = page.xpath("//*[@class='told'][@lang='en']")
    everything = " ".join(one.text_content() for one in english)
    assert NOTE["en"] in everything
    for name in CAUTIONS:
        cautions = " ".join(page.xpath("//ul[@class='cautions']//text()"))
        assert cautions.count(load_catalogue("en").say(f"caution.{name}")) == 1
    data = data_of(page)
    assert "say" in data["words"]["en"]
    assert all("say" not in one["words"]["en"] for one in data["lessons"])


def test_a_change_of_harp_is_told_before_the_piece() -> None:
    page = page_of(lesson_of_pieces())
    assert "Take the D harp now." in page.xpath("string(//section[@id='piece-4']/div[@class='told'])")
    assert "harmonica en ré" in " ".join(page.xpath("//section[@id='piece-4']/div[@lang='fr']//text()"))


def test_the_levels_of_a_piece_can_be_chosen_between() -> None:
    page = page_of(lesson_of_pieces())
    (group,) = page.xpath("//fieldset[contains(@class, 'versions')]")
    assert [one.text_content() for one in group.xpath(".//label")] == ["Steady", "Easy"]
    assert data_of(page)["pieces"][0] == {"name": "piece-1", "lessons": [0, 1]}
    assert page.xpath("//section[@id='piece-1']/div[@class='lesson']/@id") == ["p1-lesson", "p2-lesson"]


def test_headings_skip_no_level() -> None:
    page = page_of(lesson_of_pieces())
    levels = [int(one.tag[1]) for one in page.xpath("//*[self::h1 or self::h2 or self::h3 or self::h4]")]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_nothing_comes_from_outside_and_nothing_else_may_run() -> None:
    text = encoded(lesson_of_pieces()).decode()
    assert re.findall(r"https?:|//[a-z]+\.[a-z]", text.replace("http://www.w3.org/2000/svg", "")) == []
    page = html.document_fromstring(text.encode())
    assert page.xpath("//link | //iframe | //img | //object | //form | //@style") == []
    assert [name for name in page.xpath("//@*") if getattr(name, "attrname", "").startswith("on")] == []
    policy = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0]
    assert "default-src 'none'" in policy


def test_hostile_titles_stay_titles() -> None:
    lesson = lesson_of_pieces(title=HOSTILE, notes={"en": HOSTILE})
    hurt = replace(
        lesson, pieces=tuple(replace(one, lesson=replace(one.lesson, title=HOSTILE)) for one in lesson.pieces)
    )
    page = page_of(hurt)
    names = page.xpath("//@id")
    assert len(names) == len(set(names))
    assert len(page.xpath("//script")) == 2
    assert page.xpath("//img") == []
    assert data_of(page)["words"]["en"]["pieces"][0]["heading"].endswith('id="play"')


def test_names_in_texts_stay_as_they_are() -> None:
    text = (
        '<p id="a" class="b" data-say="c">id=&quot;d&quot; href="#e"</p><use href="#icon-play"/><use href="#sign-1"/>'
    )
    assert named_apart(text, "p1-") == (
        '<p id="p1-a" class="b" data-say="c">id=&quot;d&quot; href="#e"</p>'
        '<use href="#icon-play"/><use href="#p1-sign-1"/>'
    )


def test_one_piece_alone_is_the_page_of_its_lesson() -> None:
    lesson = LessonOfPieces("Alone", (Piece("1", porch()),), author="A. Teacher (invented)")
    only = single_lesson(lesson)
    assert only is not None
    assert encoded(lesson) == encode_lesson_page(only, sounds=sounds_of(porch(), "1"))


def test_a_piece_of_nothing_keeps_its_place_and_has_no_player() -> None:
    lesson = LessonOfPieces("With a gap", (Piece("1", porch()), Piece("2", nothing()), Piece("3", sixth())))
    sounds = [sounds_of(porch(), "1"), [], sounds_of(sixth(), "3")]
    page = html.document_fromstring(encode_page_of_pieces(lesson, sounds=sounds))
    assert page.xpath("//section[@id='piece-2']//audio") == []
    assert [one["sounds"] != [] for one in data_of(page)["lessons"]] == [True, False, True]


def test_sounds_of_another_piece_are_refused() -> None:
    lesson = LessonOfPieces("Two", (Piece("1", porch()), Piece("2", doors())))
    with pytest.raises(PageError):
        encode_page_of_pieces(lesson, sounds=[sounds_of(doors(), "2"), sounds_of(porch(), "1")])
    with pytest.raises(PageError):
        encode_page_of_pieces(lesson, sounds=[[], []], languages=[])


def test_the_same_lesson_gives_the_same_bytes() -> None:
    lesson = LessonOfPieces("Two", (Piece("1", porch()), Piece("2", porch_easy(), 0, VariantKind.LEVEL)))
    assert encoded(lesson) == encoded(lesson)


def test_the_rounds_are_played_by_the_sounds_that_come_nearest() -> None:
    lesson = lesson_of_pieces()
    page = page_of(lesson)
    rounds = data_of(page)["rounds"]
    assert [one["lesson"] for one in rounds[0]] == [0, 3, 4]
    for told, wanted in zip(rounds, play_through_rounds(lesson), strict=True):
        for one, played in zip(told, wanted, strict=True):
            ladder = lesson.pieces[played.piece].lesson.ladder
            assert ladder[one["sound"]].bpm * one["rate"] == pytest.approx(played.rung.bpm, rel=0.03)
    assert {one["rate"] for one in rounds[-1]} == {1.0}
    assert page.xpath("//div[@lang='en']//button/@data-round") == ["0", "1", "2"]
    silent = encode_page_of_pieces(lesson, sounds=[[] for _ in lesson.pieces])
    assert html.document_fromstring(silent).xpath("//button/@data-round") == []


def test_a_level_at_which_nothing_is_played_otherwise_says_so() -> None:
    easy = replace(porch(), route=replace(porch().route, level="easy"))
    page = page_of(LessonOfPieces("Same", (Piece("1", porch()), Piece("2", easy, 0, VariantKind.LEVEL))))
    told = [page.xpath(f"string(//div[@id='p{place}-lesson']/div[@class='told'][@lang='en'][1])") for place in (1, 2)]
    assert told[1] == "At this level it is played just the same."
    assert "the same" not in told[0]
