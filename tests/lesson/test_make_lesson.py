from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from reedpath.errors import SettingsError
from reedpath.lesson import format_steps, make_lesson
from reedpath.pitch import Key
from support.built_routes import built_route


def test_the_title_is_the_one_given_else_the_phrase_s_own_else_made() -> None:
    route = built_route("4b 4d", key="A", music_key=Key(4))
    untitled = replace(route, phrase=replace(route.phrase, title=" "))
    assert make_lesson(route, title=" Coal ").title == "Coal"
    assert make_lesson(route).title == "typed by hand"
    assert make_lesson(untitled).title == "A phrase in E major"
    assert make_lesson(untitled, languages=["fr"]).title == "Une phrase en mi majeur"
    keyless = replace(untitled, phrase=replace(untitled.phrase, key=None))
    assert make_lesson(keyless).title == "A phrase"


def test_languages_are_kept_in_order_and_once() -> None:
    assert make_lesson(built_route("4b"), languages=["fr", "en", "fr"]).languages == ("fr", "en")


def test_an_unknown_language_or_notation_is_an_error_that_lists_those_there_are() -> None:
    with pytest.raises(SettingsError, match="there is no language named 'xx'") as caught:
        make_lesson(built_route("4b"), languages=["xx"])
    assert {"en", "fr"} <= set(re.findall(r"\b[a-z]{2}\b", caught.value.hint or ""))
    with pytest.raises(SettingsError, match="at least one language"):
        make_lesson(built_route("4b"), languages=[])
    with pytest.raises(SettingsError, match="smoke"):
        make_lesson(built_route("4b"), notation="smoke")


def test_an_empty_route_is_a_lesson_that_says_so() -> None:
    lesson = make_lesson(built_route(""))
    assert (lesson.parts, lesson.drills, len(lesson.ladder) > 0) == ((), (), True)
    assert "There is nothing to play." in format_steps(lesson)


def test_numbers_are_rounded_to_what_the_data_keep() -> None:
    route = built_route("4b 4d")
    one = replace(route.events[0], air_litres=1.23456789)
    lesson = make_lesson(replace(route, events=(one, route.events[1]), truth=1 / 3))
    assert (lesson.route.truth, lesson.route.events[0].air_litres) == (0.3333, 1.2346)
