"""Long notes: what may be held, what is kept of it and for whom."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedpath.errors import ReedpathError
from reedpath.jobs.long_notes import LongNote, held_until_now, keep_held_note, natural_cents
from reedpath.listen import HeldTime
from reedpath.shelf import Shelf, Student


@pytest.fixture
def shelf(tmp_path: Path):
    with Shelf(tmp_path / "a.sqlite", make=True) as opened:
        with opened.step("student"):
            opened.add(Student(name="Ada (invented)"))
        yield opened


def test_a_note_is_named_by_its_harp_its_move_and_how_near_it_is_to_be() -> None:
    note = LongNote.of("A", "standard", "-3'", "15")
    assert (note.harp.name, note.tab, note.tolerance_cents) == ("A", "-3'", 15.0)
    asked = note.asked
    assert (asked.harp, asked.held, asked.tolerance_cents) == (note.harp, note.move, 15.0)


@pytest.mark.parametrize(
    ("asked", "key"),
    [
        (("A", "no such tuning", "-3'", "15"), "harp.unknown_tuning"),
        (("A", "standard", "45", "15"), "jobs.long_note_of_several"),
        (("A", "standard", "-3'", "14"), "jobs.long_note_tolerance"),
    ],
)
def test_what_cannot_be_held_is_refused(asked: tuple[str, str, str, str], key: str) -> None:
    with pytest.raises(ReedpathError) as told:
        LongNote.of(*asked)
    assert told.value.key == key


@pytest.mark.parametrize(
    ("move", "semitones"), [("-3", None), ("-3'", 1), ("-3'''", 3), ("-4'", 1), ("6o", -3), ("+10''", 2)]
)
def test_the_natural_note_of_a_hole_lies_as_far_off_as_it_is_bent(move: str, semitones: int | None) -> None:
    """As reeds are tuned, 3 draw bends by up to three semitones; 6 overblow lies three over 6 blow (G and B flat)."""
    cents = natural_cents(*(lambda note: (note.harp, note.move))(LongNote.of("C", "standard", move, "15")))
    assert cents is None if semitones is None else cents == pytest.approx(100 * semitones, abs=25)


def test_what_is_kept_of_a_held_note_is_all_that_was_measured(shelf: Shelf) -> None:
    note = LongNote.of("A", "standard", "-3'", "15")
    kept = keep_held_note(shelf, note, HeldTime(4.25, -3.0, 2.5), 1)
    assert (kept.student, kept.key, kept.tuning, kept.move) == (1, "A", "standard", "-3'")
    assert (kept.seconds, kept.cents, kept.unsteady_cents, kept.tolerance_cents) == (4.25, -3.0, 2.5, 15.0)
    again = keep_held_note(shelf, note, HeldTime(5.0, 1.0, 2.0), 1)
    own = keep_held_note(shelf, note, HeldTime(6.0, 1.0, 2.0), None)
    keep_held_note(shelf, LongNote.of("A", "standard", "-3''", "15"), HeldTime(7.0, 1.0, 2.0), 1)
    keep_held_note(shelf, LongNote.of("C", "standard", "-3'", "15"), HeldTime(8.0, 1.0, 2.0), 1)
    assert held_until_now(shelf, note, 1) == [kept, again]
    assert held_until_now(shelf, note, None) == [own]
    with pytest.raises(ReedpathError):
        keep_held_note(shelf, note, HeldTime(4.0, 0.0, 0.0), 9)
    assert len(held_until_now(shelf, note, 9)) == 0
