"""The MIDI file's ticks, order and bounds (what other readers make of it: tests/outside)."""

from __future__ import annotations

import io
from fractions import Fraction

import mido
import pytest

from reedpath.phrase import Metre, Tempo
from reedpath.pitch import Key
from reedpath.sound import encode_midi
from support.built_routes import built_lesson, built_route


def track_of(data: bytes) -> tuple[int, list[tuple[int, mido.Message]]]:
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf8")
    assert file.type == 1
    (track,) = file.tracks
    at, timed = 0, []
    for message in track:
        at += message.time
        timed.append((at, message))
    return file.ticks_per_beat, timed


def test_ticks_are_customary_where_they_can_be_and_exact_where_they_must() -> None:
    assert track_of(encode_midi(built_lesson(built_route("2d:1 3d:1/2 4d:1/3"))))[0] == 480
    # 480 * 7 * 11 is more than a file can hold, 7 * 11 is not
    beat, timed = track_of(encode_midi(built_lesson(built_route("2d:1/7 3d:1/11 4d:1"))))
    assert beat == 77
    assert [at for at, one in timed if one.type == "note_on"] == [0, 11, 18]


def test_of_one_tick_notes_end_before_others_begin_and_tab_stands_before_both() -> None:
    _, timed = track_of(encode_midi(built_lesson(built_route("2d:1 2d:1"))))
    assert [one.type for at, one in timed if at == 480] == ["lyrics", "note_off", "note_on"]
    kinds = [one.type for at, one in timed if at == 0]
    assert kinds == ["time_signature", "set_tempo", "marker", "track_name", "program_change", "lyrics", "note_on"]


@pytest.mark.parametrize(("bpm", "microseconds"), [(60.0, 1_000_000), (90.0, 666_667), (250.0, 240_000)])
def test_tempos_are_microseconds_a_quarter(bpm: float, microseconds: int) -> None:
    route = built_route("2d:1 3d:1", tempos=(Tempo(Fraction(0), 120.0), Tempo(Fraction(1), bpm)))
    _, timed = track_of(encode_midi(built_lesson(route)))
    assert [(at, one.tempo) for at, one in timed if one.type == "set_tempo"] == [(0, 500_000), (480, microseconds)]


def test_the_wheel_stays_in_its_range_and_comes_back_to_the_middle() -> None:
    _, timed = track_of(encode_midi(built_lesson(built_route("3d:2^3 4b:1", bpm=60.0))))
    wheel = [one.pitch for _, one in timed if one.type == "pitchwheel"]
    assert wheel[0] == round(-3 * 8192 / 12)
    assert all(-8192 <= place <= 8191 for place in wheel)
    assert wheel[-1] == 0
    told = [(one.control, one.value) for _, one in timed if one.type == "control_change"]
    assert told == [(101, 0), (100, 0), (6, 12), (38, 0)]


def test_a_bar_longer_than_a_time_signature_can_say_goes_unsaid() -> None:
    route = built_route("2d:1 3d:1", metres=(Metre(Fraction(0), 300, 4),))
    _, timed = track_of(encode_midi(built_lesson(route)))
    assert "time_signature" not in {one.type for _, one in timed}


@pytest.mark.parametrize(
    ("key", "signature"),
    [(Key(7), "G"), (Key(1), "Db"), (Key(6), "F#"), (Key(9, "minor"), "Am"), (Key(10, "minor"), "Bbm"), (None, None)],
)
def test_the_key_stands_at_the_beginning(key: Key | None, signature: str | None) -> None:
    """As mido names the sharps and flats of a key signature (Standard MIDI Files 1.0)."""
    _, timed = track_of(encode_midi(built_lesson(built_route("2d:1 3d:1", music_key=key))))
    assert [(at, one.key) for at, one in timed if one.type == "key_signature"] == [(0, signature)] * (key is not None)
