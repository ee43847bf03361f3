"""Cents, hertz and limits of moves, and harps as data."""

import json

import pytest

from reedpath.data import as_plain
from reedpath.harp import (
    Alteration,
    Breath,
    Embouchure,
    Move,
    format_move,
    harp_as_data,
    inventory,
    load_temperament,
    load_tuning,
    make_harp,
    midi_of,
    parse_move,
    reach_of,
    reed_hz,
    sound_of,
    sounding_move,
    tuning_names,
)
from reedpath.pitch import midi_to_hz, ratio_to_cents

BLOW, DRAW = Breath.BLOW, Breath.DRAW


def sound(text, harp):
    return sound_of(harp, parse_move(text, "sign", tuning=harp.tuning))


def test_equal_temperament_at_440_is_nought_everywhere():
    harp = make_harp("C")
    for one in inventory(harp):
        if not one.move.is_dip:
            assert one.cents == (0.0,) * len(one.move.holes)
            assert one.hz == tuple(midi_to_hz(number) for number in one.midi)


def test_the_reference_moves_every_note_alike():
    for one in inventory(make_harp("A", a4_hz=443.0)):
        if not one.move.is_dip:
            assert one.cents == pytest.approx((11.764,) * len(one.cents), abs=0.001)


def test_the_stretch_widens_from_the_key_note():
    harp = make_harp("C", stretch_cents=2.0)
    assert [round(sound(text, harp).cents[0], 6) for text in ("+1", "+4", "+7", "+10")] == [0.0, 2.0, 4.0, 6.0]
    assert sound("+3", harp).cents[0] == pytest.approx(2 * 7 / 12)


def test_hertz_follow_cents():
    harp = make_harp("Bb", temperament="7-limit-second", a4_hz=442.0, stretch_cents=3.0)
    for one in inventory(harp):
        for number, cents, hz in zip(one.midi, one.cents, one.hz, strict=True):
            assert ratio_to_cents(hz / midi_to_hz(number)) == pytest.approx(cents, abs=1e-6)


@pytest.mark.parametrize("temperament", ["5-limit-first", "7-limit-second", "19-limit-second-third"])
def test_the_blow_chord_is_pure_in_the_just_schemes(temperament):
    harp = make_harp("C", temperament=temperament)
    c, e, g = (reed_hz(harp, hole, BLOW) for hole in (1, 2, 3))
    assert e / c == pytest.approx(5 / 4)
    assert g / c == pytest.approx(3 / 2)


def test_a_bend_to_a_step_of_the_scheme_takes_its_value_there():
    harp = make_harp("C", temperament="5-limit-first")
    assert sound("-3''", harp).midi == (69,)  # A, the scheme's 5/3
    assert sound("-3''", harp).cents[0] == pytest.approx(-15.64, abs=0.01)
    assert sound("-2''", harp).cents[0] == pytest.approx(-1.96, abs=0.01)  # F, 4/3


def test_a_bend_to_a_step_that_the_scheme_lacks_is_equal():
    harp = make_harp("C", temperament="5-limit-first")
    for text in ("-3'", "-3'''", "-4'", "+6o", "+10''"):
        assert sound(text, harp).cents[0] == pytest.approx(0.0)


def test_a_bend_is_limited_by_the_lower_reed():
    harp = make_harp("C")
    assert sound("-3'", harp).limit_cents == pytest.approx(-300.0)  # from Bb4 down to G4
    assert sound("-3'''", harp).limit_cents == pytest.approx(-100.0)
    assert sound("+10''", harp).limit_cents == pytest.approx(-100.0)  # from Bb6 down to A6
    just = make_harp("C", temperament="5-limit-first")
    assert sound("-3'", just).limit_cents == pytest.approx(-300.0 + 1.955, abs=0.001)


def test_an_overbend_is_limited_by_the_higher_reed():
    harp = make_harp("C")
    assert sound("+6o", harp).midi == (82,)
    assert sound("+6o", harp).limit_cents == pytest.approx(-100.0)  # A5 below Bb5
    assert sound("-7o", harp).limit_cents == pytest.approx(-100.0)  # C6 below C#6


