"""What is said of events and parts, on the phrase and the harp that it is said of."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.arrange import find_route
from reedpath.errors import Place, SettingsError
from reedpath.harp import format_move, make_harp, notation_names, parse_move, reach_of
from reedpath.jobs import read_source
from reedpath.jobs.pinning import Said, pins_of, said_of_event, said_of_part
from reedpath.phrase import Event, Metre, Ornaments, Phrase

TAB = b"title: Small steps (invented)\nharp: A\nA: | -2 -3' 4 -4' | -4 5 6 -5 |\nB: | 6 5 -4 4 | -2 -2 -1 2 |\n"


def route_of(source: bytes = TAB):
    return find_route(read_source(source, name="steps.txt").phrase, make_harp("A"))


def pin_of(text: str, *, avoid: bool = False, notation: str = "sign"):
    return pins_of(route_of(), [said_of_event(text, avoid=avoid)], notation=notation)[0]


@pytest.mark.parametrize(
    ("text", "event"),
    [
        ("7=3", 7),
        ("2:3=-3'", (2, Fraction(3))),
        ("2:3.5 = -3'", (2, Fraction(7, 2))),
        ("2:3&=3B", (2, Fraction(7, 2))),
        ("2:1e=4", (2, Fraction(5, 4))),
        ("2:1+2/3=4", (2, Fraction(5, 3))),
    ],
)
def test_an_event_is_said_by_its_number_or_by_bar_and_beat(text, event):
    assert said_of_event(text, avoid=False).event == event


@pytest.mark.parametrize(
    "text", ["", "=", "7", "7=", "=4", "seven=4", "2:=4", "2:3:4=4", "-1=4", "2:1+1/0=4", "1.5=4"]
)
def test_what_says_nothing_of_an_event_is_told(text):
    with pytest.raises(SettingsError) as caught:
        said_of_event(text, avoid=True)
    assert (caught.value.key, caught.value.values["option"]) == ("jobs.nothing_pinned", "--avoid")


def test_bars_and_beats_are_counted_as_in_the_tab():
    assert pin_of("2:3=6").event == 6
    assert pin_of("4:1=-2").event == 12


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("2:2&=4", "jobs.no_event_at"),
        ("9:1=4", "jobs.nothing_in_bar"),
        ("1=-9''", "harp.no_such_move"),
        ("1=11", "harp.no_holes_run_together"),
        ("1=two", "harp.no_move"),
    ],
)
def test_what_is_not_there_is_told_with_what_was_typed(text, key):
    with pytest.raises(SettingsError) as caught:
        pin_of(text)
    assert caught.value.key == key
    assert caught.value.where.field == f"--pin {text}"


def test_a_pickup_is_counted_to_its_end_and_grace_notes_stand_before_their_note():
    graced = Event(Fraction(2), Fraction(1), (64,), Ornaments(graces=(62,)))
    events = (Event(Fraction(0), Fraction(1), (60,)), Event(Fraction(1), Fraction(1), (62,)), graced)
    phrase = Phrase(events, metres=(Metre(Fraction(0), 4, 4),), pickup=Fraction(1))
    route = find_route(phrase, make_harp("C"))
    said = [Said((0, Fraction(4)), "4"), Said((1, Fraction(1)), "-4"), Said((1, Fraction(2)), "5")]
    assert [pin.event for pin in pins_of(route, said)] == [0, 1, 3]


def test_bars_are_those_of_the_source_and_the_time_is_said_as_in_the_tab():
    bars = (4, 5, 4)
    events = tuple(
        Event(Fraction(4 * at + beat), Fraction(1), (60 + 2 * at,), place=Place(bar=bar))
        for at, bar in enumerate(bars)
        for beat in range(4)
    )
    route = find_route(Phrase(events, metres=(Metre(Fraction(0), 4, 4),)), make_harp("C"))
    said = [said_of_event(f"{event}=4", avoid=False) for event in ("4:2", "5:1", "4 (2):2", "4(2):3")]
    assert [pin.event for pin in pins_of(route, said)] == [1, 4, 9, 10]
    assert [one.typed for one in said][1:3] == ["--pin 5:1=4", "--pin 4 (2):2=4"]
    for missing in ("1:1", "4 (3):1"):
        with pytest.raises(SettingsError, match=r"no note begins in bar (1|4 \(3\))"):
            pins_of(route, [said_of_event(f"{missing}=4", avoid=False)])


def test_beats_of_six_eight_are_its_eighths():
    events = tuple(Event(Fraction(i, 2), Fraction(1, 2), (60 + i,)) for i in range(6))
    route = find_route(Phrase(events, metres=(Metre(Fraction(0), 6, 8),)), make_harp("C"))
    assert pins_of(route, [Said((1, Fraction(5)), "5")])[0].event == 4


@given(name=st.sampled_from(notation_names()), index=st.integers(0, 43))
def test_a_move_is_read_in_the_notation_that_is_asked_for(name, index):
    moves = reach_of(make_harp("A").tuning).single
    move = moves[index % len(moves)]
    assert pin_of(f"1={format_move(move, name)}", notation=name).move == move


def test_a_move_in_another_notation_is_read_where_it_is_sure():
    assert pin_of("1=3D''").move == parse_move("-3''")
    assert pin_of("1=↓3'").move == parse_move("-3'")


def test_octaves_of_a_part_are_splits_of_the_tongue_where_the_harp_has_them():
    route = route_of()
    pins = pins_of(route, [Said(9, "6")], [said_of_part("b=octaves")])
    assert pins[0].move == parse_move("6")
    assert {pin.event for pin in pins} == set(range(8, 16))
    for pin in pins[1:]:
        asked = route.events[pin.event].event.midi[0] - route.harp.key_midi
        for move in pin.moves:
            assert move.is_split
            assert len(move.holes) == 2
            sounding = {
                route.harp.tuning.blow[h - 1] if move.breath == "blow" else route.harp.tuning.draw[h - 1]
                for h in move.holes
            }
            assert asked in sounding
            assert max(sounding) - min(sounding) == 12


def test_plain_means_without_bends_where_the_note_is_there_otherwise():
    route = find_route(read_source(b"harp: A\n| -2'' 1 -3'' 4 | 3 -2 4 5 |\n", name="f.txt").phrase, make_harp("A"))
    pins = pins_of(route, [], [said_of_part("a=plain")])
    assert all(pin.avoid for pin in pins)
    assert all(move.alteration != "natural" for pin in pins for move in pin.moves)


@pytest.mark.parametrize(
    ("text", "key"),
    [("octaves", "jobs.no_technique_said"), ("B=", "jobs.no_technique_said"), ("B=flutes", "jobs.unknown_technique")],
)
def test_a_technique_that_is_none_is_told(text, key):
    with pytest.raises(SettingsError) as caught:
        said_of_part(text)
    assert caught.value.key == key


def test_a_part_that_is_not_there_is_told():
    with pytest.raises(SettingsError) as caught:
        pins_of(route_of(), [], [said_of_part("C=octaves")])
    assert caught.value.values == {"label": "C", "labels": ["A", "B"]}


def test_a_part_of_which_nothing_can_be_played_so_is_told():
    bends = find_route(read_source(b"harp: A\n| -3' -2' -3' -2' |\n", name="f.txt").phrase, make_harp("A"))
    with pytest.raises(SettingsError) as caught:
        pins_of(bends, [], [said_of_part("A=octaves")])
    assert caught.value.key == "jobs.technique_plays_nothing"
