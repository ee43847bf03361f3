"""Cuts of films that were taken together: their clocks, and what is refused of them."""

from __future__ import annotations

import pytest

from reedpath.errors import FilmError
from reedpath.film import (
    CutKind,
    CutPiece,
    CutWhy,
    FilmClock,
    FilmCut,
    checked_cut,
    decode_cut,
    encode_cut,
    on_pictures,
)

CLOCKS = (FilmClock(1, 0, 10.0, 1.0001), FilmClock(2, 0, 20.0))


def cut_of(*pieces: CutPiece) -> FilmCut:
    return FilmCut(("a.mp4", "b.mp4", "c.mp4", "d.mp4"), (60.0, 40.0, 30.0, 9.0), pieces, CLOCKS)


def stretch(start: float, end: float, **more) -> CutPiece:
    return CutPiece(0, start, end, CutKind.TALK, keep=True, why=CutWhy.TALK, **more)


def test_the_time_of_each_camera_is_that_of_any_other() -> None:
    cut = cut_of(stretch(0.0, 1.0))
    assert cut.clock(1, 0).there(5.0) == pytest.approx(15.0005)
    assert cut.clock(0, 1).there(15.0005) == pytest.approx(5.0)
    assert cut.clock(1, 2).there(15.0) == pytest.approx(5.0015)
    assert cut.clock(3, 0) is None
    assert cut.clock(3, 3).there(4.0) == 4.0
    # what three cameras filmed from 0 to 60 s, and a film of 9 s that none of them saw
    assert cut.filmed_seconds == pytest.approx(69.0)


def test_a_stretch_that_another_camera_shows_goes_on_in_sound_alone() -> None:
    cut = cut_of(stretch(12.0, 13.0), stretch(13.0, 14.0, seen=1), stretch(14.0, 15.0, seen=1))
    assert [(one.shown, one.seconds) for one in cut.kept] == [(0, 1.0), (1, 2.0)]
    assert decode_cut(encode_cut(cut)) == cut


@pytest.mark.parametrize(
    ("piece", "key"),
    [
        (stretch(12.0, 13.0, seen=7), "film.cut_no_film"),
        (stretch(12.0, 13.0, seen=3), "film.cut_not_together"),
        (stretch(2.0, 13.0, seen=1), "film.cut_not_seen"),
        (stretch(45.0, 55.0, seen=2), "film.cut_not_seen"),
    ],
)
def test_what_a_camera_cannot_show_is_refused(piece: CutPiece, key: str) -> None:
    with pytest.raises(FilmError) as told:
        checked_cut(cut_of(piece))
    assert told.value.key == key


def test_a_clock_of_no_film_is_refused() -> None:
    with pytest.raises(FilmError) as told:
        checked_cut(FilmCut(("a.mp4",), (9.0,), (stretch(0.0, 1.0),), (FilmClock(1, 0, 0.0),)))
    assert told.value.key == "film.cut_no_film"


def test_stretches_go_from_picture_to_picture() -> None:
    cut = on_pictures(cut_of(stretch(1.013, 2.031), stretch(2.031, 60.0)), [25.0] * 4)
    assert [(one.start_seconds, one.end_seconds) for one in cut.pieces] == [(1.0, 2.04), (2.04, 60.0)]