def test_a_natural_note_has_no_limit():
    assert sound("-3", make_harp("C")).limit_cents is None
    assert sound("-(1 2 3)", make_harp("C")).limit_cents is None


@pytest.mark.parametrize(("text", "midi"), [("-5½'", 77), ("+7½'", 84)])
def test_a_dip_lies_half_way_between_its_reeds(text, midi):
    one = sound(text, make_harp("C"))
    assert one.midi == (midi,)
    assert one.cents == pytest.approx((-50.0,))
    assert one.limit_cents == pytest.approx(-100.0)


@pytest.mark.parametrize("name", tuning_names())
@pytest.mark.parametrize("temperament", ["equal", "7-limit-second"])
def test_every_bend_lies_between_its_reeds_and_every_overbend_above(name, temperament):
    harp = make_harp("G", name, temperament=temperament, stretch_cents=2.0)
    for one in inventory(harp):
        if one.move.alteration is Alteration.NATURAL:
            continue
        reeds = sorted(reed_hz(harp, one.move.holes[0], breath) for breath in Breath)
        if one.move.alteration is Alteration.BEND:
            assert reeds[0] < one.hz[0] < reeds[1]
            assert one.limit_cents < one.cents[0]
        else:
            assert one.hz[0] > reeds[1]


def test_data_has_the_documented_keys_and_nothing_else():
    data = harp_as_data(make_harp("A"))
    assert list(data) == ["key", "tuning", "temperament", "holes", "moves", "reeds"]
    assert (data["key"], data["tuning"], data["temperament"], data["holes"]) == ("A", "standard", "equal", 10)
    keys = ["holes", "breath", "alteration", "semitones", "embouchure", "midi", "cents", "limit_cents"]
    assert all(list(move) == keys for move in data["moves"])
    assert json.loads(json.dumps(data)) == data


def test_data_holds_every_move_of_the_reach():
    harp = make_harp("Low F", "natural-minor-first")
    reach = reach_of(harp.tuning)
    moves = harp_as_data(harp)["moves"]
    assert len(moves) == len(reach.single) + len(reach.multiple)
    read = {
        Move(
            tuple(m["holes"]),
            Breath(m["breath"]),
            Alteration(m["alteration"]),
            m["semitones"],
            Embouchure(m["embouchure"]),
        )
        for m in moves
    }
    assert read == {*reach.single, *reach.multiple}


def test_a_move_as_data_is_the_worked_example():
    bend = parse_move("-3'")
    assert as_plain(sounding_move(bend, make_harp("C"))) == {
        "holes": [3],
        "breath": "draw",
        "alteration": "bend",
        "semitones": -1,
        "midi": [70],
        "cents": [0.0],
        "embouchure": "pucker",
    }


def test_a_chord_as_data_has_a_number_for_each_hole():
    harp = make_harp("C", temperament=load_temperament("5-limit-first"))
    data = as_plain(sounding_move(parse_move("-1/4"), harp))
    assert data["midi"] == [62, 74]
    assert data["cents"] == [3.91, 3.91]
    assert data["embouchure"] == "tongue-block"


def test_midi_agrees_with_the_reach():
    harp = make_harp("F#", "solo")
    assert all(one.midi == midi_of(harp, one.move) for one in inventory(harp))


@pytest.mark.parametrize("name", tuning_names())
def test_chords_stand_side_by_side_and_splits_leave_room_for_the_tongue(name):
    for move in reach_of(load_tuning(name)).multiple:
        span = move.holes[-1] - move.holes[0] + 1
        if move.embouchure is Embouchure.TONGUE:
            assert len(move.holes) == 2
            assert 3 <= span <= 5
        else:
            assert 2 <= len(move.holes) == span <= 4


def test_moves_are_counted_as_the_reeds_allow():
    reach = reach_of(load_tuning("standard"))
    # 20 naturals, 12 bends, 2 dips, 10 overbends; chords 9 + 8 + 7 and splits 8 + 7 + 6 on each breath
    assert len(reach.single) == 44
    assert len(reach.multiple) == 2 * (9 + 8 + 7 + 8 + 7 + 6)
    assert len({format_move(move) for move in (*reach.single, *reach.multiple)}) == 44 + 90
