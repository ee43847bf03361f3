"""Segments: where a take is cut."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.listen.segments import segments_of
from support.built_routes import built_route
from support.heard_takes import HeardTake


def cuts_of(*sounds):
    """Seconds at which a take is cut that sounds so: start, end, MIDI number, whether a note is heard to begin."""
    take = HeardTake(built_route("2d:1", key="A", bpm=60))
    for number, (start, end, midi, begins) in enumerate(sounds):
        take.sounding(number, start=start, end=end, midi=midi, begins=begins)
    return segments_of(take.lined_up().hearing).seconds


def test_a_step_of_pitch_shortly_before_a_note_is_a_cut():
    seconds = cuts_of((0.5, 0.57, 60.0, True), (0.57, 0.62, 58.0, False), (0.62, 0.9, 57.0, True))
    assert np.abs(seconds - 0.57).min() < 0.011


def test_a_step_of_pitch_right_after_a_note_begins_is_its_own_sound_setting_in():
    seconds = cuts_of((0.5, 0.66, 60.0, True), (0.66, 0.71, 58.0, False), (0.71, 0.9, 57.0, False))
    assert np.abs(seconds - 0.66).min() < 0.011
    joined = cuts_of((0.5, 0.54, 60.0, True), (0.54, 0.9, 57.0, False))
    assert np.abs(joined - 0.54).min() > 0.03


@pytest.mark.parametrize("apart", [0.01, 0.02])
def test_two_cuts_are_never_nearer_than_some_frames(apart):
    seconds = cuts_of((0.5, 0.7 - apart, 60.0, True), (0.7 - apart, 0.7, 58.0, False), (0.7, 0.9, 57.0, True))
    assert np.diff(seconds).min() > 0.02
