"""Single lines of a lesson edited in place say what the same change in ``steps.md`` would."""

from __future__ import annotations

import pytest

from reedpath.errors import SettingsError
from reedpath.lesson import (
    LineEdit,
    LineKind,
    SaidLine,
    decode_lesson,
    decode_steps,
    edited_whole,
    edited_words,
    encode_lesson,
    format_steps,
    format_steps_of_pieces,
    lines_said,
    lines_said_of_whole,
    program_whole_steps,
    read_steps,
    steps_of,
    whole_steps,
)
from reedpath.wording import load_catalogue
from support.pieces import lesson_of_pieces, porch

SENTENCE = "Now let the air go, and play 3 draw as if you sighed."


def _first(lines: tuple[SaidLine, ...], kind: LineKind) -> int:
    return next(index for index, line in enumerate(lines) if line.kind is kind and line.first is not None)


def test_a_sentence_edited_in_place_is_the_one_edited_in_the_file() -> None:
    lesson = porch()
    lines = lines_said(lesson, "en")
    index = _first(lines, LineKind.SENTENCE)
    edited = edited_words(lesson, "en", LineEdit(index, lines[index].text, SENTENCE))
    text = format_steps(lesson).replace(f"- {lines[index].text}\n", f"- {SENTENCE}\n", 1)
    assert read_steps(text, lesson, decode_steps(encode_lesson(lesson))).own_words == edited.own_words
    now = lines_said(edited, "en")[index]
    assert (now.text, now.program, now.is_own) == (SENTENCE, lines[index].text, True)
    assert lines_said(edited, "fr") == lines_said(lesson, "fr")
    assert decode_lesson(encode_lesson(edited)) == decode_lesson(encode_lesson(decode_lesson(encode_lesson(edited))))


def test_a_sentence_goes_and_comes_back_as_the_program_says_it() -> None:
    lesson = porch()
    line = lines_said(lesson, "en")[index := _first(lines_said(lesson, "en"), LineKind.SENTENCE)]
    silent = edited_words(lesson, "en", LineEdit(index, line.text, ""))
    assert (lines_said(silent, "en")[index].text, lines_said(silent, "en")[index].program) == ("", line.text)
    assert line.text not in [group.text for block in steps_of(silent, "en") for group in block.groups]
    assert edited_words(silent, "en", LineEdit(index, "", line.text)) == lesson


def test_notes_are_added_changed_and_taken_away() -> None:
    lesson = porch()
    index = _first(lines_said(lesson, "en"), LineKind.SENTENCE)
    was = lines_said(lesson, "en")[index].text
    noted = edited_words(lesson, "en", LineEdit(index, was, "Listen first.", after=True))
    noted = edited_words(noted, "en", LineEdit(index, was, "Breathe out.", after=True))
    said = [line.text for line in lines_said(noted, "en")[index + 1 : index + 3]]
    assert said == ["Breathe out.", "Listen first."]
    changed = edited_words(noted, "en", LineEdit(index + 2, "Listen first.", "Listen twice."))
    assert lines_said(changed, "en")[index + 2].text == "Listen twice."
    gone = edited_words(changed, "en", LineEdit(index + 1, "Breathe out.", ""))
    gone = edited_words(gone, "en", LineEdit(index + 1, "Listen twice.", ""))
    assert gone == lesson


def test_an_emptied_heading_is_the_program_s_again() -> None:
    lesson = porch()
    heading = lines_said(lesson, "en")[0]
    changed = edited_words(lesson, "en", LineEdit(0, heading.text, "Before you play"))
    assert lines_said(changed, "en")[0].text == "Before you play"
    assert edited_words(changed, "en", LineEdit(0, "Before you play", "")) == lesson


def test_a_line_that_changed_meanwhile_is_not_written_over() -> None:
    lesson = porch()
    with pytest.raises(SettingsError) as told:
        edited_words(lesson, "en", LineEdit(0, "something else", "mine"))
    assert told.value.key == "lesson.line_changed"
    with pytest.raises(SettingsError):
        edited_words(lesson, "en", LineEdit(10_000, "", "mine"))


def test_lines_are_those_that_are_said() -> None:
    lesson = porch()
    said = [text for block in steps_of(lesson, "en") for text in (block.title, *(g.text for g in block.groups))]
    assert [line.text for line in lines_said(lesson, "en")] == [" ".join(text.split(" ")) for text in said]


def test_what_is_said_of_the_whole_is_edited_too() -> None:
    lesson = lesson_of_pieces()
    lines = lines_said_of_whole(lesson, "en")
    kinds = [line.kind for line in lines]
    note = kinds.index(LineKind.STUDENT_NOTE)
    edited = edited_whole(lesson, "en", LineEdit(note, lines[note].text, "Take your time."))
    assert edited.notes == {**lesson.notes, "en": "Take your time."}
    sentence = note + 1
    edited = edited_whole(edited, "en", LineEdit(sentence, lines[sentence].text, "Three tunes."))
    edited = edited_whole(edited, "en", LineEdit(sentence, "Three tunes.", "Sit down.", after=True))
    texts = [line.text for block in whole_steps(edited, "en") for line in block.lines]
    assert texts[:3] == ["Take your time.", "Three tunes.", "Sit down."]
    assert "- Three tunes." in format_steps_of_pieces(edited)
    back = edited_whole(edited, "en", LineEdit(sentence + 1, "Sit down.", ""))
    back = edited_whole(back, "en", LineEdit(sentence, "Three tunes.", lines[sentence].text))
    assert back.own_words == lesson.own_words
    assert program_whole_steps(back, load_catalogue("fr")) == program_whole_steps(lesson, load_catalogue("fr"))
