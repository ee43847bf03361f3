"""What is said of a lesson of several pieces, and its steps read back with what a person changed in them."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import replace
from reedpath.errors import ReadError
from reedpath.lesson import (
    LessonOfPieces,
    MadeSteps,
    Piece,
    VariantKind,
    WordsKind,
    decode_lesson_of_pieces,
    decode_steps,
    decode_whole_steps,
    encode_lesson,
    encode_lesson_of_pieces,
    format_steps_of_pieces,
    make_lesson,
    read_steps_of_pieces,
    steps_of,
    whole_steps,
)
from support.built_routes import built_route
from support.examples import examples


def taught(text, title, key="A", bpm=100.0, level="", **named):
    return make_lesson(replace(built_route(text, key=key, bpm=bpm), level=level), title=title, **named)


@pytest.fixture(scope="module")
def whole():
    return LessonOfPieces(
        title="An evening [of three]",
        pieces=(
            Piece("1-questions", taught("2d 3d' 4b 4d:1 4d 3d' 2d:1", "Questions", level="easy")),
            Piece(
                "2-questions-strong",
                taught("2d 3d'' 4b 4d:1 4d 3d' 2d:1", "Questions", level="strong"),
                0,
                VariantKind.LEVEL,
            ),
            Piece("3-answer", taught("4d 4b 3d 2d:2", "Answer", key="D"), 0, VariantKind.FILLER),
            Piece("4-bends", taught("3d'' 2d 1b:2", "Bends", key="D", bpm=140.0)),
        ),
        play_through=(0, 3),
        notes={"en": "Listen first."},
    )


def read(whole, text):
    pieces = {piece.folder: piece.lesson for piece in whole.pieces}
    data = encode_lesson_of_pieces(whole)
    assert decode_lesson_of_pieces(data, pieces.__getitem__) == whole
    made = MadeSteps(decode_whole_steps(data), [decode_steps(encode_lesson(piece.lesson)) for piece in whole.pieces])
    return read_steps_of_pieces(text, whole, made)


def changed(whole, *pairs):
    text = format_steps_of_pieces(whole)
    for old, new in pairs:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return read(whole, text)


def said(whole, language="en"):
    return {
        (block.place.block, block.place.piece): [line.text for line in block.lines]
        for block in whole_steps(whole, language)
    }


def test_a_change_of_harp_and_tempo_and_the_variants_are_told(whole):
    assert said(whole) == {
        ("opening", None): [
            "Listen first.",
            "There are three pieces, one after the other.",
            "Have these harps at hand: A harp and D harp.",
        ],
        ("piece", 0): ["The easier way first."],
        ("piece", 1): ["Now the harder way."],
        ("piece", 2): [
            "Take turns: one plays “Questions”, the other answers with this; then swap.",
            "Take the D harp now.",
        ],
        ("piece", 3): ["It goes faster now: 140 on the metronome, up from 100."],
        ("ending", None): [
            "Play them in a row, without stopping in between: “Questions” and “Bends”.",
            "Lay the harps side by side: A harp and D harp.",
            "First at 70% of each tempo.",
            "Then a bit faster, at 85%.",
            "Then a bit faster again, each at its own tempo.",
        ],
    }
    assert [block.title for block in whole_steps(whole, "en")] == [
        "The whole lesson",
        "Piece 1, easy: Questions",
        "Piece 1, strong: Questions",
        "Piece 2, to take turns with piece 1: Answer",
        "Piece 3: Bends",
        "All in a row",
    ]


def test_a_lesson_of_one_piece_has_no_ending_and_no_harps_to_lay_out():
    alone = LessonOfPieces("Alone", (Piece("1", taught("2d 3d", "Alone")),))
    assert said(alone) == {("opening", None): ["There is one piece."], ("piece", 0): []}


def test_every_step_of_every_piece_is_in_the_text(whole):
    text = format_steps_of_pieces(whole)
    assert text.startswith("# An evening \\[of three\\]\n\n## English\n\n### The whole lesson\n\n- Listen first.\n")
    assert "\n\n\n" not in text
    for piece in whole.pieces:
        for language in piece.lesson.languages:
            for block in steps_of(piece.lesson, language):
                assert f"#### {block.title}" in text.replace("\\", "")
                assert all(group.text in text.replace("\\", "") for group in block.groups)


def test_steps_read_back_as_they_were_made_change_nothing(whole):
    assert read(whole, format_steps_of_pieces(whole)) == whole


def test_a_sentence_belongs_to_the_piece_under_whose_heading_it_stands(whole):
    text = format_steps_of_pieces(whole)
    second = text.index("### Piece 1, strong")
    sentence = re.search(r"- .*3 draw.*\n", text[second:])[0]
    new = read(whole, text[:second] + text[second:].replace(sentence, "- Deep down now.\n", 1))
    assert [len(piece.lesson.own_words) for piece in new.pieces] == [0, 1, 0, 0]
    assert new.pieces[1].lesson.own_words[0].text == "Deep down now."
    assert "Deep down now." in format_steps_of_pieces(new)


def test_words_about_the_whole_are_found_again(whole):
    new = changed(
        whole,
        ("- Take the D harp now.\n", "- Now the D, please.\n"),
        ("### All in a row", "### The finish"),
        ("- Then a bit faster, at 85%.\n", ""),
        ("- The easier way first.\n", "- The easier way first.\n\nSing it before you play.\n"),
        ("- Listen first.", "- Listen, then sing."),
        ("# An evening \\[of three\\]", "# A long evening"),
    )
    assert new.title == "A long evening"
    assert new.notes == {"en": "Listen, then sing."}
    assert {(words.kind, words.text) for words in new.own_words} == {
        (WordsKind.SENTENCE, "Now the D, please."),
        (WordsKind.HEADING, "The finish"),
        (WordsKind.SENTENCE, ""),
        (WordsKind.NOTE, "Sing it before you play."),
    }
    assert [piece.lesson.own_words for piece in new.pieces] == [()] * 4
    told = said(new)
    assert told["piece", 2][-1] == "Now the D, please."
    assert told["piece", 0] == ["The easier way first.", "Sing it before you play."]
    assert len(told["ending", None]) == 4
    assert said(new, "fr") == said(whole, "fr")
    assert read(new, format_steps_of_pieces(new)) == new


def test_the_program_s_own_words_put_back_are_no_words_of_hers(whole):
    new = changed(whole, ("- Take the D harp now.\n", "- Now the D, please.\n"))
    assert changed(new, ("- Now the D, please.\n", "- Take the D harp now.\n")) == whole


def test_words_that_no_longer_fit_are_kept_without_being_said(whole):
    new = changed(whole, ("- Take the D harp now.\n", "- Now the D, please.\n"))
    on_g = replace(new.pieces[2], lesson=taught("4d 4b 3d 2d:2", "Answer", key="G"))
    other = replace(new, pieces=(*new.pieces[:2], on_g, new.pieces[3]))
    assert said(other)["piece", 2][-1] == "Take the G harp now."
    assert read(other, format_steps_of_pieces(other)).own_words == new.own_words


def test_a_note_to_the_student_can_be_taken_out(whole):
    assert changed(whole, ("- Listen first.\n", "")).notes == {}


def test_a_heading_of_her_own_between_pieces_is_a_note(whole):
    new = changed(whole, ("### Piece 3: Bends", "### A pause\n\n### Piece 3: Bends"))
    assert [words.text for words in new.pieces[2].lesson.own_words] == ["A pause"]
    assert new.own_words == ()


def test_the_first_heading_inside_a_piece_taken_out_leaves_the_sentences_where_they_are(whole):
    text = format_steps_of_pieces(whole)
    new = read(whole, text.replace("#### Before you play\n", "", 1))
    assert new == whole


def test_a_piece_without_its_heading_is_refused_with_what_to_do(whole):
    with pytest.raises(ReadError, match="'Piece 3: Bends' is gone"):
        changed(whole, ("### Piece 3: Bends\n", ""))


def test_a_language_that_is_not_there_is_named_with_its_line(whole):
    with pytest.raises(ReadError) as caught:
        changed(whole, ("## English", "## Klingon"))
    assert (caught.value.key, caught.value.where.line) == ("lesson.no_such_language", 3)


def test_a_language_taken_out_keeps_its_words(whole):
    new = changed(whole, ("- Take the D harp now.\n", "- Now the D, please.\n"))
    text = format_steps_of_pieces(new)
    french = text.index("## Français")
    assert read(new, "# An evening\n\n" + text[french:]).own_words == new.own_words


@pytest.mark.slow
@given(st.data())
@examples(60)
def test_whatever_line_is_changed_is_found_again_and_stays(whole, data):
    lines = format_steps_of_pieces(whole).split("\n")
    items = [index for index, line in enumerate(lines) if line.startswith("- ")]
    index = data.draw(st.sampled_from(items))
    words = data.draw(st.sampled_from(["Quite another thing.", "1. *Stars* and [marks]", "- - -", "«Là.»"]))
    lines[index] = data.draw(st.sampled_from([f"- {words}", "", f"{lines[index]}\n- {words}"]))
    new = read(whole, "\n".join(lines))
    assert new != whole
    again = read(new, format_steps_of_pieces(new))
    assert again == new
