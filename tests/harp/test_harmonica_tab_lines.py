"""Lines of tab cut into pieces, and the notation a text is likely in."""

import pytest
from hypothesis import given

from reedpath.errors import Place
from reedpath.harp import (
    TokenKind,
    format_move,
    guess_notation,
    load_tuning,
    notation_names,
    reach_of,
    tokenize_tab,
    tuning_names,
)
from support.examples import examples
from support.spent_bytes import built_from_bytes, many_from_bytes
from support.work import grows_evenly


def texts(line, notation):
    return [token.text for token in tokenize_tab(line, notation)]


def moves(line, notation):
    return [format_move(token.move, "sign") for token in tokenize_tab(line, notation) if token.move]


def test_blanks_commas_and_bars_part_the_pieces():
    tokens = tokenize_tab("4 -4, 5;-5 | 6 ||: -6 :|", "sign")
    assert [token.text for token in tokens] == ["4", "-4", "5", "-5", "|", "6", "||:", "-6", ":|"]
    assert [token.kind for token in tokens].count(TokenKind.BAR) == 3


def test_columns_are_those_of_the_line_as_typed():
    line = "  −3’’  (1 2 3)  ‖ 4"
    for token in tokenize_tab(line, "sign"):
        assert line[token.column : token.column + len(token.text)] == token.text


def test_brackets_hold_together():
    assert texts("-(1 2 3) (4 5) -[2, 3]", "sign") == ["-(1 2 3)", "(4 5)", "-[2, 3]"]
    assert moves("-(1 2 3) (4 5) -[2, 3]", "sign") == ["-(1 2 3)", "+(4 5)", "-(2 3)"]


def test_the_word_split_belongs_to_its_range():
    assert moves("-1-4 split 4 (1-4)D chord", "sign")[:2] == ["-1/4", "+4"]


@pytest.mark.parametrize(
    ("line", "notation", "expected"),
    [
        ("4B4D5B", "letters-en", ["+4", "-4", "+5"]),
        ("4B4D'5B", "letters-en", ["+4", "-4'", "+5"]),
        ("↑4↓4", "arrow", ["+4", "-4"]),
        ("4(4)5", "bracket", []),
        ("-4'+5'", "sign", ["-4'", "+5'"]),
        # after a bare digit a sign may be a range: left unread, with the reason
        ("-2-3", "sign", []),
    ],
)
def test_notes_typed_without_spaces(line, notation, expected):
    assert moves(line, notation) == expected


def test_each_refusal_is_an_error_of_its_own():
    first, second = (token.problem for token in tokenize_tab("verse verse", "sign"))
    first.inside(Place(line=1))
    assert not second.where


def test_what_is_no_move_keeps_its_reason():
    word, tab = tokenize_tab("verse -4", "sign")
    assert word.kind is TokenKind.OTHER
    assert word.move is None
    assert "not a move" in str(word.problem)
    assert tab.problem is None


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("4 -4 5 -5 6 -6", "sign"),
        ("+4 -4 +5 -5", "sign"),
        ("-4b 5 -3bb", "sign"),
        ("4 −4 5 −5’", "sign"),
        ("6o -6 6 7 -7o", "sign"),
        ("4B 4D 5B 5D", "letters-en"),
        ("4b 4d 5b 5d 6b 6d", "letters-en"),
        ("4b 5b 6b", "letters-en"),
        ("4S 4A 5S 5A", "letters-fr"),
        ("4B 4Z 5B 5Z'", "letters-de"),
        ("↑4 ↓4 ↑5", "arrow"),
        ("4↑ 4↓ 5↑", "arrow"),
        ("^4 v4 v4'", "arrow"),
        ("↓8' ↑4' ↓4", "arrow-reversed"),
        ("4 (4) 5 (5) 6", "bracket"),
        ("4 [4] 5", "bracket"),
        ("④ 4 ⑤ 5", "bracket"),
        ("+4 4 +5 5 3''", "sign-plain-draw"),
        ("(1 2 3) -4 -(1 2 3)", "sign"),
        ("(1 2 3) (4) 4", "bracket"),
        ("Verse 1:\n4 -4 5 | -5\nla la la la", "sign"),
    ],
)
def test_a_text_tells_its_notation(text, name):
    best, *others = guess_notation(text)
    assert best.name == name
    assert all(best.score > other.score for other in others)


def test_a_text_that_does_not_tell_has_close_scores():
    first, second, *_ = guess_notation("4 5 6")
    assert {first.name, second.name} == {"sign", "bracket"}
    assert second.score > 0.8 * first.score


def test_a_hole_9_that_is_no_move_counts_against_a_notation():
    scores = {one.name: one.score for one in guess_notation("4 -4 5 9x")}
    assert scores["sign"] < {one.name: one.score for one in guess_notation("4 -4 5 x")}["sign"]


def test_no_tab_no_guess():
    assert guess_notation("") == ()
    assert guess_notation("hello, world") == ()


def test_scores_lie_between_nought_and_one_and_count_the_pieces():
    (best, *_) = guess_notation("4 -4 5x -5'")
    assert 0 < best.score <= 1
    assert (best.moves, best.problems) == (2, 2)


def tune_in_a_notation(drawn):
    name = drawn.pick([n for n in notation_names() if "reversed" not in n and "plain" not in n])
    tuning = load_tuning(drawn.pick(tuning_names()))
    return name, tuning, drawn.picks([move for move in reach_of(tuning).single if not move.is_dip], least=12, most=20)


@examples(40)
@given(built_from_bytes(tune_in_a_notation, size=23))
def test_a_tune_written_in_a_notation_is_guessed_so(drawn):
    name, tuning, tune = drawn
    text = " ".join(format_move(move, name) for move in tune)
    ranked = guess_notation(text, tuning=tuning)
    mine = next(guess for guess in ranked if guess.name == name)
    assert mine.problems == 0
    if len({move.breath for move in tune if not move.alteration.is_overbend}) == 2:
        assert ranked[0].name == name


@examples(10)
@given(many_from_bytes(lambda drawn: (drawn.pick(notation_names()), drawn.text(60)), size=180))
def test_any_line_is_cut_without_complaint(lines):
    for notation, line in lines:
        end = 0
        for token in tokenize_tab(line, notation):
            assert token.column >= end
            end = token.column + len(token.text)
            assert line[token.column : end] == token.text


@pytest.mark.parametrize("piece", ["(", "(1 ", "1", "-4", "4B", "[(", "| ", "4/", "'", "(1 2", "split "])
def test_hostile_lines_take_as_much_work_as_they_are_long(piece):
    assert grows_evenly(lambda size: guess_notation(piece * size), 100)
    guess_notation(piece * 100_000)
