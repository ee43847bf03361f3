"""Pins and other ways are exact: held against every possible route, and against the search with that pin."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import prod

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reedpath.arrange import ChangeKind, Pin, find_route, load_player, load_weights, settle, trade_off
from reedpath.arrange.finding import Way, question_of, table_for, way_losses, way_points
from reedpath.arrange.fitting import loss_of
from reedpath.arrange.lungs import air_of, follow
from reedpath.errors import SettingsError
from reedpath.harp import Alteration, Breath, Embouchure, Move, load_tuning, make_harp, parse_move, reach_of
from reedpath.phrase import Event, Phrase, Tempo
from support.built_phrases import line_of
from support.examples import examples
from support.short_phrases import short_phrases

MOST_WAYS = 500
PRICE = load_weights().fit.price_points
KEYS = st.sampled_from(["G", "A", "Bb", "C", "D", "F#"])
LEVELS = st.sampled_from(["first-months", "steady", "advanced"])
TUNINGS = st.sampled_from(["standard", "solo", "natural-minor-second"])


def same_move(one: Move | None, other: Move) -> bool:
    """Equal but for the lips or the tongue."""
    plain = [
        None if move is None else (move.holes, move.breath, move.alteration, move.semitones) for move in (one, other)
    ]
    return plain[0] == plain[1]


def cost_of(route) -> float:
    return route.effort.total + PRICE * sum(loss_of(one.choice) for one in route.events)


class Enumerated:
    """Every way to play a short phrase, its cost reckoned one by one."""

    def __init__(self, phrase: Phrase, harp, level: str, pins=()) -> None:
        player, weights = load_player(level), load_weights()
        self.table, question = table_for(player, weights), question_of(phrase)
        self.question, self.air = question, air_of(question.pace, weights, player)
        tongue = question.needs_tongue or any(one.is_split for pin in pins if not pin.avoid for one in pin.moves)
        tuned = self.table.tuned(harp.tuning, tongue=tongue)
        scale = question.moved_scale(-harp.key_midi)
        reach = reach_of(harp.tuning)
        self.offered, self.all_rows = [], []
        plain_rows = [tuned.rows_for(ask, -harp.key_midi, scale) for ask in question.asks]
        moving = tuned.rows_with_octaves if any(map(tuned.stands_in, plain_rows)) else tuned.rows_for
        for index, ask in enumerate(question.ask_of.tolist()):
            asked = question.asks[ask]
            above_key = tuple(pitch - harp.key_midi for pitch in asked.pitches)
            wanted = [one for pin in pins if pin.event == index and not pin.avoid for one in pin.moves]
            also = (*reach.moves_for(*above_key), *wanted)
            rows = tuned.rows_for(asked._replace(also=also), -harp.key_midi, scale).tolist()
            plain = len(tuned.rows_for(asked, -harp.key_midi, scale))
            moved = moving(asked._replace(also=also), -harp.key_midi, scale).tolist()[len(rows) :]
            self.offered.append(rows[:plain] + moved)
            self.all_rows.append(rows + moved)
        self._steps: dict[tuple[int, ...], float] = {}

    def allowed(self, pins) -> list[list[int]]:
        """Rows of each event that the pins leave."""
        layers = [list(rows) for rows in self.offered]
        for pin in pins:
            if not pin.avoid:
                layers[pin.event] = self.all_rows[pin.event]
        for pin in pins:
            layers[pin.event] = [
                row
                for row in layers[pin.event]
                if any(same_move(self.table.choice(row).move, one) for one in pin.moves) is not pin.avoid
            ]
        return layers

    def least(self, layers: list[list[int]]) -> float:
        """Least cost over all ways through layers of rows, with every set of breaths."""
        assume(prod(map(len, layers)) * 2 ** (len(layers) - 1) * 3 <= MOST_WAYS)
        breaths = list(product([False, True], repeat=len(layers) - 1))
        ways = product(product(*layers), breaths, [level for level, _ in self.air.starts])
        return min(self._cost(Way(rows, (False, *some), start)) for rows, some, start in ways)

    def _cost(self, way: Way) -> float:
        flow = [float(self.table.columns["flow"][row]) for row in way.rows]
        _, air_points = follow(self.air, flow, way.breathe, way.start)
        return self._without_air(way) + float(air_points.sum())

    def _without_air(self, way: Way) -> float:
        """Points of all terms but the air, which alone asks when there is breathed, and of lost truth."""
        if way.rows not in self._steps:
            terms, _ = way_points(self.table, way, self.question, self.air)
            lost = float(way_losses(self.table, way, self.question).sum())
            points = sum(float(points.sum()) for name, points in terms.items() if name != "air")
            self._steps[way.rows] = points + PRICE * lost
        return self._steps[way.rows]


@st.composite
def pins_on(draw, phrase: Phrase, tuning_name: str, most: int = 3) -> tuple[Pin, ...]:
    """Any words on any events, whether they make sense together or not."""
    reach = reach_of(load_tuning(tuning_name))
    moves = st.sampled_from([*reach.single, *reach.multiple[::5]])
    pin = st.builds(
        Pin,
        st.integers(0, len(phrase.events) - 1),
        moves,
        st.one_of(st.just(()), st.tuples(moves)),
        avoid=st.booleans(),
    )
    return tuple(draw(st.lists(pin, min_size=1, max_size=most)))


@pytest.mark.slow
@examples(250)
@given(data=st.data(), phrase=short_phrases(most_events=3), tuning_name=TUNINGS, level=LEVELS, key=KEYS)
def test_the_best_route_that_keeps_the_pins_is_that_of_enumeration(data, phrase, tuning_name, level, key):
    harp = make_harp(key, load_tuning(tuning_name))
    pins = data.draw(pins_on(phrase, tuning_name))
    every = Enumerated(phrase, harp, level, pins)
    layers = every.allowed(pins)
    if not all(layers):
        with pytest.raises(SettingsError):
            settle(phrase, harp, player=load_player(level), pins=pins)
        return
    settled = settle(phrase, harp, player=load_player(level), pins=pins)
    route = settled.route()
    assert settled.cost == pytest.approx(every.least(layers), abs=1e-6)
    assert cost_of(route) == pytest.approx(settled.cost, abs=1e-6)
    for pin in pins:
        there = any(same_move(route.events[pin.event].choice.move, one) for one in pin.moves)
        assert there is not pin.avoid


@pytest.mark.slow
@examples(150)
@given(phrase=short_phrases(most_events=3), tuning_name=TUNINGS, level=LEVELS, key=KEYS)
def test_what_another_way_adds_is_that_of_enumeration(phrase, tuning_name, level, key):
    harp = make_harp(key, load_tuning(tuning_name))
    every = Enumerated(phrase, harp, level)
    settled = settle(phrase, harp, player=load_player(level))
    assert settled.cost == pytest.approx(every.least(every.offered), abs=1e-6)
    route = settled.route()
    assert [settled.others_at(index, route) for index in range(len(route.events))] == list(settled.others(route))
    for index, others in enumerate(settled.others()):
        own = route.events[index].choice.move
        moves = [every.table.choice(row).move for row in every.all_rows[index]]
        told = [other.move for other in others]
        assert all(
            move is None or same_move(own, move) or sum(same_move(move, one) for one in told) == 1 for move in moves
        )
        assert [other.adds for other in others] == sorted(other.adds for other in others)
        for other in others:
            layers = list(every.offered)
            layers[index] = [
                row for row in every.all_rows[index] if same_move(every.table.choice(row).move, other.move)
            ]
            assert settled.cost + other.adds == pytest.approx(every.least(layers), abs=1e-6)


@st.composite
def longer_phrases(draw) -> Phrase:
    """Phrases of up to thirty notes, slow enough at times for the air to matter."""
    events, onset = [], Fraction(0)
    for _ in range(draw(st.integers(4, 30))):
        onset += draw(st.sampled_from([Fraction(0)] * 6 + [Fraction(1, 2), Fraction(3)]))
        duration = draw(st.sampled_from([Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(6)]))
        lowest = draw(st.integers(57, 88))
        events.append(Event(onset, duration, draw(st.sampled_from([(lowest,)] * 5 + [(lowest, lowest + 4)]))))
        onset += duration
    return Phrase(tuple(events), tempos=(Tempo(Fraction(0), draw(st.sampled_from([50.0, 100.0, 170.0]))),))


@pytest.mark.slow
@examples(60)
@given(data=st.data(), phrase=longer_phrases(), level=LEVELS)
def test_pinning_another_way_costs_just_what_it_adds_and_little_is_searched_again(data, phrase, level):
    harp, player = make_harp("C"), load_player(level)
    free = settle(phrase, harp, player=player)
    assert free.cost == pytest.approx(cost_of(find_route(phrase, harp, player=player)), abs=1e-6)
    settled, pins = free, ()
    for _ in range(3):
        offers = [(index, other) for index, ways in enumerate(settled.others()) for other in ways]
        assume(offers)
        index, other = data.draw(st.sampled_from(offers))
        pins = (*(pin for pin in pins if pin.event != index), Pin(index, other.move))
        expected = settled.cost + other.adds
        settled = settled.pinned(pins)
        anew = settle(phrase, harp, player=player, pins=pins)
        assert settled.cost == pytest.approx(expected, abs=1e-6)
        assert anew.cost == pytest.approx(expected, abs=1e-6)
        assert cost_of(settled.route()) == pytest.approx(expected, abs=1e-6)
        adds = [[other.adds for other in ways] for ways in anew.others(settled.route())]
        for ways, wanted in zip(settled.others(), adds, strict=True):
            assert [other.adds for other in ways] == pytest.approx(wanted, abs=1e-6)
    assert settled.pinned(()).cost == pytest.approx(free.cost, abs=1e-9)


# ---------------------------------------------------------------------------------------------------- by hand


def pinned_line(notes: str, *pins: Pin, level: str = "steady", key: str = "C"):
    return settle(line_of(notes), make_harp(key), player=load_player(level), pins=pins)


def test_a_pin_brings_in_what_the_level_leaves_out():
    pin = Pin(0, parse_move("-3'"))
    assert find_route(line_of("Bb4 C5"), make_harp("C"), player=load_player("first-months")).truth < 1
    route = pinned_line("Bb4 C5", pin, level="first-months").route()
    assert route.events[0].choice.move == pin.move
    assert route.truth == 1.0


@pytest.mark.parametrize(
    ("typed", "kind"),
    [("7", ChangeKind.OCTAVE), ("-4", ChangeKind.HARMONY), ("1/4", ChangeKind.ADDED), ("-10", ChangeKind.HARMONY)],
)
def test_what_a_pin_changes_is_told(typed, kind):
    route = pinned_line("C5 E5", Pin(0, parse_move(typed))).route()
    assert [change.kind for _, change in route.changes] == [kind]
    assert route.truth < 1


def test_a_pin_of_a_chord_that_lacks_a_note_is_told():
    route = pinned_line("C5+E5 G5", Pin(0, parse_move("4"))).route()
    assert [change.kind for _, change in route.changes] == [ChangeKind.MISSING]


def test_lips_and_tongue_are_not_asked_of_a_pin():
    tongue = Move((4,), Breath.BLOW, Alteration.NATURAL, 0, Embouchure.TONGUE)
    assert pinned_line("C5 E5", Pin(0, tongue)).route().events[0].choice.move.holes == (4,)


@pytest.mark.parametrize(
    ("pins", "key"),
    [
        ([Pin(2, parse_move("4"))], "arrange.no_event"),
        ([Pin(0, parse_move("-9'"))], "harp.no_such_move"),
        ([Pin(0, Move((12,), Breath.DRAW))], "harp.no_hole"),
        ([Pin(0, parse_move("4")), Pin(0, parse_move("-4"))], "arrange.pins_exclude"),
        ([Pin(0, parse_move("4")), Pin(0, parse_move("4"), avoid=True)], "arrange.pinned_and_avoided"),
        ([Pin(0, parse_move("4"), avoid=True)], "arrange.nothing_left"),
    ],
)
def test_pins_that_cannot_be_kept_say_why(pins, key):
    with pytest.raises(SettingsError) as caught:
        pinned_line("C5 E5", *pins)
    assert caught.value.key == key


def test_a_phrase_of_nothing_is_settled_too():
    settled = settle(Phrase(()), make_harp("C"))
    assert (settled.cost, settled.others(), settled.route().events) == (0.0, (), ())


def test_all_of_a_trade_off_keep_the_pins():
    pin = Pin(1, parse_move("-2"))
    routes = trade_off(line_of("Bb4 G4 Ab4 F4"), make_harp("C"), pins=[pin])
    assert routes
    assert all(route.events[1].choice.move.holes == (2,) for route in routes)
