"""What a person calls a lesson and its parts: in each language apart, everywhere, and nothing else is changed."""

from __future__ import annotations

import pytest

from reedpath.arrange import find_route
from reedpath.errors import SettingsError
from reedpath.harp import make_harp
from reedpath.lesson import (
    by_line,
    decode_lesson,
    encode_lesson,
    format_steps,
    in_language,
    make_lesson,
    part_words,
    steps_of,
    with_note,
    with_part_names,
)
from reedpath.page import encode_handout, encode_lesson_page, encode_musicxml, format_tab, parts_in_beats
from reedpath.wording import load_catalogue
from support.built_phrases import line_of

NAMES = {"en": {"A": "The question"}, "fr": {"A": "La question", "B": "La réponse"}}


@pytest.fixture(scope="module")
def lesson():
    notes = "E4 G4 A4 C#5 E5 C#5 B4 A4 E4 E4 C#4 A3 E4 G4 A4 C#5 E5 F#5 E5 C#5"
    return make_lesson(find_route(line_of(notes), make_harp("A")), title="Two parts")


@pytest.mark.slow
def test_parts_are_called_so_in_each_language_wherever_they_stand(lesson):
    named = with_part_names(lesson, NAMES)
    assert [part.label for part in in_language(named, "fr").parts] == ["La question", "La réponse"]
    assert [part.label for part in in_language(named, "en").parts] == ["The question", "B"]
    assert in_language(named, "de") is named
    english, french = load_catalogue("en"), load_catalogue("fr")
    assert "The question" in part_words(named, 0, english)
    assert "[The question]" in format_tab(named, catalogue=english)
    assert "[La réponse]" in format_tab(named, catalogue=french)
    assert b"La question" in encode_musicxml(named, catalogue=french)
    assert [part.label for part in parts_in_beats(named, "fr")] == ["La question", "La réponse"]
    assert [block.title for block in steps_of(named, "fr")][1:3] == ["La question", "La réponse"]
    page = encode_lesson_page(named, sounds=())
    assert b"The question" in page
    assert "La réponse".encode() in page
    assert encode_handout(named, catalogue=french).startswith(b"%PDF")


def test_names_change_nothing_but_what_parts_are_called(lesson):
    named = with_part_names(lesson, NAMES)
    for language in ("en", "fr"):
        before, after = steps_of(lesson, language), steps_of(named, language)
        kinds = [[(step.kind, step.first, step.last) for step in block.steps] for block in before]
        assert [[(step.kind, step.first, step.last) for step in block.steps] for block in after] == kinds
    assert with_part_names(named, {"en": {"A": ""}, "fr": {"A": "", "B": ""}}) == lesson
    assert decode_lesson(encode_lesson(named)) == named


def test_a_name_for_a_part_that_is_not_there_is_told(lesson):
    with pytest.raises(SettingsError) as caught:
        with_part_names(lesson, {"en": {"Z": "The end"}})
    assert caught.value.values == {"label": "Z", "labels": ["A", "B"]}


def test_a_note_to_the_student_stands_before_everything_and_is_replaced(lesson):
    noted = with_note(lesson, [("en", "Listen first."), ("fr", "On écoute.")])
    english, french = format_steps(noted).split("## Français")
    assert english.split("### ")[1].splitlines()[2] == "- Listen first."
    assert french.split("### ")[1].splitlines()[2] == "- On écoute."
    again = with_note(noted, [("en", "Breathe first.")])
    assert [words.text for words in again.own_words] == ["Breathe first.", "On écoute."]
    assert with_note(again, [("en", ""), ("fr", "")]) == lesson


def test_who_and_when_are_told_as_far_as_they_are_known(lesson):
    from reedpath.data import replace

    known = replace(lesson, author="Ada Lind", date="a rainy November")
    assert by_line(known) == "Ada Lind · a rainy November"
    assert by_line(replace(known, date="")) == "Ada Lind"
    assert by_line(lesson) == ""
    assert decode_lesson(encode_lesson(known)) == known
