"""A lesson as it is shown for editing: numbers, bars, tab, tempos and drills of it."""

from __future__ import annotations

from fractions import Fraction

from msgspec.structs import replace

from reedpath.jobs.lesson_views import lesson_view, notes_before_all
from reedpath.lesson import OwnWords, StepPlace, WordsKind, make_lesson
from reedpath.phrase import Metre
from support.built_routes import built_route
from support.pieces import lesson_of_pieces, porch
from support.routes import choose, lesson_of


def test_notes_are_numbered_from_one_with_bar_tab_and_breath() -> None:
    """Four beats to a bar; a rest has a dash and no breath."""
    lesson = porch()
    lesson = replace(lesson, route=choose(lesson.route, 5, move=None))
    (piece,) = lesson_view(lesson, "en").pieces
    assert [one.number for one in piece.events] == list(range(1, 16))
    assert [one.bar for one in piece.events] == [1] * 4 + [2] * 4 + [3] * 4 + [4] * 3
    assert [one.tab for one in piece.events][:6] == ["-2", "-3'", "+4", "-4", "-4", "–"]
    assert [one.breath for one in piece.events][:6] == ["draw", "draw", "blow", "draw", "draw", ""]


def test_a_pickup_counts_to_the_bar_before_the_first() -> None:
    lesson = make_lesson(built_route("2d:1 3d:1 4b:1 4d:1 4b:1 3d:1", pickup=1))
    (piece,) = lesson_view(lesson, "en").pieces
    assert [one.bar for one in piece.events] == [0, 1, 1, 1, 1, 2]


def test_tempos_are_those_below_the_full_one_in_counted_beats() -> None:
    (piece,) = lesson_view(porch(), "en").pieces
    assert (piece.tempos, piece.full, piece.beats) == ((76.0, 88.0), 100.0, 4)
    assert (piece.own_tempos, piece.own_drills) == (False, False)
    drilled = lesson_of(porch().route)
    (piece,) = lesson_view(drilled, "en").pieces
    (drill,) = piece.drills
    assert (drill.first, drill.last, drill.times) == (0, 3, 3)
    assert drill.tempos == (50.0, 65.0, 80.0)
    # a beat of 6/8 is a dotted quarter note
    swaying = make_lesson(
        built_route(" ".join(["2d:1/2", "3d:1/2", "4b:1/2"] * 4), metres=(Metre(Fraction(0), 6, 8),))
    )
    (piece,) = lesson_view(swaying, "en").pieces
    assert (piece.beats, piece.full) == (2, round(swaying.ladder[-1].bpm / 1.5, 1))


def test_a_lesson_is_told_by_title_harp_level_and_parts() -> None:
    lesson = replace(porch(), author="Ada (invented)", date="2026-03-01", part_names={"en": {"A": "The call"}})
    view = lesson_view(lesson, "en")
    assert (view.title, view.author, view.date, view.languages) == (
        lesson.title, "Ada (invented)", "2026-03-01", lesson.languages,
    )  # fmt: skip
    assert not view.is_of_pieces
    (piece,) = view.pieces
    assert (piece.title, piece.harp, piece.variant_of) == (lesson.title, "C harp", None)
    assert piece.part_names["A"]["en"] == "The call"
    assert set(piece.part_names["B"].values()) == {""}
    assert [row.cells[0].language for row in piece.rows] == [lesson.languages[0]] * len(piece.rows)


def test_a_lesson_of_pieces_is_told_piece_by_piece() -> None:
    taught = lesson_of_pieces()
    view = lesson_view(taught, "fr")
    assert view.is_of_pieces
    assert [one.index for one in view.pieces] == list(range(len(taught.pieces)))
    assert [one.variant_of for one in view.pieces] == [one.variant_of for one in taught.pieces]
    assert [one.title for one in view.pieces] == [one.lesson.title for one in taught.pieces]
    assert view.play_through == taught.play_through
    assert view.whole


def test_notes_before_everything_are_one_text_for_each_language() -> None:
    def note(text: str, language: str = "en", step: str = "intro") -> OwnWords:
        return OwnWords(language, WordsKind.NOTE, StepPlace(step), text)

    words = (note("Sit down."), note("Breathe."), note("Assis.", "fr"), note("Later.", step="ladder"))
    assert notes_before_all(replace(porch(), own_words=words)) == {"en": "Sit down. Breathe.", "fr": "Assis."}
