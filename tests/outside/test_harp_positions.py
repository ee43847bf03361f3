"""Positions, their modes and what they lack.

Numbering and modes: Harp-L archive, 15 Feb 2006,
https://harp-l.org/pipermail/harp-l/2006-February/msg00633.html. The keys follow from the circle of fifths, the
missing notes from the layout (OEIS A291810).
"""

import pytest

from reedpath.harp import (
    load_tuning,
    make_harp,
    midi_of,
    missing_degrees,
    position_between,
    position_tonic,
    positions,
)
from reedpath.pitch import load_scale, midi_name, parse_pitch_class, pitch_class_name

pytestmark = pytest.mark.outside

TABLE = {
    "C": "C G D A E B F# Db Ab Eb Bb F",
    "Db": "Db Ab Eb Bb F C G D A E B F#",
    "D": "D A E B F# Db Ab Eb Bb F C G",
    "Eb": "Eb Bb F C G D A E B F# Db Ab",
    "E": "E B F# Db Ab Eb Bb F C G D A",
    "F": "F C G D A E B F# Db Ab Eb Bb",
    "F#": "F# Db Ab Eb Bb F C G D A E B",
    "G": "G D A E B F# Db Ab Eb Bb F C",
    "Ab": "Ab Eb Bb F C G D A E B F# Db",
    "A": "A E B F# Db Ab Eb Bb F C G D",
    "Bb": "Bb F C G D A E B F# Db Ab Eb",
    "B": "B F# Db Ab Eb Bb F C G D A E",
}


@pytest.mark.parametrize("key", TABLE)
def test_keys_of_the_twelve_positions(key):
    names = TABLE[key].split()
    assert [pitch_class_name(position.tonic) for position in positions(make_harp(key))] == names
    harp_key = parse_pitch_class(key)
    for number, name in enumerate(names, start=1):
        assert position_tonic(harp_key, number) == parse_pitch_class(name)
        assert position_between(harp_key, parse_pitch_class(name)) == number


def test_a_printed_chart_that_errs():
    # a retailer's chart gives Eb minor for both the third and the fifth position of a Db harp
    third, fifth = (pitch_class_name(positions(make_harp("Db"))[number - 1].tonic) for number in (3, 5))
    assert (third, fifth) == ("Eb", "F")


# position, modes from unbent notes, lowest natural tonic, lowest bent tonic where there is no natural one,
# notes of the tonic's major scale that no unbent note of any octave gives (on a C harp)
ROWS = [
    (1, "ionian", "1 blow C4", None, ""),
    (2, "mixolydian", "2 draw G4", None, "F#"),
    (3, "dorian", "1 draw D4", None, "F# C#"),
    (4, "aeolian", "6 draw A5", None, "C# F# Ab"),
    (5, "phrygian", "2 blow E4", None, "F# Ab C# Eb"),
    (6, "locrian", "3 draw B4", None, "C# Eb F# Ab Bb"),
    (7, "", None, "2 F#4", "F# Ab Bb C# Eb"),
    (8, "", None, "1 Db4", "C# Eb F# Ab Bb"),
    (9, "", None, "3 Ab4", "Ab Bb C# Eb"),
    (10, "", None, "8 Eb6", "Eb Ab Bb"),
    (11, "", None, "3 Bb4", "Bb Eb"),
    (12, "lydian", "5 draw F5", None, "Bb"),
]


@pytest.mark.parametrize(("number", "modes", "natural", "bent", "missing"), ROWS)
def test_what_each_position_of_a_c_harp_gives(number, modes, natural, bent, missing):
    harp = make_harp("C")
    position = positions(harp)[number - 1]
    assert " ".join(position.modes) == modes
    if natural is None:
        assert position.tonic_natural is None
        move = position.tonic_bent
        assert f"{move.holes[0]} {midi_name(midi_of(harp, move)[0])}" == bent
    else:
        # G4 is 2 draw and 3 blow; the table names the lower hole
        move = position.tonic_natural
        assert f"{move.holes[0]} {move.breath.value} {midi_name(midi_of(harp, move)[0])}" == natural
    lacks = {(position.tonic + one.step) % 12 for one in missing_degrees(harp.tuning, number)}
    assert lacks == {parse_pitch_class(name) for name in missing.split()}


def moves_text(harp, moves):
    return [f"{move.holes[0]} {move.breath.value} {move.semitones}" for move in moves]


def test_the_second_position_low_octave():
    # derived from the layout: b3 is 3 draw bent one, b5 is 4 draw bent one; common practice
    harp = make_harp("C")
    third, fifth = missing_degrees(harp.tuning, 2, "blues")
    assert (third.degree, moves_text(harp, third.bends)) == ("b3", ["3 draw -1", "10 blow -2"])
    assert (fifth.degree, moves_text(harp, fifth.bends)) == ("b5", ["1 draw -1", "4 draw -1"])


def test_the_first_position_blues_needs_overblows_in_the_middle():
    # derived from the layout: Eb5, F#5, Bb5 are overblows 4, 5, 6; the top octave has them as blow bends
    harp = make_harp("C")
    missing = {one.degree: one for one in missing_degrees(harp.tuning, 1, "blues")}
    assert set(missing) == {"b3", "b5", "b7"}
    middle = {
        degree: [move.holes[0] for move in one.overbends if 72 <= midi_of(harp, move)[0] < 84]
        for degree, one in missing.items()
    }
    assert middle == {"b3": [4], "b5": [5], "b7": [6]}
    top = {
        degree: [(move.holes[0], move.semitones) for move in one.bends if midi_of(harp, move)[0] >= 84]
        for degree, one in missing.items()
    }
    assert top == {"b3": [(8, -1)], "b5": [(9, -1)], "b7": [(10, -2)]}


def test_minor_tunings_give_their_minor():
    # what the two natural minors are for: a players' question-and-answer page; common practice
    assert "aeolian" in positions(make_harp("C", "natural-minor-first"))[0].modes
    assert "aeolian" in positions(make_harp("C", "natural-minor-second"))[1].modes
    assert missing_degrees(load_tuning("harmonic-minor"), 1, "harmonic-minor") == ()
    assert missing_degrees(load_tuning("melodic-minor"), 1, "melodic-minor") == ()
    assert "dorian" in positions(make_harp("C", "dorian-second"))[1].modes


def test_the_diminished_tuning_lacks_little():
    # Italian Wikipedia, "Armonica a bocca": fully chromatic with one draw bend in each hole
    for number in range(1, 13):
        for missing in missing_degrees(load_tuning("diminished"), number, "chromatic"):
            assert missing.bends


def test_modes_are_those_of_the_handbooks():
    # rotating the major scale; any handbook of music theory
    major = load_scale("major").steps
    for turn, name in enumerate(("ionian", "dorian", "phrygian", "lydian", "mixolydian", "aeolian", "locrian")):
        assert load_scale(name).steps == tuple(sorted((step - major[turn]) % 12 for step in major))
