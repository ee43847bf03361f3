"""The last play-through of a lesson of pieces: a bit faster each time, all at full tempo in the end."""

from __future__ import annotations

from fractions import Fraction

from reedpath.data import replace
from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    Piece,
    Rung,
    play_through_rounds,
    single_lesson,
    steps_of,
)
from reedpath.phrase import Metre
from support.built_routes import built_route
from support.routes import lesson_of


def with_ladder(*names: str) -> Lesson:
    made = lesson_of(built_route("2d:1 4b:1"))
    factors = dict(zip(("slow", "faster", "faster-still", "nearly", "full"), (0.5, 0.6, 0.7, 0.8, 1.0), strict=True))
    return replace(made, ladder=tuple(Rung(name, factors[name], 100 * factors[name]) for name in names))


SHORT, LONG = with_ladder("slow", "full"), with_ladder("slow", "faster", "nearly", "full")
TWO = LessonOfPieces("Two", (Piece("1", SHORT), Piece("2", LONG)), play_through=(1, 0))


def test_each_piece_is_played_at_the_same_share_of_its_own_tempo() -> None:
    rounds = play_through_rounds(TWO)
    assert [[(one.piece, one.rung.name, one.rung.bpm) for one in each] for each in rounds] == [
        [(1, "slow", 70.0), (0, "slow", 70.0)],
        [(1, "faster", 85.0), (0, "faster", 85.0)],
        [(1, "full", 100.0), (0, "full", 100.0)],
    ]


def test_a_metronome_can_be_set_to_the_tempos_of_compound_metres() -> None:
    route = built_route("2d:3/2 4b:3/2", metres=(Metre(Fraction(0), 6, 8),), bpm=91.5)
    lesson = LessonOfPieces("Six", (Piece("1", lesson_of(route)),), play_through=(0,))
    slow, faster, full = (each[0].rung for each in play_through_rounds(lesson))
    assert (slow.bpm, faster.bpm) == (43 * 1.5, 52 * 1.5)  # 61 dotted quarters at full tempo
    assert full == lesson.pieces[0].lesson.ladder[-1]
    assert slow.factor == slow.bpm / full.bpm


def test_a_lesson_without_a_last_play_through_has_no_rounds() -> None:
    assert play_through_rounds(replace(TWO, play_through=())) == ()


def test_a_piece_alone_is_a_plain_lesson_with_what_is_said_of_the_whole() -> None:
    assert single_lesson(TWO) is None
    whole = LessonOfPieces("Whole", (Piece("1", SHORT),), author="A. Teacher", notes={"en": "Slowly."})
    only = single_lesson(whole)
    assert only is not None
    assert (only.title, only.author, only.date) == ("Whole", "A. Teacher", "")
    assert any(step.text == "Slowly." for block in steps_of(only, "en") for step in block.steps)
    untitled = single_lesson(replace(whole, title=""))
    assert untitled is not None
    assert untitled.title == SHORT.title
