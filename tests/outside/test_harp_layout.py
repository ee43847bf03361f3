"""Layouts, keys and chords of harps against published tables.

Sources, each again beside its check: OEIS A291810 (H. Skjerning, 2017); Wikipedia, "Richter-tuned harmonica";
German Wikipedia, "Richter-Harmonika"; Italian Wikipedia, "Armonica a bocca"; Wikibooks, "Harmonica/Harmonica
Layouts and Alternate Tunings" (two rows of it as negative checks).
"""

from itertools import pairwise

import pytest

from reedpath.harp import (
    Alteration,
    Breath,
    Embouchure,
    Move,
    load_tuning,
    make_harp,
    midi_of,
    reach_of,
    single_moves,
)
from reedpath.pitch import midi_to_hz, parse_pitch_class, pitch_class_name

pytestmark = pytest.mark.outside

# https://oeis.org/A291810: semitones above hole-1 blow, in the order 1 blow, 1 draw, 2 blow, 2 draw ...
A291810 = [0, 2, 4, 7, 7, 11, 12, 14, 16, 17, 19, 21, 24, 23, 28, 26, 31, 29, 36, 33]


def naturals(harp, breath):
    return [midi_of(harp, Move((hole,), breath))[0] for hole in range(1, harp.tuning.holes + 1)]


def test_the_standard_layout_is_the_published_sequence():
    tuning = load_tuning("standard")
    assert [step for pair in zip(tuning.blow, tuning.draw, strict=True) for step in pair] == A291810


# Order by pitch and the keys under middle C: Wikipedia, "Richter-tuned harmonica"; hertz follow from A4 = 440
@pytest.mark.parametrize(
    ("key", "lowest", "hz", "highest"),
    [
        ("G", 55, 196.00, 91),
        ("Ab", 56, 207.65, 92),
        ("A", 57, 220.00, 93),
        ("Bb", 58, 233.08, 94),
        ("B", 59, 246.94, 95),
        ("C", 60, 261.63, 96),
        ("Db", 61, 277.18, 97),
        ("D", 62, 293.66, 98),
        ("Eb", 63, 311.13, 99),
        ("E", 64, 329.63, 100),
        ("F", 65, 349.23, 101),
        ("F#", 66, 369.99, 102),
    ],
)
def test_each_key_has_its_customary_octave(key, lowest, hz, highest):
    harp = make_harp(key)
    blow, draw = naturals(harp, Breath.BLOW), naturals(harp, Breath.DRAW)
    assert (blow[0], blow[-1]) == (lowest, highest)
    assert midi_to_hz(blow[0]) == pytest.approx(hz, abs=0.005)
    flat = [midi for pair in zip(blow, draw, strict=True) for midi in pair]
    assert [midi - lowest for midi in flat] == A291810


# Low keys an octave under: common practice, no source
@pytest.mark.parametrize(
    ("key", "midi"),
    [
        ("Low F#", 54),
        ("Low F", 53),
        ("Low E", 52),
        ("Low Eb", 51),
        ("Low D", 50),
        ("Low Db", 49),
        ("Low C", 48),
        ("High G", 67),
    ],
)
def test_low_and_high_keys(key, midi):
    assert make_harp(key).key_midi == midi


def test_nineteen_pitches_for_twenty_reeds():
    # Wikipedia, "Richter-tuned harmonica": 2 draw and 3 blow are the same pitch
    harp = make_harp("C")
    pitches = naturals(harp, Breath.BLOW) + naturals(harp, Breath.DRAW)
    assert len(set(pitches)) == 19
    assert sorted(midi for midi in set(pitches) if pitches.count(midi) == 2) == [67]


def test_draw_is_higher_up_to_hole_six():
    # German Wikipedia, "Richter-Harmonika"
    tuning = load_tuning("standard")
    higher = [draw > blow for blow, draw in zip(tuning.blow, tuning.draw, strict=True)]
    assert higher == [True] * 6 + [False] * 4


def test_the_scale_lacks_fa_and_la_below_and_ti_above():
    # derived from the layout; French Wikipedia, "Harmonica diatonique", says in general that both octaves lack notes
    harp = make_harp("C")
    pitches = {*naturals(harp, Breath.BLOW), *naturals(harp, Breath.DRAW)}
    major = {midi for midi in range(60, 97) if midi % 12 in (0, 2, 4, 5, 7, 9, 11)}
    assert sorted(major - pitches) == [65, 69, 95]


@pytest.mark.parametrize(
    ("key", "wrong_hole", "printed", "right"),
    [("A", 6, "F", "F#"), ("A", 10, "F", "F#"), ("B", 3, "Ab", "Bb")],
)
def test_two_printed_rows_are_wrong(key, wrong_hole, printed, right):
    # Wikibooks, "Harmonica/Harmonica Layouts and Alternate Tunings", A and B rows: the layout rule disagrees
    name = pitch_class_name(naturals(make_harp(key), Breath.DRAW)[wrong_hole - 1])
    assert name == right
    assert name != printed


