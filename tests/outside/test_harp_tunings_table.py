"""Shipped tunings against tables of notes, and the bends and gaps that follow from the two-reed rule.

Where each tuning's notes come from stands beside its row. Bends and gaps follow from the notes by the rule of
Bahnson, Antaki & Beery, J. Acoust. Soc. Am. 103(4), 1998; they were worked out apart from this program.
"""

import pytest

from reedpath.harp import Alteration, load_tuning, pitches_of, single_moves, tuning_names
from reedpath.pitch import parse_midi

pytestmark = pytest.mark.outside

BLOW = "C4 E4 G4 C5 E5 G5 C6 E6 G6 C7"
MINOR_BLOW = "C4 Eb4 G4 C5 Eb5 G5 C6 Eb6 G6 C7"
DRAW = "D4 G4 B4 D5 F5 A5 B5 D6 F6 A6"

NOTES = {
    # OEIS A291810; Wikipedia, "Richter-tuned harmonica"
    "standard": (BLOW, DRAW),
    # a public question-and-answer page, for an E instrument
    "natural-minor-first": (MINOR_BLOW, "D4 G4 Bb4 D5 F5 Ab5 Bb5 D6 F6 Ab6"),
    # common practice, no source
    "natural-minor-second": (MINOR_BLOW, "D4 G4 Bb4 D5 F5 A5 Bb5 D6 F6 A6"),
    # a players' forum: blow 2, 5, 8 and draw 6, 10 lowered
    "harmonic-minor": (MINOR_BLOW, "D4 G4 B4 D5 F5 Ab5 B5 D6 F6 Ab6"),
    # common practice, no source
    "melodic-minor": (MINOR_BLOW, DRAW),
    # common practice, no source
    "dorian-second": (BLOW, "D4 G4 Bb4 D5 F5 A5 Bb5 D6 F6 A6"),
    # from memory; listed in E. Ivanov, Anthology of Harmonica Tunings, 2011
    "raised-3-blow": ("C4 E4 A4 C5 E5 G5 C6 E6 G6 C7", DRAW),
    # https://www.angelfire.com/tx/myquill/SpecialTunings.html
    "raised-5-draw": (BLOW, "D4 G4 B4 D5 F#5 A5 B5 D6 F6 A6"),
    # common practice, no source
    "raised-5-9-draw": (BLOW, "D4 G4 B4 D5 F#5 A5 B5 D6 F#6 A6"),
    # a players' forum
    "raised-3-blow-5-9-draw": ("C4 E4 A4 C5 E5 G5 C6 E6 G6 C7", "D4 G4 B4 D5 F#5 A5 B5 D6 F#6 A6"),
    # from memory
    "easy-third": (BLOW, "D4 F4 A4 D5 F5 A5 B5 D6 F6 A6"),
    # Wikipedia, "Solo tuning", cut to ten holes
    "solo": ("C4 E4 G4 C5 C5 E5 G5 C6 C6 E6", "D4 F4 A4 B4 D5 F5 A5 B5 D6 F6"),
    # Italian Wikipedia, "Armonica a bocca", revision 89365556
    "diminished": ("C4 Eb4 F#4 A4 C5 Eb5 F#5 A5 C6 Eb6", "D4 F4 Ab4 B4 D5 F5 Ab5 B5 D6 F6"),
    # from memory
    "circular": ("C4 E4 G4 B4 D5 F5 A5 C6 E6 G6", "D4 F4 A4 C5 E5 G5 B5 D6 F6 A6"),
}

# bends per hole (full semitones, d drawn, b blown), and the notes that stay missing between the lowest and the
# highest natural note without overbends
GAPS = {
    "standard": ("1d 2d 3d 1d 0 1d 0 1b 1b 2b", "Eb4 Eb5 F#5 Bb5 C#6 Ab6"),
    "natural-minor-first": ("1d 3d 2d 1d 1d 0 1b 0 1b 3b", "B4 F#5 A5 C#6 E6"),
    "natural-minor-second": ("1d 3d 2d 1d 1d 1d 1b 0 1b 2b", "B4 F#5 C#6 E6 Ab6"),
    "harmonic-minor": ("1d 3d 3d 1d 1d 0 0 0 1b 3b", "F#5 A5 Bb5 C#6 E6"),
    "melodic-minor": ("1d 3d 3d 1d 1d 1d 0 0 1b 2b", "F#5 Bb5 C#6 E6 Ab6"),
    "dorian-second": ("1d 2d 2d 1d 0 1d 1b 1b 1b 2b", "Eb4 B4 Eb5 F#5 C#6 Ab6"),
    "raised-3-blow": ("1d 2d 1d 1d 0 1d 0 1b 1b 2b", "Eb4 Ab4 Eb5 F#5 Bb5 C#6 Ab6"),
    "raised-5-draw": ("1d 2d 3d 1d 1d 1d 0 1b 1b 2b", "Eb4 Eb5 Bb5 C#6 Ab6"),
    "raised-5-9-draw": ("1d 2d 3d 1d 1d 1d 0 1b 0 2b", "Eb4 Eb5 Bb5 C#6 F6 Ab6"),
    "raised-3-blow-5-9-draw": ("1d 2d 1d 1d 1d 1d 0 1b 0 2b", "Eb4 Ab4 Eb5 Bb5 C#6 F6 Ab6"),
    "easy-third": ("1d 0 1d 1d 0 1d 0 1b 1b 2b", "Eb4 F#4 Bb4 B4 Eb5 F#5 Bb5 C#6 Ab6"),
    "solo": ("1d 0 1d 0 1d 0 1d 0 1d 0", "Eb4 F#4 Bb4 Eb5 F#5 Bb5 Eb6"),
    "diminished": ("1d 1d 1d 1d 1d 1d 1d 1d 1d 1d", ""),
    "circular": ("1d 0 1d 0 1d 1d 1d 1d 0 1d", "Eb4 F#4 Bb4 C#5 Ab5 Eb6 F#6"),
}


def test_every_shipped_tuning_is_checked():
    assert set(NOTES) == set(GAPS) == set(tuning_names())


@pytest.mark.parametrize("name", NOTES)
def test_notes(name):
    tuning = load_tuning(name)
    for row, notes in zip((tuning.blow, tuning.draw), NOTES[name], strict=True):
        assert [60 + step for step in row] == [parse_midi(note) for note in notes.split()]


def bends_text(tuning, hole):
    bends = [
        move
        for move in single_moves(tuning)
        if move.holes == (hole,) and move.alteration is Alteration.BEND and not move.is_dip
    ]
    return f"{len(bends)}{bends[0].breath.value[0]}" if bends else "0"


@pytest.mark.parametrize("name", GAPS)
def test_bends_of_each_hole(name):
    tuning = load_tuning(name)
    assert " ".join(bends_text(tuning, hole) for hole in range(1, 11)) == GAPS[name][0]


@pytest.mark.parametrize("name", GAPS)
def test_notes_that_stay_missing(name):
    tuning = load_tuning(name)
    sounding = {
        60 + pitches_of(tuning, move)[0]
        for move in single_moves(tuning)
        if not move.is_dip and not move.alteration.is_overbend
    }
    low, high = 60 + min(*tuning.blow, *tuning.draw), 60 + max(*tuning.blow, *tuning.draw)
    missing = [midi for midi in range(low, high + 1) if midi not in sounding]
    assert missing == [parse_midi(note) for note in GAPS[name][1].split()]
