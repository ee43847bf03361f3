"""The tab of a lesson of several pieces: in their order, levels of a piece below one another by bar."""

from __future__ import annotations

import re

from reedpath.data import replace
from reedpath.lesson import LessonOfPieces, Piece, VariantKind, make_lesson
from reedpath.page import format_tab, format_tab_of_pieces
from reedpath.wording import load_catalogue
from support.built_routes import built_route

ENGLISH = load_catalogue("en")
EASY = "2d:1 3b:1 4b:1 4d:1 " * 6
STRONG = "2d:1 3d'':1/2 3d':1/2!~ 4b:1 4d:1 " * 6


def taught(text, level="", **named):
    return make_lesson(replace(built_route(text, **named), level=level), title="Two ways")


def whole(*pieces):
    return LessonOfPieces("An evening", pieces)


def rows(text, name):
    return [line for line in text.splitlines() if line.startswith(name)]


def test_levels_stand_below_one_another_with_their_bars_in_line():
    text = format_tab_of_pieces(
        whole(
            Piece("1", taught(EASY, "easy")),
            Piece("2", taught(STRONG, "strong"), 0, VariantKind.LEVEL),
        ),
        catalogue=ENGLISH,
    )
    easy, strong = rows(text, "Easy   |"), rows(text, "Strong |")
    assert len(easy) == len(strong) > 1
    for one, other in zip(easy, strong, strict=True):
        assert [match.start() for match in re.finditer(r"\|", one)] == [
            match.start() for match in re.finditer(r"\|", other)
        ]
        assert len(one) <= 80
        # what is played at the same moment stands in the same column
        assert one.index("+4") == other.index("+4")
    assert "".join(easy).count("-2") == "".join(strong).count("-2") == 6
    assert "".join(strong).count("-3''") == 6
    assert text.count("Two ways\n=") == 1


def test_versions_with_other_bars_and_all_else_follow_one_another():
    short = taught("2d:1 3b:1 4b:1 4d:1", "easy")
    text = format_tab_of_pieces(
        whole(
            Piece("1", taught(STRONG, "strong")),
            Piece("2", short, 0, VariantKind.LEVEL),
            Piece("3", taught("4d:1 4b:1 2d:2"), 0, VariantKind.FILLER),
            Piece("4", taught("1b:1 2b:1 3b:2", key="D")),
        ),
        catalogue=ENGLISH,
    )
    places = [text.index(words) for words in ("Strong\n", "Easy\n", "Take turns", "Take the D harp now.")]
    assert places == sorted(places)
    assert not rows(text, "Strong |")


def test_a_version_that_sounds_nothing_has_its_own_tab():
    silent = taught("r:4", "easy")
    text = format_tab_of_pieces(
        whole(Piece("1", taught(EASY, "strong")), Piece("2", silent, 0, VariantKind.LEVEL)), catalogue=ENGLISH
    )
    assert "There is nothing to play" in text or "nothing" in text.lower()


def test_a_level_at_which_nothing_is_played_otherwise_is_printed_once():
    same = taught(EASY, "easy")
    text = format_tab_of_pieces(
        whole(Piece("1", same), Piece("2", taught(EASY, "strong"), 0, VariantKind.LEVEL)), catalogue=ENGLISH
    )
    assert text.count(format_tab(same, catalogue=ENGLISH).rstrip("\n")) == 1
    assert text.count("Two ways\n=") == 1
