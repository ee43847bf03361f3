"""A further phrase in a lesson of the shelf: a piece after those that there are, as its own new version."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedpath.data import replace
from reedpath.errors import SettingsError
from reedpath.jobs.adding_pieces import PieceWishes, add_piece_to_version, with_phrase_added
from reedpath.jobs.instruments import HarpChoice
from reedpath.jobs.lesson_folders import lesson_of_version
from reedpath.jobs.shelf_lessons import keep_version
from reedpath.lesson import LessonOfPieces, with_note
from reedpath.shelf import KeptLesson, KeptPhrase, Shelf, TaughtPhrase, add_phrase, last_version
from support.phrases import phrase_of
from support.pieces import answer, doors, lesson_of_pieces, porch
from support.shelves import played, put_lesson

PHRASE = phrase_of("c5 1/4 d5 e5 g5 e5 d5 c5 1/2")


def test_a_lesson_of_one_phrase_becomes_one_of_two_with_what_is_said_of_it() -> None:
    lesson = with_note(replace(porch(), author="Ada", date="today"), [("en", "Listen first."), ("fr", "Écoute.")])
    made = with_phrase_added(lesson, PHRASE, "Up and down", PieceWishes())
    assert isinstance(made, LessonOfPieces)
    assert (made.title, made.author, made.date) == ("Porch steps", "Ada", "today")
    assert made.notes == {"en": "Listen first.", "fr": "Écoute."}
    first, second = made.pieces
    assert first.lesson == porch()
    assert (first.folder, second.folder) == ("1-porch-steps", "2-up-and-down")
    assert second.lesson.title == "Up and down"
    assert second.lesson.route.harp == first.lesson.route.harp
    assert second.lesson.route.level == first.lesson.route.level
    assert (second.lesson.notation, second.lesson.languages) == (first.lesson.notation, first.lesson.languages)
    assert made.play_through == (0, 1)


def test_pieces_that_are_there_stay_as_they_are_and_are_played_in_a_row_with_it_only_where_all_were() -> None:
    lesson = lesson_of_pieces()
    own = tuple(index for index, piece in enumerate(lesson.pieces) if piece.variant_of is None)
    made = with_phrase_added(replace(lesson, play_through=own), PHRASE, "Up", PieceWishes())
    assert made.pieces[:-1] == lesson.pieces
    assert made.play_through == (*own, len(lesson.pieces))
    for row in ((), own[::-1]):
        assert with_phrase_added(replace(lesson, play_through=row), PHRASE, "Up", PieceWishes()).play_through == row


def test_a_folder_of_that_name_is_not_taken_twice() -> None:
    lesson = lesson_of_pieces()
    taken = replace(lesson.pieces[-1], folder=f"{len(lesson.pieces) + 1}-up")
    made = with_phrase_added(replace(lesson, pieces=(*lesson.pieces[:-1], taken)), PHRASE, "Up", PieceWishes())
    assert made.pieces[-1].folder == f"{len(lesson.pieces) + 2}-up"


def test_another_harp_and_level_are_as_asked_for() -> None:
    wishes = PieceWishes(harp=HarpChoice(), owned=("D", "Low F"), level="advanced")
    made = with_phrase_added(doors(), PHRASE, "Up", wishes)
    assert made.pieces[1].lesson.route.harp.name in ("D", "Low F")
    assert made.pieces[1].lesson.route.level == "advanced"
    with pytest.raises(SettingsError):
        with_phrase_added(doors(), PHRASE, "Up", PieceWishes(level="nobody"))


def test_it_is_kept_as_a_version_that_teaches_the_phrase_of_the_shelf_and_is_undone(tmp_path: Path) -> None:
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        number = put_lesson(shelf, answer())
        with shelf.step("add"):
            kept, _ = add_phrase(shelf, played("Down the stairs", 72, 71, 69, 67))
        before = shelf.counts()
        changed = add_piece_to_version(shelf.files, last_version(shelf, number), kept, PieceWishes())
        version, is_new = keep_version(shelf, changed.opened, changed.kept)
        assert (version.version, is_new) == (2, True)
        lesson = lesson_of_version(version)
        assert isinstance(lesson, LessonOfPieces)
        assert [piece.lesson.title for piece in lesson.pieces] == ["Answer", "Down the stairs"]
        assert shelf.get(KeptLesson, number).title == "Answer"
        assert shelf.counts()["phrase"] == before["phrase"]
        taught = [shelf.get(KeptPhrase, one.phrase).title for one in shelf.all(TaughtPhrase, version=version.number)]
        assert taught == ["Answer", "Down the stairs"]
        shelf.undo()
        assert lesson_of_version(last_version(shelf, number)) == answer()
