"""Bars are told by their numbers in the source on every page, and from the second time on by the time."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
from msgspec.structs import replace

from reedpath.arrange import Spot
from reedpath.lesson import Drill, steps_of
from reedpath.page import Label, format_tab, ribbon_of
from reedpath.page.engrave.engraver import engrave_score
from reedpath.page.handout.rows import place_of
from reedpath.page.ribbon.svg import event_labels
from reedpath.page.score.musicxml import encode_musicxml
from reedpath.page.score.sheet import sheet_of
from reedpath.wording import load_catalogue
from support.built_routes import built_route, in_source_bars
from support.musicxml_schema import assert_valid
from support.routes import lesson_of

ENGLISH = load_catalogue("en")
# bars 5 to 7 of a source, 5 and 6 played again, a bar of four eighths and a half note each
ROUTE = in_source_bars(
    built_route("4b 4d 5b 5d 6b:2 6d 6b 5d 5b 4d:2 4b 4d 5b 5d 6b:2 6d 6b 5d 5b 4d:2 2d'' 3d'' 2d 3d' 4b:2"),
    [bar for bar in (5, 6, 5, 6, 7) for _ in range(5)],
)
EXCERPT = in_source_bars(built_route("4b 4d 5b 5d 6b:2 6d 6b 5d 5b 4d:2"), [5] * 5 + [6] * 5)
LESSON = lesson_of(ROUTE, parts=[("A", 0, 9, None), ("C", 10, 19, 0), ("B", 20, 24, None)])


def test_systems_of_the_tab_begin_with_their_bars_numbers() -> None:
    lines = format_tab(ROUTE, width=50).splitlines()
    begin = [line.partition("|")[0].strip() for line in lines if "| " in line]
    assert begin == ["5", "6", "5 (2)", "6 (2)", "7"]
    assert any("5 (2)  bar 5, 2nd time" in line for line in lines)
    assert "time" not in format_tab(EXCERPT)


def test_an_earlier_part_is_named_by_its_bars() -> None:
    assert "[C] as part A (bars 5 to 6)" in format_tab(LESSON)


def test_measures_are_numbered_as_the_source_does_or_show_its_numbers() -> None:
    def numbers(data: bytes) -> list[tuple[str | None, str | None]]:
        assert_valid(data)
        return [(one.get("number"), one.get("text")) for one in ET.fromstring(data).iter("measure")]

    assert numbers(encode_musicxml(EXCERPT)) == [("5", None), ("6", None)]
    assert numbers(encode_musicxml(ROUTE)) == [("1", "5"), ("2", "6"), ("3", "5 (2)"), ("4", "6 (2)"), ("5", "7")]
    assert numbers(encode_musicxml(LESSON, fold_repeats=True)) == [("5", None), ("6", None), ("7", None)]


def test_the_engraved_score_shows_them() -> None:
    route = in_source_bars(
        built_route("4b 4d 5b 5d 6b 6d 7b 6d " * 12), [bar for bar in (3, 4, 5) * 4 for _ in range(8)]
    )
    texts = {one.text for one in ET.fromstring(engrave_score(encode_musicxml(route))).iter() if one.text}
    assert texts & {"4 (2)", "5 (2)", "3 (2)", "3 (3)"}
    assert not texts & {"6", "7", "8", "9", "10", "11", "12"} - {"6", "7"}


def test_the_ribbon_and_its_words() -> None:
    labels = [shape for system in ribbon_of(ROUTE).systems for shape in system.under if isinstance(shape, Label)]
    assert [one.text for one in labels if one.role == "number_text"] == ["5", "6", "5 (2)", "6 (2)", "7"]
    words = event_labels(ROUTE, ENGLISH)
    assert words[0] == "bar 5, 4 blow"
    assert words[10] == "bar 5, 2nd time, 4 blow"
    assert event_labels(ROUTE, load_catalogue("fr"))[10] == "mesure 5, 2e fois, 4 soufflé"


@pytest.mark.parametrize(
    ("first", "last", "says"),
    [
        (0, 9, "bars 5 to 6"),
        (10, 19, "bars 5 to 6, 2nd time"),
        (5, 14, "bar 6 and bar 5, 2nd time"),
        (20, 24, "bar 7"),
    ],
)
def test_stretches_of_events(first: int, last: int, says: str) -> None:
    assert place_of(sheet_of(ROUTE), first, last, ENGLISH) == says


def test_spots_are_found_in_the_source() -> None:
    again = replace(LESSON, drills=(Drill(Spot(8, 12, 9.0, ("move",)), 3, LESSON.ladder),))
    told = [step.text for block in steps_of(again, ENGLISH) for step in block.steps]
    assert any("bar 6 and bar 5, 2nd time, from " in text for text in told)
