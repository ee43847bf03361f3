"""Pitch wheels of MIDI read as string bends, releases and vibrato; curves of our own."""

import math
from fractions import Fraction

import pytest

from reedpath.readers import read_phrase
from support.written_sources import midi_file, struck, wheel

HALF = Fraction(1, 2)


def ramp(start: float, end: float, begin: int, stop: int, **more) -> list[tuple[int, ...]]:
    """A curve from one height to another, a message every ten ticks."""
    ticks = range(begin, stop + 1, 10)
    return [wheel(start + (end - start) * (tick - begin) / (stop - begin), tick, **more) for tick in ticks]


def shake(middle: float, depth: float, begin: int, stop: int) -> list[tuple[int, ...]]:
    return [wheel(middle + depth * math.sin((tick - begin) / 12), tick) for tick in range(begin, stop, 4)]


def event_of(curve: list[tuple[int, ...]], before: list[tuple[int, ...]] | None = None, length: int = 480):
    data = midi_file([], [*(before or []), *struck(60, 0, length), *curve])
    (event,) = read_phrase(data, format="midi").events
    return event


def shape(event):
    return event.midi[0], event.ornaments.bend_in, event.ornaments.release, event.ornaments.vibrato, event.cents


@pytest.mark.parametrize(
    ("curve", "expected"),
    [
        ([], (60, 0, 0, False, ())),
        (ramp(0, 2, 0, 200), (62, 2, 0, False, ())),
        (ramp(0, 1, 100, 200), (61, 1, 0, False, ())),
        (ramp(0, 2, 0, 150) + ramp(2, 0, 300, 400), (62, 2, 2, False, ())),
        (ramp(0, 2, 0, 150) + ramp(2, 1, 300, 400), (62, 2, 1, False, ())),
        ([wheel(2, 0)], (62, 0, 0, False, ())),
        ([wheel(2, 0), *ramp(2, 0, 200, 400)], (62, 0, 2, False, ())),
        (ramp(-1, 0, 0, 100), (60, 1, 0, False, ())),
        (ramp(0, -2, 200, 460), (60, 0, 2, False, ())),
        (ramp(0, 0.5, 0, 200), (60, HALF, 0, False, (50.0,))),
        (ramp(0, 0.15, 0, 200), (60, 0, 0, False, ())),
        (shake(0, 0.4, 0, 480), (60, 0, 0, True, ())),
        (ramp(0, 2, 0, 150) + shake(2, 0.3, 160, 480), (62, 2, 0, True, ())),
        (shake(0, 0.05, 0, 480), (60, 0, 0, False, ())),
    ],
    ids=[
        "none", "full", "half", "bend and release", "half let go", "pre-bend", "pre-bend and release", "scoop",
        "fall", "quarter tone", "drift", "vibrato", "bend, then vibrato", "noise",
    ],
)  # fmt: skip
def test_curves(curve, expected):
    assert shape(event_of(curve)) == expected


RANGE_OF_12 = [(0, 0xB0, 101, 0), (0, 0xB0, 100, 0), (0, 0xB0, 6, 12), (0, 0xB0, 38, 0)]


def test_the_range_of_the_wheel_is_honoured():
    # MIDI 1.0, registered parameter 0: pitch bend sensitivity
    assert shape(event_of(ramp(0, 3, 0, 200, span=12), RANGE_OF_12))[:2] == (63, 3)
    assert shape(event_of(ramp(0, 3, 0, 200, span=12)))[:2] == (60, HALF)


def test_data_for_another_parameter_changes_no_range():
    tuning = [(0, 0xB0, 101, 0), (0, 0xB0, 100, 1), (0, 0xB0, 6, 12)]
    assert shape(event_of(ramp(0, 2, 0, 200), tuning))[:2] == (62, 2)


def test_a_wheel_left_up_bends_the_next_note_from_its_start():
    track = [*struck(60, 0, 480), *ramp(0, 2, 0, 200), *struck(60, 480, 960)]
    first, second = read_phrase(midi_file([], track)).events
    assert (shape(first)[:2], shape(second)[:2]) == ((62, 2), (62, 0))


def test_a_reset_lets_the_wheel_go():
    track = [*struck(60, 0, 480), wheel(2, 0), (480, 0xB0, 121, 0), *struck(60, 480, 960)]
    assert [event.midi for event in read_phrase(midi_file([], track)).events] == [(62,), (60,)]


def test_each_channel_of_a_track_has_its_own_wheel():
    track = [*struck(60, 0, 480), *struck(64, 0, 480, channel=1), *ramp(0, 2, 0, 200, channel=1)]
    events = read_phrase(midi_file([], track)).events
    assert [(event.midi, event.ornaments.bend_in) for event in events] == [((60,), 0), ((66,), 2)]


def test_more_bends_than_a_note_can_say_are_named():
    curve = ramp(0, 2, 0, 100) + ramp(2, 0, 110, 200) + ramp(0, 2, 210, 300)
    phrase = read_phrase(midi_file([], [*struck(60, 0, 480), *curve]))
    assert [each.what for each in phrase.left_out] == ["bends up and down within a note, after the first"]
