"""Positions and the chart of a harp."""

import pytest

from reedpath.errors import PitchError, TuningError
from reedpath.harp import (
    Alteration,
    Breath,
    Move,
    format_move,
    harp_chart,
    load_tuning,
    make_harp,
    midi_of,
    missing_degrees,
    parse_tuning,
    position_between,
    position_tonic,
    positions,
    single_moves,
    tuning_names,
)
from reedpath.pitch import Scale, midi_name

ONE = parse_tuning('blow = ["C4"]\ndraw = ["D4"]', name="one")


@pytest.mark.parametrize("position", [0, 13, -1])
def test_there_are_twelve_positions(position):
    with pytest.raises(TuningError, match=f"positions are 1 to 12, not {position}"):
        position_tonic(0, position)


def test_position_and_tonic_undo_each_other():
    for key in range(12):
        for number in range(1, 13):
            assert position_between(key, position_tonic(key, number)) == number


def test_positions_know_their_moves_whatever_the_key():
    for key in ("A", "Low F", "High G"):
        second = positions(make_harp(key))[1]
        assert format_move(second.tonic_natural) == "-2"
        assert second.tonic_bent is None or second.tonic_bent.alteration is Alteration.BEND


def test_an_unknown_scale():
    with pytest.raises(PitchError, match="there is no scale named"):
        missing_degrees(load_tuning("standard"), 1, "klezmer")


def test_a_scale_of_ones_own():
    tritone = Scale("tritone", "tritone", (0, 6), ("1", "b5"))
    (missing,) = missing_degrees(load_tuning("standard"), 1, tritone)
    assert missing.degree == "b5"
    assert [format_move(move) for move in missing.bends] == ["-2'", "+9'"]
    assert [format_move(move) for move in missing.overbends] == ["+5o"]


@pytest.mark.parametrize("name", tuning_names())
def test_missing_degrees_and_unbent_notes_make_up_the_scale(name):
    tuning = load_tuning(name)
    unbent = {step % 12 for step in (*tuning.blow, *tuning.draw)}
    for number in range(1, 13):
        tonic = position_tonic(0, number)
        missing = {one.step for one in missing_degrees(tuning, number, "chromatic")}
        assert missing == {step for step in range(12) if (tonic + step) % 12 not in unbent}


def test_the_moves_that_give_a_missing_degree_do_give_it():
    harp = make_harp("D", "raised-5-draw")
    for number in range(1, 13):
        tonic = position_tonic(harp.key_midi % 12, number)
        for missing in missing_degrees(harp.tuning, number, "chromatic"):
            for move in (*missing.bends, *missing.overbends):
                assert (midi_of(harp, move)[0] - tonic) % 12 == missing.step


def test_a_harp_of_one_hole_has_positions_too():
    first = positions(make_harp("C", ONE))[0]
    assert (first.modes, first.tonic_natural.holes) == ((), (1,))


def rows(harp):
    return [
        (
            f"{row.breath.value} {row.alteration.value} {row.depth_semitones}",
            " ".join(cell.name if cell else "." for cell in row.cells),
        )
        for row in harp_chart(harp).rows
    ]


def test_the_chart_of_a_standard_c_harp():
    # notes: OEIS A291810 and the two-reed rule; the order of the rows is ours
    assert rows(make_harp("C")) == [
        ("blow overblow 0", "Eb4 Ab4 C5 Eb5 F#5 Bb5 . . . ."),
        ("blow bend 2", ". . . . . . . . . Bb6"),
        ("blow bend 1", ". . . . . . C6 Eb6 F#6 B6"),
        ("blow natural 0", "C4 E4 G4 C5 E5 G5 C6 E6 G6 C7"),
        ("draw natural 0", "D4 G4 B4 D5 F5 A5 B5 D6 F6 A6"),
        ("draw bend 1", "Db4 F#4 Bb4 Db5 F5 Ab5 . . . ."),
        ("draw bend 2", ". F4 A4 . . . . . . ."),
        ("draw bend 3", ". . Ab4 . . . . . . ."),
        ("draw overdraw 0", ". . . . . . Db6 F6 Ab6 Db7"),
    ]


def test_rows_that_would_be_empty_are_left_out():
    assert [label for label, _ in rows(make_harp("C", ONE))] == [
        "blow overblow 0",
        "blow natural 0",
        "draw natural 0",
        "draw bend 1",
    ]


@pytest.mark.parametrize("name", tuning_names())
def test_every_move_stands_in_the_chart_once(name):
    harp = make_harp("A", name, temperament="7-limit-second")
    cells = [cell for row in harp_chart(harp).rows for cell in row.cells if cell]
    assert sorted(cell.move for cell in cells) == sorted(single_moves(harp.tuning))
    for row in harp_chart(harp).rows:
        assert len(row.cells) == harp.tuning.holes
        for hole, cell in enumerate(row.cells, start=1):
            if cell is not None:
                assert cell.move.holes == (hole,) == (cell.hole,)
                assert cell.move.breath is row.breath
                assert cell.name == midi_name(cell.midi, tonic=harp.key_midi)


def test_a_dip_stands_among_the_half_step_bends():
    row = next(
        row for row in harp_chart(make_harp("C")).rows if (row.breath, row.depth_semitones) == (Breath.DRAW, 1)
    )
    dip = row.cells[4]
    assert dip.move.is_dip
    assert (dip.name, dip.cents) == ("F5", pytest.approx(-50.0))


@pytest.mark.parametrize("holes", [(4, 5), (1, 2, 3)])
def test_only_a_single_note_is_bent(holes):
    with pytest.raises(TuningError, match="only a single hole is bent"):
        Move(holes, Breath.DRAW, Alteration.BEND, -1)
