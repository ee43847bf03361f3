"""The OpenTimelineIO file beside a cut film, where the list of the cut was corrected; and films given twice."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedpath.errors import FilmError
from reedpath.film import CutKind, CutPiece, CutWhy, FilmCut
from reedpath.jobs import cutting, propose_cut, timeline_as_list, timeline_beside
from support.pieces import porch

CUT = FilmCut(("raw.mp4",), (9.0,), (CutPiece(0, 1.0, 5.0, CutKind.TALK, keep=True, why=CutWhy.TALK),))


def test_it_is_written_where_there_is_none_and_what_says_something_else_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = {"now": b"one cut"}
    monkeypatch.setattr(cutting, "_timeline_of", lambda cut, films, title: said["now"])
    out = tmp_path / "taught.mp4"
    assert timeline_as_list(CUT, [], out, title="T")
    assert timeline_beside(out).read_bytes() == b"one cut"
    assert timeline_as_list(CUT, [], out, title="T")
    said["now"] = b"another cut"
    assert not timeline_as_list(CUT, [], out, title="T")
    assert timeline_beside(out).read_bytes() == b"one cut"


def test_without_its_library_nothing_is_written_or_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cutting, "_timeline_of", lambda cut, films, title: None)
    out = tmp_path / "taught.mp4"
    assert timeline_as_list(CUT, [], out, title="T")
    assert not timeline_beside(out).exists()


def test_a_film_that_is_given_twice_is_refused(tmp_path: Path) -> None:
    film = tmp_path / "raw.mp4"
    film.touch()
    with pytest.raises(FilmError) as told:
        propose_cut(porch(), [film, tmp_path / "." / "raw.mp4"])
    assert told.value.key == "film.same_twice"
    assert told.value.values == {"name": "raw.mp4"}