@pytest.mark.parametrize(("key", "row"), [("A", "B E G# B D F# G# B D F#"), ("B", "C# F# A# C# E G# A# C# E G#")])
def test_those_rows_as_the_rule_gives_them(key, row):
    classes = [midi % 12 for midi in naturals(make_harp(key), Breath.DRAW)]
    assert classes == [parse_pitch_class(name) for name in row.split()]


# Chords built into a C harp: derived from the layout; draw 1-5 as a dominant seventh: Italian Wikipedia,
# "Armonica a bocca"
@pytest.mark.parametrize(
    ("breath", "holes", "chord"),
    [
        (Breath.BLOW, range(1, 11), "C E G"),
        (Breath.DRAW, range(1, 5), "G B D"),
        (Breath.DRAW, range(2, 6), "G B D F"),
        (Breath.DRAW, range(1, 6), "G B D F"),
        (Breath.DRAW, range(4, 7), "D F A"),
        (Breath.DRAW, range(8, 11), "D F A"),
        (Breath.DRAW, range(7, 10), "B D F"),
        (Breath.DRAW, range(5, 8), "F A B"),
    ],
)
def test_chords_that_the_layout_holds(breath, holes, chord):
    row = naturals(make_harp("C"), breath)
    assert {row[hole - 1] % 12 for hole in holes} == {parse_pitch_class(name) for name in chord.split()}


# Octave splits: derived from the layout
@pytest.mark.parametrize(
    ("breath", "pairs"),
    [
        (Breath.BLOW, {(1, 4), (2, 5), (3, 6), (4, 7), (5, 8), (6, 9), (7, 10)}),
        (Breath.DRAW, {(1, 4), (3, 7), (4, 8), (5, 9), (6, 10)}),
    ],
)
def test_octave_splits(breath, pairs):
    harp = make_harp("C")
    splits = [move for move in reach_of(harp.tuning).multiple if move.embouchure is Embouchure.TONGUE]
    octaves = set()
    for move in splits:
        low, high = midi_of(harp, move)
        if move.breath is breath and high - low == 12:
            octaves.add(move.holes)
    assert octaves == pairs


# Shake intervals on neighbouring holes, in semitones: derived from the layout
@pytest.mark.parametrize(
    ("breath", "intervals"),
    [(Breath.DRAW, [5, 4, 3, 3, 4, 2, 3, 3, 4]), (Breath.BLOW, [4, 3, 5, 4, 3, 5, 4, 3, 5])],
)
def test_intervals_of_neighbours(breath, intervals):
    row = naturals(make_harp("C"), breath)
    assert [high - low for low, high in pairwise(row)] == intervals


# Bends and overbends of a C harp, from the two-reed rule (Bahnson, Antaki & Beery, J. Acoust. Soc. Am. 103(4),
# 1998: bends inside the interval of the reeds, overbends outside); MIDI numbers
BENDS = {1: [61], 2: [66, 65], 3: [70, 69, 68], 4: [73], 5: [], 6: [80], 7: [], 8: [87], 9: [90], 10: [95, 94]}
OVERBENDS = {1: 63, 2: 68, 3: 72, 4: 75, 5: 78, 6: 82, 7: 85, 8: 89, 9: 92, 10: 97}


def by_alteration(*kinds):
    harp = make_harp("C")
    return [(move, midi_of(harp, move)[0]) for move in single_moves(harp.tuning) if move.alteration in kinds]


@pytest.mark.parametrize("hole", range(1, 11))
def test_bends_of_each_hole(hole):
    moves = [(move, midi) for move, midi in by_alteration(Alteration.BEND) if move.holes == (hole,)]
    assert [midi for move, midi in moves if not move.is_dip] == BENDS[hole]
    assert {move.breath for move, _ in moves} == {Breath.DRAW if hole <= 6 else Breath.BLOW}
    assert any(move.is_dip for move, _ in moves) == (hole in (5, 7))


@pytest.mark.parametrize("hole", range(1, 11))
def test_overbend_of_each_hole(hole):
    moves = by_alteration(Alteration.OVERBLOW, Alteration.OVERDRAW)
    found = [(move.alteration, move.breath, midi) for move, midi in moves if move.holes == (hole,)]
    kind = (Alteration.OVERBLOW, Breath.BLOW) if hole <= 6 else (Alteration.OVERDRAW, Breath.DRAW)
    assert found == [(*kind, OVERBENDS[hole])]


def test_naturals_bends_and_six_overbends_are_three_whole_octaves():
    natural = {midi for _, midi in by_alteration(Alteration.NATURAL)}
    bent = {midi for move, midi in by_alteration(Alteration.BEND) if not move.is_dip}
    over = {move.holes[0]: midi for move, midi in by_alteration(Alteration.OVERBLOW, Alteration.OVERDRAW)}
    assert len(bent) == 12
    assert not natural & bent
    assert len(natural | bent) == 31
    six = {over[hole] for hole in (1, 4, 5, 6, 7, 9)}
    assert set(range(60, 97)) - natural - bent == six
    assert natural | bent | six == set(range(60, 97))
    # the rest double easier notes, or lie above the top
    assert {over[hole] for hole in (2, 3, 8)} <= natural | bent
    assert over[10] == 97
