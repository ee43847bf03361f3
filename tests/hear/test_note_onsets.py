"""When a note begins: reeds that swell, reeds that follow each other without a stop, dips that part notes."""

import numpy as np
import pytest

from reedpath.hear import curve_of, hear_notes, notes_of, observe
from reedpath.hear.onsets import first_heard
from reedpath.signal import Samples, concatenated, mixed, silence
from support.reed_tones import RATE, reed_tone


def swelling(midi, seconds=0.6, *, rise=0.08):
    """A reed that comes up from nothing, in proportion to time."""
    tone = reed_tone(midi, seconds)
    slope = np.minimum(1.0, np.arange(tone.frames) / (rise * RATE))
    return Samples(tone.array[:, 0] * slope, RATE)


@pytest.mark.parametrize("midi", [58, 65, 74, 86])
def test_a_reed_that_swells_begins_where_it_is_first_heard(midi):
    (note,) = hear_notes(concatenated([silence(0.3, rate=RATE), swelling(midi), silence(0.3, rate=RATE)]))
    # a tenth of the loudest after 8 ms
    assert note.start_seconds == pytest.approx(0.308, abs=0.02)


@pytest.mark.parametrize("interval", [2, 5, -4])
def test_a_note_that_swells_under_the_end_of_another_begins_before_that_ends(interval):
    first = concatenated([silence(0.3, rate=RATE), reed_tone(70, 0.5), silence(0.8, rate=RATE)])
    second = concatenated([silence(0.76, rate=RATE), swelling(70 + interval), silence(0.24, rate=RATE)])
    notes = hear_notes(mixed([first, second]))
    assert [note.midi for note in notes] == [70, 70 + interval]
    assert notes[1].start_seconds == pytest.approx(0.77, abs=0.03)


def test_an_onset_is_never_moved_later_nor_far():
    seen = observe(concatenated([silence(0.3, rate=RATE), reed_tone(70, 0.5)]))
    for at in np.arange(0.2, 0.7, 0.01):
        heard = first_heard(seen, 70.0, float(at), 0.8)
        assert at - 0.06 <= heard <= at
    assert first_heard(seen, 50.0, 0.5, 0.8) == 0.5
    assert first_heard(seen, 70.0, 0.79, 0.8) == 0.79


def test_a_stop_of_the_tongue_parts_a_swelling_reed_from_itself():
    tones = concatenated([silence(0.3, rate=RATE), *[swelling(77, 0.3, rise=0.05), silence(0.02, rate=RATE)] * 4])
    seen = observe(tones)
    notes = notes_of(seen, curve_of(seen))
    assert [note.midi for note in notes] == [77] * 4
    assert [note.start_seconds for note in notes] == pytest.approx([0.305 + 0.32 * n for n in range(4)], abs=0.02)


def test_a_tremolo_of_the_hands_parts_nothing():
    tone = reed_tone(72, 1.5)
    shaken = Samples(tone.array[:, 0] * (1 + 0.25 * np.sin(2 * np.pi * 5 * np.arange(tone.frames) / RATE)), RATE)
    (note,) = hear_notes(concatenated([silence(0.3, rate=RATE), shaken, silence(0.3, rate=RATE)]))
    assert note.midi == 72
