"""Where the play-throughs of raw footage are heard in the film that is cut of it."""

from __future__ import annotations

import pytest

from reedpath.film.cut_plays import ToldPlay, plays_in_cut, told_plays
from reedpath.film.film_cut import CutKind, CutPiece, CutWhy, FilmCut
from support.play_throughs import play_through


def kept(film: int, start: float, end: float) -> CutPiece:
    return CutPiece(film, start, end, CutKind.PLAY, keep=True, why=CutWhy.ONLY)


# two films: three notes from second 10 on in the first, one at second 3 in the second
FIRST = play_through([(0, 10.0, 11.0), (1, 11.0, 12.0), (2, 12.0, 14.0)])
SECOND = play_through([(0, 3.0, 4.0)])
PLAYS = [[FIRST], [SECOND]]


def cut_of(*pieces: CutPiece) -> FilmCut:
    return FilmCut(("a.mp4", "b.mp4"), (60.0, 20.0), pieces)


def spans(cut: FilmCut) -> list[list[tuple[int, float, float]]]:
    return [
        [(one.event, one.start_seconds, one.end_seconds) for one in play.events] for play in plays_in_cut(cut, PLAYS)
    ]


def test_a_play_through_is_as_much_later_as_its_stretch_is_shown_later() -> None:
    cut = cut_of(kept(1, 2.0, 5.0), kept(0, 9.0, 15.0))
    assert spans(cut) == [[(0, 1.0, 2.0)], [(0, 4.0, 5.0), (1, 5.0, 6.0), (2, 6.0, 8.0)]]
    second, first = plays_in_cut(cut, PLAYS)
    assert (second.start_seconds, second.end_seconds) == (1.0, 2.0)
    assert (first.start_seconds, first.end_seconds) == (4.0, 8.0)
    assert [one.due_seconds for one in first.events] == [4.0, 5.0, 6.0]
    assert first.whole


def test_what_is_cut_out_is_not_there() -> None:
    gone = CutPiece(1, 2.0, 5.0, CutKind.PLAY, keep=False, why=CutWhy.ANOTHER)
    assert spans(cut_of(gone, kept(0, 9.0, 15.0))) == [[(0, 1.0, 2.0), (1, 2.0, 3.0), (2, 3.0, 5.0)]]
    assert spans(cut_of(kept(0, 20.0, 30.0))) == []


def test_a_note_is_heard_until_its_stretch_ends_and_the_rest_is_not() -> None:
    cut = cut_of(kept(0, 11.0, 12.5))
    assert spans(cut) == [[(1, 0.0, 1.0), (2, 1.0, pytest.approx(1.5))]]
    (play,) = plays_in_cut(cut, PLAYS)
    assert play.end_seconds == pytest.approx(1.5)
    assert not play.whole
    # a note that begins as the stretch ends is the next one's
    assert spans(cut_of(kept(0, 9.0, 12.0))) == [[(0, 1.0, 2.0), (1, 2.0, 3.0)]]


def test_a_stretch_in_which_notes_are_only_due_has_no_play_through() -> None:
    missed = play_through([(0, 10.0, 11.0), (1, 11.0, 12.0)], missed=[1])
    found = plays_in_cut(cut_of(kept(0, 10.5, 12.0), kept(0, 9.0, 10.5)), [[missed], []])
    assert [[one.event for one in play.events] for play in found] == [[0]]


def test_what_is_said_before_a_stretch_belongs_to_it() -> None:
    """What is said between two belongs to the second, and to the first what is said last: the rest greets."""

    def said(start: float, end: float, *, keep: bool = True) -> CutPiece:
        return CutPiece(0, start, end, CutKind.TALK, keep=keep, why=CutWhy.TALK)

    cut = cut_of(
        said(0.0, 4.0), said(5.0, 8.0), kept(0, 9.0, 15.0), said(15.0, 16.0, keep=False), said(17.0, 19.0),
        said(20.0, 21.0), kept(1, 2.0, 5.0), kept(0, 30.0, 32.0), said(40.0, 42.0),
    )  # fmt: skip
    assert told_plays(cut) == (ToldPlay(7.0, 13.0, 4.0), ToldPlay(16.0, 19.0, 13.0), ToldPlay(19.0, 21.0, 19.0))
    in_one_go = cut_of(said(0.0, 4.0), said(5.0, 7.0), said(7.0, 8.0), kept(0, 9.0, 15.0))
    assert told_plays(in_one_go) == (ToldPlay(7.0, 13.0, 4.0),)
    assert told_plays(cut_of(kept(0, 9.0, 15.0))) == (ToldPlay(0.0, 6.0, 0.0),)
