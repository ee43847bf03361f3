"""The teacher's own harps: said, shown, unsaid, and undone."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedpath.errors import ReedpathError
from reedpath.jobs.own_harps import own_harps, set_own_harps
from reedpath.shelf import OwnedHarp, Shelf, Student


@pytest.fixture
def shelf(tmp_path: Path):
    with Shelf(tmp_path / "shelf.sqlite", make=True) as opened:
        yield opened


def test_harps_that_stay_keep_their_notes_and_a_students_are_not_touched(shelf: Shelf) -> None:
    set_own_harps(shelf, [("A", "standard"), ("C", "standard"), ("A", "standard")])
    with shelf.step("student"):
        student = shelf.add(Student(name="Ada (invented)"))
        shelf.add(OwnedHarp(student=student.number, key="G"))
        first = own_harps(shelf)[0]
        shelf.change(OwnedHarp(number=first.number, uid=first.uid, key="A", note="new reeds in spring"))
    there = set_own_harps(shelf, [("A", "standard"), ("Low F", "natural-minor-second")])
    assert [(one.key, one.tuning, one.note) for one in there] == [
        ("A", "standard", "new reeds in spring"),
        ("Low F", "natural-minor-second", ""),
    ]
    assert len(shelf.all(OwnedHarp, student=student.number)) == 1
    shelf.undo()
    assert [one.key for one in own_harps(shelf)] == ["A", "C"]


def test_saying_the_same_again_is_no_step(shelf: Shelf) -> None:
    set_own_harps(shelf, [("A", "standard")])
    before = len(shelf.steps())
    set_own_harps(shelf, [("A", "standard")])
    assert len(shelf.steps()) == before


@pytest.mark.parametrize("harp", [("H7", "standard"), ("A", "no such tuning")])
def test_what_is_no_harp_is_refused_and_nothing_changes(shelf: Shelf, harp: tuple[str, str]) -> None:
    with pytest.raises(ReedpathError):
        set_own_harps(shelf, [("C", "standard"), harp])
    assert own_harps(shelf) == ()
