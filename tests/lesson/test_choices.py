"""Tempos, drills and the order of pieces, as a person decides them; they stay when moves change."""

from __future__ import annotations

import pytest

from reedpath.arrange import with_moves
from reedpath.errors import SettingsError
from reedpath.harp import Breath, Move
from reedpath.lesson import (
    DrillWish,
    WholePlace,
    WholeWords,
    WordsKind,
    decode_lesson,
    encode_lesson,
    has_own_drills,
    has_own_tempos,
    in_order,
    remade_lesson,
    steps_of,
    with_drills,
    with_tempos,
)
from support.pieces import lesson_of_pieces, porch


def test_the_program_s_own_tempos_and_drills_are_known_again_from_the_file() -> None:
    for piece in lesson_of_pieces().pieces:
        read = decode_lesson(encode_lesson(piece.lesson))
        assert not has_own_tempos(read)
        assert not has_own_drills(read)


def test_tempos_rise_to_the_full_one() -> None:
    lesson = with_tempos(porch(), (50.0, 65.0))
    full = porch().ladder[-1]
    assert [rung.name for rung in lesson.ladder] == ["slow", "faster", "full"]
    assert [rung.bpm for rung in lesson.ladder] == [50.0, 65.0, full.bpm]
    assert lesson.ladder[0].factor == pytest.approx(50.0 / full.bpm)
    assert has_own_tempos(decode_lesson(encode_lesson(lesson)))
    assert with_tempos(lesson, None) == porch()
    assert [rung.name for rung in with_tempos(lesson, ()).ladder] == ["full"]
    for wrong in ((65.0, 50.0), (50.0, 50.0), (50.0, 500.0), (0.0,), (10.0, 20.0, 30.0, 40.0, 50.0)):
        with pytest.raises(SettingsError):
            with_tempos(porch(), wrong)


def test_drills_are_chosen_and_said() -> None:
    lesson = with_drills(porch(), (DrillWish(3, 6, 4, (40.0, 60.0)), DrillWish(0, 1)))
    first, second = lesson.drills
    assert (first.spot.first, first.spot.last, first.times) == (3, 6, 4)
    assert [rung.bpm for rung in first.ladder][:2] == [40.0, 60.0]
    assert len(second.ladder) > 1
    assert any("40" in step.text for block in steps_of(lesson, "en") for step in block.steps)
    assert decode_lesson(encode_lesson(lesson)).drills[0].spot.last == 6
    assert with_drills(lesson, None) == porch()
    assert with_drills(lesson, ()).drills == ()
    for wrong in (DrillWish(3, 2), DrillWish(0, 1000), DrillWish(-1, 2)):
        with pytest.raises(SettingsError):
            with_drills(porch(), (wrong,))


def test_what_a_person_chose_stays_when_a_move_changes() -> None:
    lesson = with_drills(with_tempos(porch(), (50.0,)), (DrillWish(0, 3, 2),))
    moved = with_moves(lesson.route, {0: Move((3,), Breath.BLOW)})
    remade = remade_lesson(lesson, moved)
    assert (remade.ladder, remade.drills) == (lesson.ladder, lesson.drills)
    plain = remade_lesson(porch(), moved)
    assert not has_own_tempos(plain)
    assert not has_own_drills(plain)


def test_pieces_are_put_in_another_order_with_all_that_is_said_before_them() -> None:
    words = WholeWords("en", WordsKind.NOTE, WholePlace("piece", 3), "Sit up.")
    lesson = lesson_of_pieces(own_words=(words,))
    moved = in_order(lesson, (3, 0, 1, 2, 4))
    assert [piece.lesson.title for piece in moved.pieces][:2] == ["Two doors", "Porch steps"]
    assert [piece.variant_of for piece in moved.pieces] == [None, None, 1, 1, None]
    assert [piece.folder for piece in moved.pieces][:2] == ["1-two-doors", "2-porch-steps"]
    assert moved.own_words[0].place.piece == 0
    assert moved.play_through == (0, 1, 4)
    assert in_order(moved, (1, 2, 3, 0, 4)) == lesson
    without = in_order(lesson, (0, 1, 2))
    assert (len(without.pieces), without.own_words, without.play_through) == (3, (), ())
    for wrong in ((1, 0, 2, 3, 4), (1, 3), (0, 0), (0, 9), ()):
        with pytest.raises(SettingsError):
            in_order(lesson, wrong)
