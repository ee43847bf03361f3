"""Names, keys, hertz and cents."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import PitchError
from reedpath.pitch import (
    MODE_FIFTHS,
    Key,
    cents_to_ratio,
    hz_to_midi,
    key_name,
    midi_name,
    midi_to_hz,
    parse_key,
    parse_midi,
    parse_pitch_class,
    pitch_class_name,
    ratio_to_cents,
)


@given(st.integers(0, 127))
def test_a_note_comes_back_from_its_name(midi):
    assert parse_midi(midi_name(midi)) == midi


@pytest.mark.parametrize(
    ("name", "midi"),
    [
        ("C4", 60),
        ("A4", 69),
        ("c4", 60),
        ("Bb3", 58),
        ("B♭3", 58),
        ("F♯5", 78),
        ("Cb4", 59),
        ("B#3", 60),
        ("Fx5", None),
        ("C-1", 0),
        ("G9", 127),
        ("G#9", None),
        ("Cb-1", None),
        ("H4", None),
        ("C", None),
        ("", None),
    ],
)
def test_notes_as_people_write_them(name, midi):
    if midi is None:
        with pytest.raises(PitchError, match=r"no note|outside"):
            parse_midi(name)
    else:
        assert parse_midi(name) == midi


@given(st.integers(0, 11))
def test_a_pitch_class_comes_back_from_its_name(pitch_class):
    assert parse_pitch_class(pitch_class_name(pitch_class)) == pitch_class


def test_names_follow_the_trade():
    # common practice, no source: flats but for F#
    assert [pitch_class_name(number) for number in range(12)] == [
        "C",
        "Db",
        "D",
        "Eb",
        "E",
        "F",
        "F#",
        "G",
        "Ab",
        "A",
        "Bb",
        "B",
    ]


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("E", Key(4)),
        ("bb", Key(10)),
        ("Am", Key(9, "minor")),
        ("A min", Key(9, "minor")),
        ("F# minor", Key(6, "minor")),
        ("AM", Key(9)),
        ("G major", Key(7)),
        ("Dmaj", Key(2)),
        ("H", Key(11)),
        ("h-Moll", Key(11, "minor")),
        ("B-Dur", Key(10)),
        ("B dur", Key(10)),
        ("b-Moll", Key(10, "minor")),
        ("B major", Key(11)),
        ("Bm", Key(11, "minor")),
        ("Fis", Key(6)),
        ("cis-Moll", Key(1, "minor")),
        ("Es-Dur", Key(3)),
        ("as-moll", Key(8, "minor")),
        ("a-Moll", Key(9, "minor")),
        ("Gis", Key(8)),
        ("Ces", Key(11)),
        ("A mixolydian", Key(9, "mixolydian")),
        ("Re dórico", Key(2, "dorian")),
        ("B-lydisch", Key(10, "lydian")),
        ("mi misolidio", Key(4, "mixolydian")),
    ],
)
def test_keys_as_people_write_them(text, key):
    assert parse_key(text) == key


@pytest.mark.parametrize("text", ["", "I", "A blue", "A mi", "Am7", "1"])
def test_keys_that_are_none(text):
    with pytest.raises(PitchError, match="there is no key named"):
        parse_key(text)


@given(st.integers(0, 11), st.sampled_from(sorted(MODE_FIFTHS)), st.integers(-24, 24))
def test_a_key_comes_back_and_moves(tonic, mode, semitones):
    key = Key(tonic, mode)
    assert parse_key(key_name(key)) == key
    assert key.moved(semitones).moved(-semitones) == key


@pytest.mark.parametrize(("tonic", "mode"), [(12, "major"), (-1, "major"), (0, "blue")])
def test_keys_that_cannot_be(tonic, mode):
    with pytest.raises(PitchError, match=r"a tonic is|a key is"):
        Key(tonic, mode)


# MIDI Tuning Standard and ISO 16: A4 is number 69 at 440 Hz; the rest follows from 2**(1/12)
@pytest.mark.parametrize(("midi", "hz"), [(69, 440.0), (60, 261.626), (57, 220.0), (96, 2093.005), (102, 2959.955)])
def test_hertz_of_notes(midi, hz):
    assert midi_to_hz(midi) == pytest.approx(hz, abs=0.001)


@given(st.floats(0, 127), st.floats(400, 480))
def test_hertz_and_back(midi, a4_hz):
    assert hz_to_midi(midi_to_hz(midi, a4_hz=a4_hz), a4_hz=a4_hz) == pytest.approx(midi, abs=1e-9)


@given(st.floats(-2400, 2400))
def test_cents_and_back(cents):
    assert ratio_to_cents(cents_to_ratio(cents)) == pytest.approx(cents, abs=1e-6)


@pytest.mark.parametrize(
    ("tonic", "scale"),
    [
        ("C", "C D E F G A B"), ("G", "G A B C D E F#"), ("D", "D E F# G A B C#"), ("A", "A B C# D E F# G#"),
        ("E", "E F# G# A B C# D#"), ("B", "B C# D# E F# G# A#"), ("F", "F G A Bb C D E"), ("Bb", "Bb C D Eb F G A"),
        ("Eb", "Eb F G Ab Bb C D"), ("Ab", "Ab Bb C Db Eb F G"), ("Db", "Db Eb F Gb Ab Bb C"),
    ],
)  # fmt: skip
def test_major_scales_are_spelt_as_every_theory_book_has_them(tonic, scale):
    """Key signatures of the major keys up to five signs: any handbook of music theory (from memory)."""
    steps = (0, 2, 4, 5, 7, 9, 11)
    start = parse_pitch_class(tonic)
    assert " ".join(pitch_class_name(start + step, tonic=start) for step in steps) == scale


@pytest.mark.parametrize("tonic", range(12))
def test_every_spelling_is_the_note_it_spells(tonic):
    for midi in range(12, 120):
        name = midi_name(midi, tonic=tonic)
        assert parse_midi(name) == midi
        assert name[:2] not in {"E#", "B#", "Fb", "Cb"}
    assert [midi_name(midi) for midi in range(60, 72)] == [midi_name(midi, tonic=0) for midi in range(60, 72)]


def test_names_beyond_the_octave_come_back_into_it():
    """B sharp sounds as C, C flat as B (common practice, no source)."""
    assert (parse_pitch_class("B#"), parse_pitch_class("Cb")) == (0, 11)
