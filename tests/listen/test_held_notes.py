"""How long a note is held in tune, moment by moment, on pitches made by hand."""

from __future__ import annotations

import pytest

from reedpath.listen.held_notes import BEND_TOLERANCES, HeldNote, HeldTime


def heard(note, *moments):
    """What ends at each moment: seconds, cents."""
    return [note.hear(seconds, cents) for seconds, cents in moments]


def held(cents, *, start=0.0, steps=3):
    """Moments a tenth of a second apart at one pitch."""
    return [(start + 0.1 * step, cents) for step in range(steps + 1)]


def test_the_tolerances_stand_from_the_widest_to_what_is_just_heard():
    assert BEND_TOLERANCES == (25.0, 15.0, 10.0)


@pytest.mark.parametrize("cents", [15.0, -15.0, 14.6, -14.6, 0.0])
def test_the_bound_itself_is_in_tune(cents):
    note = HeldNote(15.0)
    note.hear(0.0, cents)
    assert note.now is not None
    assert note.now.cents == pytest.approx(cents, abs=0.5)


@pytest.mark.parametrize("cents", [15.1, -15.1, None])
def test_what_lies_beyond_it_or_is_silent_is_not_held(cents):
    note = HeldNote(15.0)
    assert note.hear(0.0, cents) is None
    assert note.now is None


def test_the_pitch_is_the_median_to_one_cent_and_its_spread_is_told():
    note = HeldNote(15.0)
    heard(note, (0.0, -4.0), (0.1, 4.0))
    assert note.now == HeldTime(0.1, -4.0, 4.0)
    heard(note, (0.15, 4.4))
    assert note.now.cents == 4.0
    halves = HeldNote(15.0)
    heard(halves, (0.0, 2.5))
    assert halves.now.cents == 3.0
    below = HeldNote(15.0)
    heard(below, (0.0, -2.5))
    assert below.now.cents == -2.0


def test_the_spread_is_about_the_mean_and_not_about_the_target():
    note = HeldNote(15.0)
    heard(note, (0.0, 9.0), (0.1, 11.0))
    assert note.now.unsteady_cents == 1.0


def test_seconds_are_told_to_the_millisecond_and_the_spread_to_a_tenth():
    note = HeldNote(15.0)
    heard(note, (0.0, 0.0), (0.09876, 1.0), (0.12345, 0.0))
    assert (note.now.seconds, note.now.unsteady_cents) == (0.123, 0.5)


def test_a_tenth_of_a_second_out_of_tune_is_a_slip_and_more_ends_the_note():
    note = HeldNote(15.0)
    heard(note, *held(0.0), (0.35, 40.0), (0.4, 0.0))
    assert note.now.seconds == 0.4
    assert heard(note, (0.51, 0.0)) == [HeldTime(0.4, 0.0, 0.0)]
    assert note.now == HeldTime(0.0, 0.0, 0.0)


@pytest.mark.parametrize("cents", [None, 40.0])
def test_a_note_ends_when_it_has_been_out_of_tune_too_long(cents):
    note = HeldNote(15.0)
    assert heard(note, *held(2.0), (0.38, cents)) == [None] * 5
    assert note.hear(0.41, cents) == HeldTime(0.3, 2.0, 0.0)
    assert note.now is None
    assert note.hear(0.5, cents) is None


def test_a_clock_that_jumps_back_ends_the_note():
    note = HeldNote(15.0)
    heard(note, *held(1.0, start=5.0))
    assert note.hear(1.0, 1.0) == HeldTime(0.3, 1.0, 0.0)


def test_less_than_a_third_of_a_second_is_nothing_held():
    note = HeldNote(15.0)
    heard(note, *held(0.0, steps=2))
    assert note.end() is None
    assert note.longest is None
    heard(note, *held(0.0, steps=3))
    assert note.end() == HeldTime(0.3, 0.0, 0.0)
    assert note.longest == HeldTime(0.3, 0.0, 0.0)
    assert note.end() is None


def test_the_longest_is_kept_and_of_two_as_long_the_first():
    note = HeldNote(15.0)
    for cents, steps in ((1.0, 3), (2.0, 3), (3.0, 5), (4.0, 4)):
        heard(note, *held(cents, steps=steps))
        note.end()
        if cents == 2.0:
            assert note.longest == HeldTime(0.3, 1.0, 0.0)
    assert note.longest == HeldTime(0.5, 3.0, 0.0)


def test_what_was_held_before_does_not_count_for_the_next_note():
    note = HeldNote(15.0)
    heard(note, *held(10.0))
    note.end()
    heard(note, (9.0, -3.0), (9.1, -3.0))
    assert note.now == HeldTime(0.1, -3.0, 0.0)


def test_a_time_in_which_nothing_could_be_heard_counts_neither_way():
    note = HeldNote(15.0)
    note.miss(3.0)
    heard(note, (0.0, 0.0), (0.1, 0.0))
    note.miss(2.0)
    assert heard(note, (2.2, 0.0)) == [None]
    assert note.now.seconds == 0.2
