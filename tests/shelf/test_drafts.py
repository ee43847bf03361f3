"""Drafts: kept with every change, undone and done again, over closing the shelf; beside its journal."""

from __future__ import annotations

import io

import pytest

from reedpath.errors import SettingsError
from reedpath.shelf import Shelf, all_drafts, check_shelf, draft_steps, keep_draft, new_draft, put_away


def test_a_draft_is_there_again_with_its_steps_when_the_shelf_is_opened_again(tmp_path):
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        number = new_draft(shelf, "0")
        for data, how in (("1", "step"), ("1b", "same"), ("2", "step"), ("3", "step"), ("2", "undo"), ("1b", "undo")):
            keep_draft(shelf, number, data, title=f"Title {data}", sound="", how=how)
    with Shelf(tmp_path / "shelf.sqlite") as shelf:
        steps = draft_steps(shelf, number)
        assert (steps.before, steps.now, steps.after) == (("0",), "1b", ("2", "3"))
        keep_draft(shelf, number, "2", title="", sound="", how="redo")
        assert draft_steps(shelf, number).now == "2"
        keep_draft(shelf, number, "4", title="", sound="", how="step")
        steps = draft_steps(shelf, number)
        assert (steps.before, steps.now, steps.after) == (("0", "1b", "2"), "4", ())
        assert shelf.steps() == []


def test_drafts_are_listed_the_last_one_first_and_put_away_and_taken_out(tmp_path):
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        one, two = new_draft(shelf, "a", title="One"), new_draft(shelf, "b", title="Two")
        assert [draft.title for draft in all_drafts(shelf)] == ["Two", "One"]
        put_away(shelf, two)
        assert [draft.title for draft in all_drafts(shelf) if draft.away] == ["Two"]
        put_away(shelf, two, away=False)
        assert not any(draft.away for draft in all_drafts(shelf))
        assert draft_steps(shelf, one).now == "a"


def test_only_so_many_steps_are_kept(tmp_path):
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        number = new_draft(shelf, "0")
        for data in range(1, 110):
            keep_draft(shelf, number, str(data), title="", sound="", how="step")
        steps = draft_steps(shelf, number)
        assert steps.now == "109"
        assert len(steps.before) == 100


def test_a_draft_that_is_not_there_is_said(tmp_path):
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        for what in (
            lambda: draft_steps(shelf, 7),
            lambda: keep_draft(shelf, 7, "", title="", sound="", how="step"),
            lambda: put_away(shelf, 7),
        ):
            with pytest.raises(SettingsError) as caught:
                what()
            assert caught.value.key == "shelf.no_draft"


def test_the_recording_of_a_draft_is_not_cleared_away(tmp_path):
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        sound = shelf.files.keep(io.BytesIO(b"sound"), name="hum.wav")
        other = shelf.files.keep(io.BytesIO(b"other"), name="other.wav")
        number = new_draft(shelf, "0")
        keep_draft(shelf, number, "1", title="", sound=sound, how="step")
        keep_draft(shelf, number, "2", title="", sound="", how="step")
        assert check_shelf(shelf).cleared == 1
        assert shelf.files.holds(sound)
        assert not shelf.files.holds(other)
