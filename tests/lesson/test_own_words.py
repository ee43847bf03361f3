"""A person's own words in a lesson: read from its steps, kept while they fit, told when they do not."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.arrange import find_route, with_moves
from reedpath.errors import ReadError
from reedpath.harp import make_harp, parse_move
from reedpath.lesson import (
    StepKind,
    WordsKind,
    decode_lesson,
    decode_steps,
    encode_lesson,
    format_steps,
    holding_words,
    make_lesson,
    program_steps,
    read_steps,
    remade_lesson,
    steps_of,
)
from reedpath.wording import load_catalogue
from support.built_phrases import line_of
from support.examples import examples

NOTES = "E4 G4 A4 C#5 E5 C#5 B4 A4 E4 E4 C#4 A3 E4 G4 A4 C#5 E5 F#5 E5 C#5"


@pytest.fixture(scope="module")
def lesson():
    return make_lesson(find_route(line_of(NOTES), make_harp("A")), title="Walk * up [home]", languages=["en", "fr"])


def read(lesson, text):
    found = read_steps(text, lesson, decode_steps(encode_lesson(lesson)))
    return replace(lesson, title=found.title, own_words=found.own_words)


def changed(lesson, *pairs):
    """The lesson with some lines of its steps put otherwise."""
    text = format_steps(lesson)
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return read(lesson, text)


def sentence(lesson, index, language="en"):
    """The line of ``steps.md`` that says how to play an event."""
    blocks = program_steps(lesson, load_catalogue(language))
    group = next(group for block in blocks for group in block.groups if index in group.moves)
    return f"- {group.text}\n"


def test_steps_as_they_were_made_say_nothing_new(lesson):
    assert read(lesson, format_steps(lesson)) == lesson
    assert read(lesson, format_steps(lesson).replace("\n", "\r\n")) == lesson


def test_a_sentence_a_heading_and_a_note_are_hers_in_every_language_apart(lesson):
    own = changed(
        lesson,
        (sentence(lesson, 1), "- Sink into *this* one.\n\nThink of the river.\nSlowly.\n"),
        ("### Before you play", "### First of all"),
        (sentence(lesson, 1, "fr"), "- On s'y enfonce.\n"),
    )
    assert [words.kind for words in own.own_words] == ["heading", "sentence", "note", "sentence"]
    english, french = format_steps(own).split("## Français")
    assert "- Sink into \\*this\\* one.\n- Think of the river. Slowly.\n" in english
    assert "### First of all" in english
    assert "- On s'y enfonce." in french
    assert "river" not in french
    assert read(own, format_steps(own)) == own
    assert decode_lesson(encode_lesson(own)) == own


def test_the_steps_of_all_languages_stay_side_by_side(lesson):
    own = changed(lesson, (sentence(lesson, 2), "- Mine.\n\nA note.\n"), (sentence(lesson, 4), ""))
    one, two = (steps_of(own, language) for language in ("en", "fr"))
    assert [[step.kind for step in block.steps] for block in one] == [
        [step.kind for step in block.steps] for block in two
    ]
    assert any(step.kind is StepKind.NOTE and not step.text for block in two for step in block.steps)


def test_a_sentence_that_is_taken_out_is_not_said(lesson):
    own = changed(lesson, (sentence(lesson, 2), ""))
    assert sentence(lesson, 2) not in format_steps(own)
    assert read(own, format_steps(own)) == own


def test_what_the_program_said_comes_back_where_it_is_written_again(lesson):
    own = changed(lesson, (sentence(lesson, 2), "- Mine.\n"))
    assert changed(own, ("- Mine.\n", sentence(lesson, 2))) == lesson


def test_a_note_can_be_changed_and_taken_out(lesson):
    own = changed(lesson, (sentence(lesson, 2), sentence(lesson, 2) + "\nListen here.\n"))
    other = changed(own, ("- Listen here.\n", "- Listen there.\n"))
    assert [words.text for words in other.own_words] == ["Listen there."]
    assert changed(other, ("- Listen there.\n", "")) == lesson


def test_the_title_is_hers(lesson):
    assert changed(lesson, ("# Walk \\* up \\[home\\]", "# Down the road")).title == "Down the road"


def test_words_hold_where_their_moves_are_unchanged_and_are_kept_where_they_are_not(lesson):
    own = changed(lesson, (sentence(lesson, 0), "- Start low.\n"), (sentence(lesson, 1), "- Sink.\n"))
    moved = remade_lesson(own, with_moves(own.route, {0: parse_move("3")}))
    said = format_steps(moved)
    assert "- Sink.\n" in said
    assert "- Start low.\n" not in said
    assert moved.own_words == own.own_words
    holding = holding_words(moved, "en", program_steps(moved, load_catalogue("en")))
    assert [words.text for words in holding] == ["Sink."]
    later = changed(moved, ("- Sink.\n", "- Sink down.\n"))
    assert {words.text for words in later.own_words} == {"Start low.", "Sink down."}
    assert "- Start low.\n" in format_steps(remade_lesson(later, with_moves(later.route, {0: parse_move("-2")})))


def test_steps_of_a_language_that_the_lesson_has_not_are_told(lesson):
    text = format_steps(lesson) + "\n## Deutsch\n\n- Los geht's.\n"
    with pytest.raises(ReadError) as caught:
        read(lesson, text)
    assert caught.value.key == "lesson.no_such_language"
    assert caught.value.where.line == text.splitlines().index("## Deutsch") + 1
    with pytest.raises(ReadError) as caught:
        read(lesson, "# Title\n\n- Nowhere.\n" + format_steps(lesson))
    assert caught.value.key == "lesson.words_before_language"


WORDS = st.text("abc é*_[]#'.,!\u202f", min_size=1, max_size=12).map(lambda text: "x" + re.sub(" +", " ", text) + "x")


@pytest.mark.slow
@examples(40)
@given(data=st.data())
def test_whatever_is_written_is_found_again(lesson, data):
    """Any sentences changed, taken out or added come back as they were written, in every language."""
    lines = format_steps(lesson).splitlines()
    items = [number for number, line in enumerate(lines) if line.startswith("- ")]
    wanted = list(lines)
    for number in sorted(data.draw(st.sets(st.sampled_from(items), max_size=6)), reverse=True):
        act = data.draw(st.sampled_from(["change", "add", "remove"]))
        said = "- " + data.draw(WORDS).replace("*", "\\*").replace("_", "\\_").replace("[", "\\[").replace(
            "]", "\\]"
        ).replace("#", "\\#")
        if act == "change":
            wanted[number] = said
        elif act == "add":
            wanted.insert(number + 1, said)
        else:
            del wanted[number]
    own = read(lesson, "\n".join(wanted) + "\n")
    assert format_steps(own).splitlines() == wanted
    assert read(own, format_steps(own)) == own
    assert all(words.kind in tuple(WordsKind) for words in own.own_words)
