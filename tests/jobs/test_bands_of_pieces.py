"""The band under a lesson of several pieces of which it can't play all, and at bars that are asked for."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from msgspec.structs import replace

from reedpath.cli.form_places import every_proposal_as_data, proposal_lines, proposal_of_pieces_lines
from reedpath.errors import SoundError
from reedpath.jobs import PractiseWishes, asked_places, make_practice_sounds_of_pieces, pieces_without_band
from reedpath.jobs.band_choices import BandChoice
from reedpath.jobs.band_sounds import make_band_sounds
from reedpath.jobs.lessons import ladder_sounds
from reedpath.lesson import Lesson, LessonOfPieces, Piece, encode_lesson, encode_lesson_of_pieces
from reedpath.page import format_tab
from reedpath.phrase import Metre, timing_of
from reedpath.readers import read_phrase
from reedpath.sound import Backing, PlayAlong
from reedpath.wording import load_catalogue
from support.pieces import piece_lesson

ENGLISH = load_catalogue("en")
BLUES, WALTZ = "1-blues", "2-waltz"


def only_full(lesson: Lesson) -> Lesson:
    return replace(lesson, ladder=lesson.ladder[-1:])


def blues() -> Lesson:
    return only_full(piece_lesson("3d 4b 4d 4b 3d:2", "Blues", bpm=240.0))


def waltz() -> Lesson:
    return only_full(piece_lesson("4b:1 5b:1 6b:1 6b:3", "Waltz", metres=(Metre(Fraction(0), 3, 4),)))


def of(*lessons: tuple[str, Lesson]) -> LessonOfPieces:
    return LessonOfPieces("Two", tuple(Piece(folder, lesson) for folder, lesson in lessons))


BOTH = of((BLUES, blues()), (WALTZ, waltz()))


def test_a_piece_in_three_is_left_out_with_its_reason_and_the_others_are_made(tmp_path: Path) -> None:
    made = make_practice_sounds_of_pieces(BOTH, PractiseWishes(Backing(rounds=1), format="mp3"), tmp_path / "x")
    assert made.files == (f"{BLUES}/with-band-240.mp3",)
    without = pieces_without_band(BOTH, Backing())
    assert {folder: error.key for folder, error in without.items()} == {WALTZ: "sound.metre"}
    (told, *_) = proposal_of_pieces_lines(BOTH, Backing(), ENGLISH)
    assert told == "No band for 2-waltz: the band plays in 4/4, 2/2 and 12/8, not in 3/4."
    assert list(every_proposal_as_data(BOTH, Backing())["without_band"]) == [WALTZ]


def test_without_a_band_every_piece_is_played() -> None:
    assert pieces_without_band(BOTH, PlayAlong()) == {}


def test_where_the_band_can_play_none_that_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(SoundError, match="3/4"):
        make_practice_sounds_of_pieces(of((WALTZ, waltz())), PractiseWishes(Backing()), tmp_path / "x")
    assert not (tmp_path / "x" / WALTZ).exists()


def test_the_studio_makes_the_others_too(tmp_path: Path) -> None:
    for piece in BOTH.pieces:
        (tmp_path / piece.folder).mkdir()
        (tmp_path / piece.folder / "lesson.json").write_bytes(encode_lesson(piece.lesson))
    (tmp_path / "lesson.json").write_bytes(encode_lesson_of_pieces(BOTH))
    assert make_band_sounds(tmp_path, BandChoice(rounds=1), "mp3") == (f"{BLUES}/with-band-240.mp3",)


def test_bars_that_were_asked_for_are_told_with_how_the_phrase_sits_there() -> None:
    # D and B over G7 at home; it ends on G, which is the fourth over the V chord of the last bar
    lesson = piece_lesson("3d:2 4d:2 3b:4", "Ending")
    backing = Backing(form="twelve-bar", at_bars=(1,), as_turnaround=True)
    asked = asked_places(lesson, backing)
    assert asked is not None
    assert [(one.bar, one.rating.value) for one in asked.places] == [(1, "good"), (11, "poor")]
    first, second, better = proposal_lines(lesson, backing, ENGLISH)
    assert first == "Twelve-bar blues, bars 1 to 2: sits well."
    assert second.startswith(
        "Twelve-bar blues, bars 11 to 12, as a turnaround: better not. Comes to rest on G in bar 12"
    )
    assert better.startswith("It would sit best in twelve-bar blues")
    assert asked_places(lesson, Backing()) is None
    # where it sits well, no other place is proposed
    assert len(proposal_lines(lesson, Backing(form="twelve-bar", at_bars=(1,)), ENGLISH)) == 1


def test_files_are_named_by_the_beats_that_are_counted(tmp_path: Path) -> None:
    slow = only_full(piece_lesson("3d:3/2 4b:3/2 4d:3", "Slow", metres=(Metre(Fraction(0), 12, 8),), bpm=84.0))
    (sound,) = ladder_sounds(slow, lambda *_, **__: None, (), tmp_path)
    assert sound.part.file.name == "play-along-56.wav"


def test_the_tab_says_the_same_tempo_and_is_read_with_it() -> None:
    slow = piece_lesson("3d:3/2 4b:3/2 4d:3", "Slow", metres=(Metre(Fraction(0), 12, 8),), bpm=84.0)
    tab = format_tab(slow)
    assert "tempo: q. = 56" in tab
    assert timing_of(read_phrase(tab.encode())).tempos[0].bpm == pytest.approx(84.0)
