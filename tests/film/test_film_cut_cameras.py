"""Cuts of films that were taken together: their clocks, and what is refused of them."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from reedpath.errors import FilmError, Place, ReadError
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


def test_each_stretch_is_a_line_of_the_list_that_can_be_moved() -> None:
    """The last one first, the one in the middle away: a comma is missing then, and one is left over."""
    cut = cut_of(stretch(12.0, 13.0), stretch(14.0, 15.0), stretch(16.5, 17.0, seen=1))
    lines = encode_cut(cut).decode().splitlines()
    pieces = [number for number, line in enumerate(lines) if '"start_seconds"' in line]
    assert len(pieces) == 3
    first, middle, last = pieces
    moved = [*lines[:first], lines[last], lines[first], *lines[last + 1 :]]
    assert middle - first == last - middle == 1
    assert decode_cut("\n".join(moved).encode()) == replace(cut, pieces=(cut.pieces[2], cut.pieces[0]))
    # what else is no JSON is told where it is
    with pytest.raises(ReadError) as told:
        decode_cut("\n".join(moved).replace('"keep": true', '"keep": yes', 1).encode())
    assert told.value.key == "data.no_json"
    assert told.value.where.line == first + 1


def test_what_is_wrong_in_a_stretch_is_told_with_its_line() -> None:
    """Behind a list of films and before that of clocks, of which one is named as the stretches are."""
    cut = replace(cut_of(stretch(12.0, 13.0), stretch(14.0, 15.0)), films=("a", "pieces", "[{", "}"))
    lines = encode_cut(cut).decode().splitlines()
    line = next(number for number, text in enumerate(lines) if "14.0" in text)
    for old, new, kind in (
        ("15.0", "99.0", FilmError),
        ("15.0", '"soon"', ReadError),
        ("15.0", "15.0, 7", ReadError),
    ):
        wrong = [text.replace(old, new) if number == line else text for number, text in enumerate(lines)]
        with pytest.raises(kind) as told:
            decode_cut("\n".join(wrong).encode())
        assert told.value.where.line == line + 1
    overlapping = "\n".join(lines).replace('"start_seconds": 14.0', '"start_seconds": 12.5')
    with pytest.raises(FilmError) as told:
        decode_cut(overlapping.encode())
    assert (told.value.key, told.value.where.line) == ("film.cut_twice", line + 1)
    with pytest.raises(FilmError) as told:
        decode_cut(encode_cut(replace(cut, lengths=(60.0,))))
    assert told.value.where.line is None


def test_what_programs_for_texts_write_by_themselves_is_no_fault() -> None:
    cut = cut_of(stretch(12.0, 13.0))
    text = encode_cut(cut).decode()
    assert decode_cut(b"\xef\xbb\xbf" + text.encode()) == cut
    turned = "".join("\u201c\u201d"[number % 2] + part for number, part in enumerate(text.split('"')))[1:]
    assert '"' not in turned
    assert decode_cut(turned.encode()) == cut


@pytest.mark.parametrize(
    ("written", "seconds"),
    [('"0:12"', 12.0), ('"0:12.25"', 12.25), ('" 0:05 "', 5.0), ('"0:00:14.5"', 14.5), ("12.5", 12.5)],
)
def test_moments_may_be_written_as_players_show_them(written: str, seconds: float) -> None:
    text = encode_cut(cut_of(stretch(3.0, 20.0))).decode()
    assert '"start_seconds": 3.0' in text
    (piece,) = decode_cut(text.replace('"start_seconds": 3.0', f'"start_seconds": {written}').encode()).pieces
    assert (piece.start_seconds, piece.end_seconds) == (seconds, 20.0)
    for wrong in ('"0:5:99x"', '"five"', '"1:"'):
        with pytest.raises(ReadError):
            decode_cut(text.replace('"start_seconds": 3.0', f'"start_seconds": {wrong}').encode())


@pytest.mark.parametrize("slip", [('"keep"', '"kep"'), ('"rate"', '"rates"'), ('"pieces"', '"piece": [], "pieces"')])
def test_a_slip_in_the_list_is_not_passed_over(slip: tuple[str, str]) -> None:
    """A field misspelt would leave the list as it was, without a word."""
    text = encode_cut(cut_of(stretch(12.0, 13.0))).decode()
    assert slip[0] in text
    more = text.replace(slip[0], f"{slip[1]}: true, {slip[0]}" if "keep" in slip[0] else slip[1], 1)
    with pytest.raises(ReadError) as told:
        decode_cut(more.encode())
    assert told.value.key == "data.unknown_field"


@pytest.mark.parametrize(
    ("piece", "key", "values"),
    [
        (stretch(12.0, 13.0, seen=7), "film.cut_no_film", {"film": 7, "count": 4}),
        (stretch(12.0, 13.0, seen=3), "film.cut_not_together", {"film": 0, "seen": 3}),
        (stretch(20.0, 51.0, seen=2), "film.cut_not_seen", {"film": 2, "start": 0.0, "end": 31.0}),
        (stretch(15.0, 25.0, seen=2), "film.cut_not_seen", {"film": 2, "start": -5.0, "end": 5.0}),
        (stretch(45.0, 70.0), "film.cut_outside", {"start": 45.0, "end": 70.0, "seconds": 60.0}),
        (stretch(45.0, 44.0), "film.cut_outside", {"start": 45.0, "end": 44.0, "seconds": 60.0}),
        (replace(stretch(1.0, 2.0), film=4), "film.cut_no_film", {"film": 4, "count": 4}),
    ],
)
def test_what_can_not_be_shown_is_refused_with_its_place_and_times(piece: CutPiece, key: str, values: dict) -> None:
    with pytest.raises(FilmError) as told:
        checked_cut(cut_of(stretch(0.0, 1.0), piece))
    assert (told.value.key, told.value.values, told.value.where) == (key, values, Place(field="pieces[1]"))


def test_a_stretch_that_is_shown_twice_and_a_cut_of_nothing_are_refused() -> None:
    for pieces, key, values in (
        ((stretch(1.0, 3.0), stretch(2.0, 4.0)), "film.cut_twice", {"start": 2.0, "end": 3.0}),
        ((replace(stretch(1.0, 3.0), keep=False),), "film.cut_empty", {}),
    ):
        with pytest.raises(FilmError) as told:
            checked_cut(cut_of(*pieces))
        assert (told.value.key, told.value.values) == (key, values)
    # the same once more, one after the other, and of two films at once, is well
    assert len(checked_cut(cut_of(stretch(1.0, 3.0), stretch(5.0, 6.0), stretch(1.0, 3.0))).kept) == 3
    goes_on = cut_of(stretch(3.0, 5.0), stretch(1.0, 3.0), stretch(3.0, 5.0), stretch(5.0, 6.0))
    assert [(one.start_seconds, one.end_seconds) for one in checked_cut(goes_on).kept] == [(3.0, 5.0), (1.0, 6.0)]
    assert checked_cut(cut_of(stretch(1.0, 3.0), stretch(3.0, 4.0), replace(stretch(1.0, 3.0), film=1))).kept
    with pytest.raises(FilmError) as told:
        checked_cut(replace(cut_of(stretch(1.0, 3.0)), lengths=(60.0,)))
    assert (told.value.key, told.value.where) == ("film.cut_lengths", Place(field="lengths"))


def test_gains_are_as_many_as_films_or_none() -> None:
    cut = replace(cut_of(stretch(12.0, 13.0)), gains_db=(0.0, -6.0, 0.0, 3.5))
    assert decode_cut(encode_cut(cut)) == cut
    with pytest.raises(FilmError) as told:
        checked_cut(replace(cut, gains_db=(3.0,)))
    assert told.value.where.field == "gains_db"


def test_a_clock_of_no_film_is_refused() -> None:
    with pytest.raises(FilmError) as told:
        checked_cut(FilmCut(("a.mp4",), (9.0,), (stretch(0.0, 1.0),), (FilmClock(1, 0, 0.0),)))
    assert (told.value.key, told.value.values) == ("film.cut_no_film", {"film": 1, "count": 1})
    assert told.value.where == Place(field="clocks[0]")


def test_stretches_go_from_picture_to_picture() -> None:
    cut = on_pictures(cut_of(stretch(1.013, 2.031), stretch(2.031, 60.0)), [25.0] * 4)
    assert [(one.start_seconds, one.end_seconds) for one in cut.pieces] == [(1.0, 2.04), (2.04, 60.0)]
