"""What the command line says of a cut of raw footage: which films go together, and whose sound is heard."""

from __future__ import annotations

from reedpath.cli.footage import told_of_cut
from reedpath.film import CutKind, CutPiece, CutWhy, FilmClock, FilmCut
from reedpath.wording import load_catalogue
from support.routes import lesson_of, phrase_of, route_of


def told(*clocks: FilmClock, heard: tuple[int, ...] = (0,)) -> list[str]:
    pieces = tuple(
        CutPiece(film, 1.0 * film, 1.0 * film + 1.0, CutKind.TALK, keep=True, why=CutWhy.TALK) for film in heard
    )
    cut = FilmCut(("front.mp4", "side.mp4", "room.wav"), (60.0, 60.0, 60.0), pieces, clocks)
    return list(told_of_cut(cut, lesson_of(route_of(phrase_of("C4 D4 E4 F4"))), load_catalogue("en")))


def test_of_films_taken_together_it_is_said_which_and_whose_sound_is_heard() -> None:
    said = told(FilmClock(1, 0, 2.0), FilmClock(2, 0, 1.0, 1.00003), heard=(2, 2))
    assert said[:3] == [
        "side.mp4 was filmed together with front.mp4.",
        "room.wav was filmed together with front.mp4; their clocks move apart by 0.1 s in an hour, "
        "which is made up for.",
        "The sound is that of room.wav.",
    ]


def test_of_one_film_no_sound_is_told_apart() -> None:
    assert not any("sound" in line or "together" in line for line in told())
