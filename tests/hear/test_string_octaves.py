"""Octaves on two strings: strings of a stated recipe (recorded ones: tests/outside, bench/hear_string_octaves.py).

The nth partial of a stiff string lies at n f0 sqrt(1 + B n²): Fletcher and Rossing, The Physics of Musical
Instruments, chapter 2.
"""

import numpy as np
import pytest

from reedpath.hear import double_stops, hear_notes, observe
from reedpath.hear.harmonic import partials_between
from reedpath.hear.string_octaves import STRING_CLUES, string_clues, string_octave_log_odds
from reedpath.signal import Samples, concatenated, mixed, silence
from support.reed_tones import RATE, pluck, tune

SPAN = (0.3, 1.1)


def string(midi, stiffness, *, level=0.2, fades=2.0):
    """A stiff string struck for 0.8 s, its higher partials softer and sooner gone."""
    times = np.arange(round(0.8 * RATE)) / RATE
    hz = 440 * 2 ** ((midi - 69) / 12)
    tone = np.zeros(len(times))
    for n in range(1, 13):
        partial = n * hz * np.sqrt(1 + stiffness * n * n)
        tone += np.sin(2 * np.pi * partial * times + n * n) / n * np.exp(-times * (fades + 0.5 * n))
    return Samples(level * tone, rate=RATE)


def partials_of(*strings):
    pause = silence(0.3, rate=RATE)
    return partials_between(observe(concatenated([pause, mixed(strings), pause]), chords=True), *SPAN)


@pytest.mark.parametrize("low", [43, 50, 55])
@pytest.mark.parametrize("cents", [0, 6, -6])
def test_a_second_string_an_octave_higher_is_told_from_one_alone(low, cents):
    lower = string(low, 6e-5)
    alone = string_octave_log_odds(*partials_of(lower), low, found=False)
    upper = string(low + 12 + cents / 100, 2.5e-5, fades=3.5)
    both = string_octave_log_odds(*partials_of(lower, upper), low, found=False)
    assert alone < 0 < both
    assert both > alone + 2


@pytest.mark.parametrize("stiffness", [0.0, 3e-5, 1e-4])
def test_a_stiff_string_alone_keeps_its_line(stiffness):
    clues = dict(zip(STRING_CLUES, string_clues(*partials_of(string(45, stiffness)), 45, found=False), strict=True))
    assert clues["off_line"] < 0.2
    assert abs(clues["typically_farther"]) < 0.1


def test_a_string_a_little_out_of_tune_is_measured_first():
    off = string_clues(*partials_of(string(50.3, 6e-5)), 50, found=False)
    assert off == pytest.approx(string_clues(*partials_of(string(50.3, 6e-5)), 50.3, found=False), abs=0.02)


def test_that_the_pair_explains_the_spectrum_speaks_for_it():
    partials = partials_of(string(50, 6e-5))
    one, other = (string_clues(*partials, 50, found=found) for found in (False, True))
    assert (other - one).tolist() == [float(name == "found") for name in STRING_CLUES]
    assert string_octave_log_odds(*partials, 50, found=True) > string_octave_log_odds(*partials, 50, found=False)


def test_a_note_without_partials_has_only_what_is_known_of_it():
    nothing = np.zeros((0, 40), dtype=np.float32)
    absent = np.zeros((3, 40), dtype=np.float32)
    for hz, magnitude in ((nothing, nothing), (absent, absent)):
        assert string_clues(hz, magnitude, 60, found=True).tolist() == [1.0, 1.0] + [0.0] * (len(STRING_CLUES) - 2)


def test_every_clue_is_a_number_where_few_partials_can_be_told():
    for midi in (88, 100):
        assert np.isfinite(
            string_clues(*partials_of(string(midi, 0.0), string(midi + 12, 0.0)), midi, found=False)
        ).all()


# ------------------------------------------------------------------------------------------------ what is made of it


def heard_with(monkeypatch, odds, pitches=(52, 57, 50), *, octaves=False):
    """Notes of a plucked tune, each with its octave or not by odds that are given."""
    monkeypatch.setattr(double_stops, "string_octave_log_odds", lambda *_, found: odds)
    return hear_notes(tune(pitches, make=pluck, seconds=0.6), chords=True, octaves=octaves)


@pytest.mark.parametrize(
    ("odds", "octaves", "written", "marked"),
    [
        (-1.0, False, False, False),
        (0.3, False, False, False),
        (1.0, False, False, True),
        (3.0, False, True, False),
        (-1.0, True, False, False),
        (0.3, True, True, True),
        (1.0, True, True, True),
        (3.0, True, True, False),
    ],
)
def test_an_octave_is_written_if_sure_marked_if_likely(monkeypatch, odds, octaves, written, marked):
    notes = heard_with(monkeypatch, odds, octaves=octaves)
    expected = [midi + up for midi in (52, 57, 50) for up in ((0, 12) if written else (0,))]
    assert [note.midi for note in notes] == expected
    assert {note.octave_doubtful for note in notes} == {marked}


def test_a_pair_that_is_no_octave_after_all_is_one_note(monkeypatch):
    monkeypatch.setattr(double_stops, "pitches_between", lambda *_: ((52.0, 0.6), (64.02, 0.5)))
    assert [note.midi for note in heard_with(monkeypatch, 3.0, (52,))] == [52, 64]
    (alone,) = heard_with(monkeypatch, -1.0, (52,))
    assert alone.midi == 52
    assert len(alone.contour_midi) > 10  # the lead's own note, with its contour


@pytest.mark.parametrize(("second", "asked_until"), [(54, 0.85), (64, 1.45)])
def test_what_is_asked_of_a_strike_ends_where_another_note_is_hammered_on(monkeypatch, second, asked_until):
    asked = []
    monkeypatch.setattr(double_stops, "strike_seconds", lambda _: (0.25,))
    monkeypatch.setattr(
        double_stops,
        "partials_between",
        lambda seen, start, end: asked.append(end) or partials_between(seen, start, end),
    )
    hear_notes(tune((52, second), make=pluck, seconds=0.6, gap=0), chords=True)
    assert asked == [pytest.approx(asked_until, abs=0.04)]
