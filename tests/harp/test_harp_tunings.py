"""Tunings: what ships, what a wrong file is told, and harps that have not ten holes."""

import pytest

from reedpath.errors import TuningError
from reedpath.harp import (
    Alteration,
    Breath,
    harp_as_data,
    harp_chart,
    load_tuning,
    make_harp,
    midi_of,
    parse_move,
    parse_tuning,
    positions,
    reach_of,
    single_moves,
    tuning_names,
)

MINE = 'title = "mine"\nkey_note = "C4"\nblow = ["C4", "E4"]\ndraw = ["D4", "G4"]\nsource = "invented"\n'
FOURTEEN_BLOW = [0, 4, 7, 12, 16, 19, 24, 28, 31, 36, 40, 43, 48, 52]
FOURTEEN_DRAW = [2, 7, 11, 14, 17, 21, 23, 26, 29, 33, 35, 38, 41, 45]


def names(semitones):
    letters = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]
    return "[" + ", ".join(f'"{letters[s % 12]}{3 + s // 12}"' for s in semitones) + "]"


FOURTEEN = parse_tuning(
    f'key_note = "C3"\nblow = {names(FOURTEEN_BLOW)}\ndraw = {names(FOURTEEN_DRAW)}', name="fourteen"
)
ONE = parse_tuning('blow = ["C4"]\ndraw = ["D4"]', name="one")


def test_the_standard_tuning_comes_first():
    assert tuning_names()[0] == "standard"
    assert len(tuning_names()) == 14


@pytest.mark.parametrize("name", tuning_names())
def test_every_tuning_names_its_source_and_reads_as_words(name):
    tuning = load_tuning(name)
    assert tuning.source
    assert tuning.title
    assert tuning.holes == 10


def test_no_two_tunings_are_the_same():
    assert len({(load_tuning(n).blow, load_tuning(n).draw) for n in tuning_names()}) == len(tuning_names())


def test_a_users_tuning():
    tuning = parse_tuning(MINE, name="mine")
    assert (tuning.blow, tuning.draw, tuning.title) == ((0, 4), (2, 7), "mine")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"E4"', '"H4"', "hole 2, 'blow': 'H4' is not a note"),
        ('"G4"', '"G"', "hole 2, 'draw': 'G' is not a note"),
        ('"G4"', "67", "hole 2, 'draw': '67' is not a note"),
        ('"G4"', '["G4"]', "hole 2, 'draw': .*G4.* is not a note"),
        ('"D4", "G4"', '"D4"', "hole 2, 'draw': no note is given: 2 blow and 1 draw notes"),
        ('"C4", "E4"', '"C4"', "hole 2, 'blow': no note is given: 1 blow and 2 draw notes"),
        ('"G4"', '"G6"', "hole 2, 'draw': the two reeds lie 27 semitones apart, more than 12"),
        ('["D4", "G4"]', '"D4 G4"', "'draw': .* is not a list"),
        ('draw = ["D4", "G4"]', "", "'draw': this is missing"),
        ('["D4", "G4"]', "[]", "hole 1, 'draw': no note is given"),
        ('key_note = "C4"', 'key_note = "C"', "'key_note': 'C' is not a note"),
        ('key_note = "C4"', "key_note = 60", "'key_note': 60 is not a text"),
        ('title = "mine"', "title = 3", "'title': 3 is not a text"),
        ('title = "mine"', 'titel = "mine"', "'titel': there is no such field"),
        ("blow = [", "blow = ", "not TOML"),
        ('"E4"', '"E99"', "hole 2, 'blow': 'E99' is not a note"),
    ],
)
def test_a_wrong_file_is_told_the_hole_and_the_field(old, new, message):
    assert old in MINE
    with pytest.raises(TuningError, match=message):
        parse_tuning(MINE.replace(old, new, 1), name="mine")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "'blow': this is missing"),
        ("a = " + "[" * 50_000, "nested too deeply"),
        ("#" * 200_000, "200,000 characters are too many"),
        ("\x00", "not TOML"),
    ],
)
def test_hostile_files_are_refused(text, message):
    with pytest.raises(TuningError, match=message):
        parse_tuning(text, name="mine")


def test_twenty_five_holes_are_too_many():
    row = "[" + '"C4",' * 25 + "]"
    with pytest.raises(TuningError, match="25 blow and 25 draw reeds"):
        parse_tuning(f"blow = {row}\ndraw = {row}", name="mine")


def test_an_unknown_name_lists_the_known_ones():
    with pytest.raises(TuningError, match="there is no tuning named 'richter'") as caught:
        load_tuning("richter")
    assert "natural-minor-first" in caught.value.hint


def test_one_hole():
    assert [(move.breath, move.alteration, move.semitones) for move in single_moves(ONE)] == [
        (Breath.BLOW, Alteration.NATURAL, 0),
        (Breath.DRAW, Alteration.NATURAL, 0),
        (Breath.DRAW, Alteration.BEND, -1),
        (Breath.BLOW, Alteration.OVERBLOW, 3),
    ]
    assert reach_of(ONE).multiple == ()


def test_two_like_reeds_neither_bend_nor_overbend():
    flat = parse_tuning('blow = ["C4"]\ndraw = ["C4"]', name="flat")
    assert len(single_moves(flat)) == 2


def test_fourteen_holes():
    reach = reach_of(FOURTEEN)
    assert {move.holes[-1] for move in reach.single} == set(range(1, 15))
    assert max(move.holes[-1] for move in reach.multiple) == 14
    harp = make_harp("Low C", FOURTEEN)
    top = [move for move in reach.single if move.holes == (14,) and move.alteration is Alteration.NATURAL]
    assert {midi_of(harp, move) for move in top} == {(48 + 52,), (48 + 45,)}
    deep = [move for move in reach.single if move.holes == (14,) and move.alteration is Alteration.BEND]
    assert [move.semitones for move in deep] == [-1, -2, -3, -4, -5, -6]


def test_a_harp_whose_reeds_leave_the_midi_range_is_refused():
    with pytest.raises(TuningError, match="hole 14: the blow reed would sound MIDI 130"):
        make_harp("High F#", FOURTEEN)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"a4_hz": 300.0}, "A4 lies between 390 and 490 Hz, not at 300"),
        ({"a4_hz": float("nan")}, "A4 lies between"),
        ({"stretch_cents": 60.0}, "stretched by up to 50 cents, not by 60"),
        ({"stretch_cents": float("inf")}, "not by inf"),
    ],
)
def test_reference_and_stretch_are_checked(options, message):
    with pytest.raises(TuningError, match=message):
        make_harp("C", **options)


@pytest.mark.parametrize("key", ["J", "", "C C", "Lower C", "Cmaj", "C##b"])
def test_a_key_that_is_none(key):
    with pytest.raises(TuningError, match="there is no harp named"):
        make_harp(key)


@pytest.mark.parametrize("name", ["A", "Bb", "F#", "Low F", "High G", "Low C"])
def test_a_harp_says_its_name(name):
    assert make_harp(name).name == name


def test_fourteen_holes_chart_data_and_positions():
    harp = make_harp("Low C", FOURTEEN, temperament="5-limit-first", stretch_cents=2.0)
    data = harp_as_data(harp)
    assert data["holes"] == 14
    assert max(hole for move in data["moves"] for hole in move["holes"]) == 14
    assert all(len(row.cells) == 14 for row in harp_chart(harp).rows)
    assert positions(harp)[1].modes == ("mixolydian",)
    assert [move.holes for move in (parse_move("-14", tuning=FOURTEEN), parse_move("(13 14)", tuning=FOURTEEN))] == [
        (14,),
        (13, 14),
    ]
