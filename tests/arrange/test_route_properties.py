"""What holds for every route, whatever the phrase."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.arrange import ChangeKind, find_route, level_names, load_player, load_weights, trade_off, unbeaten
from reedpath.arrange.player import parse_weights
from reedpath.harp import Alteration, make_harp, parse_tuning, tuning_names
from reedpath.phrase import Event, Phrase
from reedpath.pitch import Key, parse_midi
from support.built_phrases import line_of, short_tab
from support.examples import examples

notes = st.lists(st.integers(48, 100), min_size=1, max_size=12)


def melody(pitches: list[int]) -> Phrase:
    return Phrase(tuple(Event(Fraction(i, 2), Fraction(1, 2), (midi,)) for i, midi in enumerate(pitches)))


@examples(80)
@given(pitches=notes, level=st.sampled_from(level_names()), tuning=st.sampled_from(tuning_names()))
def test_what_is_not_as_given_is_always_named(pitches, level, tuning):
    route = find_route(melody(pitches), make_harp("C", tuning), player=load_player(level))
    for index, one in enumerate(route.events):
        as_given = route.sounding_midi(index) == one.event.midi
        assert as_given or one.choice.changes
        assert not as_given or not one.choice.changes
    lost = sum(change.loss for _, change in route.changes)
    assert route.truth == pytest.approx(1 - min(lost, len(pitches)) / len(pitches))


@examples(60)
@given(pitches=notes, semitones=st.integers(-5, 6))
def test_moving_phrase_and_harp_together_leaves_the_route(pitches, semitones):
    keys = {midi: key for key in ("G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#")
            for midi in [make_harp(key).key_midi]}  # fmt: skip
    here = find_route(melody(pitches), make_harp("C"))
    there = find_route(melody(pitches).moved(semitones), make_harp(keys[60 + semitones]))
    assert [one.choice.move for one in here.events] == [one.choice.move for one in there.events]
    assert here.effort.total == pytest.approx(there.effort.total)


@examples(60)
@given(pitches=notes)
def test_the_parts_sum_to_the_total(pitches):
    route = find_route(melody(pitches), make_harp("A"))
    assert sum(route.effort.terms.values()) == pytest.approx(sum(one.effort.total for one in route.events))
    assert all(points >= 0 for one in route.events for points in one.effort.terms.values())


@pytest.mark.slow
@examples(30)
@given(
    pitches=st.lists(st.integers(48, 100), min_size=1, max_size=6),
    level=st.sampled_from(["first-months", "steady", "advanced"]),
)
def test_no_route_of_a_trade_off_is_beaten(pitches, level):
    routes = trade_off(melody(pitches), make_harp("C"), shifts=(0, -12, 12), player=load_player(level))
    assert routes
    for one in routes:
        for other in routes:
            if one is not other:
                assert one.truth > other.truth or one.effort.total < other.effort.total
    assert unbeaten(routes) == routes


def test_a_level_uses_only_its_techniques():
    phrase = melody(list(range(60, 97)))
    for level in level_names():
        player = load_player(level)
        for one in find_route(phrase, make_harp("C"), player=player).events:
            move = one.choice.move
            if move.alteration is Alteration.BEND:
                depths = player.draw_bends if move.breath == "draw" else player.blow_bends
                assert -move.semitones in depths
            assert player.overblows or move.alteration is not Alteration.OVERBLOW
            assert player.overdraws or move.alteration is not Alteration.OVERDRAW


def test_technique_switches_are_obeyed_one_by_one():
    phrase = line_of("F4 A4 Eb5 C#6")
    advanced = load_player("advanced")
    assert short_tab(find_route(phrase, make_harp("C"), player=advanced)) == "2d'' 3d'' 4o 7o"
    shallow = advanced.allowing(draw_bends=(1,), overdraws=False)
    route = find_route(phrase, make_harp("C"), player=shallow)
    assert {kind.kind for _, kind in route.changes} <= {ChangeKind.OCTAVE, ChangeKind.HARMONY}
    assert [bool(one.choice.changes) for one in route.events] == [True, True, False, True]


def test_a_string_bend_is_attacked_bent_and_let_go():
    route = find_route(line_of("G4 A4 D5", bend_in=Fraction(1)), make_harp("C"))
    last = route.events[-1].choice
    assert (last.move.holes, last.attack_semitones, last.changes) == ((4,), -1.0, ())


def test_a_release_is_pressed_down_on_the_same_hole():
    last = find_route(line_of("G4 B4", release=Fraction(2)), make_harp("C")).events[-1].choice
    assert (last.move.holes, last.fall_semitones, last.changes) == ((3,), -2.0, ())


def test_a_bend_where_the_hole_has_none_is_run_or_straight_and_says_so():
    """5 blow has no room below; E5 from D5 is run from 4 draw, and a quarter tone has no note to run from."""
    run = find_route(line_of("C5 E5", bend_in=Fraction(2)), make_harp("C")).events[-1].choice
    assert run.lead_in or run.changes
    quarter = find_route(line_of("C5 E5", bend_in=Fraction(1, 2)), make_harp("C")).events[-1].choice
    assert [change.kind for change in quarter.changes] == [ChangeKind.STRAIGHT]


def test_a_slide_down_from_the_natural_note_is_a_bend():
    last = find_route(line_of("C5 A4", slide_from=71), make_harp("C")).events[-1].choice
    assert (last.move.holes, last.move.semitones, last.attack_semitones) == ((3,), -2, 2.0)


def test_grace_notes_are_searched_at_their_own_speed():
    route = find_route(line_of("C5 D5", graces=(76,)), make_harp("C"))
    assert [one.event.grace for one in route.events] == [False, True, False]
    assert route.events[2].effort.total > route.events[1].effort.total


def test_chords_splits_and_what_is_missing_of_a_chord():
    harp = make_harp("C")
    assert short_tab(find_route(line_of("D4+G4+B4"), harp)) == "1-2-3d"
    assert short_tab(find_route(line_of("G4+G5"), harp)) == "3-6b"
    assert short_tab(find_route(line_of("G4+F5"), harp)) == "2-5d"
    route = find_route(line_of("C4+Eb4+G4"), harp)
    assert [change.kind for _, change in route.changes] == [ChangeKind.MISSING]


def test_a_phrase_nobody_can_play_is_a_result_that_says_so():
    one_hole = parse_tuning('blow = ["C4"]\ndraw = ["D4"]', name="one-hole")
    route = find_route(melody([65, 66, 60]), make_harp("C", one_hole), player=load_player("first-months"))
    assert next(change.kind for _, change in route.changes) in {ChangeKind.HARMONY, ChangeKind.SILENT}
    empty = find_route(Phrase(()), make_harp("C"))
    assert (empty.events, empty.truth, empty.worst) == ((), 1.0, None)


def test_position_comes_from_the_key_after_the_shift():
    phrase = line_of("E4 G4 A4", key=Key(4))
    assert find_route(phrase, make_harp("A")).position == 2
    assert find_route(phrase, make_harp("C"), shift_semitones=-4).position == 1
    assert find_route(line_of("E4"), make_harp("C")).position is None


def test_long_drawing_asks_for_a_breath():
    route = find_route(line_of(" ".join(["D5"] * 40), beats=Fraction(2), bpm=60), make_harp("C"))
    assert any(one.breathe_before for one in route.events)
    assert max(one.air_litres for one in route.events) <= load_weights().air.capacity_litres


def test_heavier_weights_never_lower_a_term():
    from importlib.resources import files

    text = (files("reedpath.arrange") / "weights.toml").read_text(encoding="utf-8")
    heavy = parse_weights(text.replace("seconds = 0.06 ", "seconds = 0.60 "))
    phrase = line_of("C5 D5 E5 F5")
    light_route, heavy_route = (find_route(phrase, make_harp("C"), weights=w) for w in (load_weights(), heavy))
    assert heavy_route.effort.terms["breath"] == pytest.approx(10 * light_route.effort.terms["breath"])


def test_a_slide_from_the_note_before_is_a_bend_or_a_run_along_the_holes():
    """F4 up to G4 is 2 draw let up; D5 up to A5 runs over 5 draw; from draw to blow nothing slides: straight."""

    def slid(first: str, second: str) -> tuple:
        phrase = line_of(f"{first} {second}", slide_from=parse_midi(first))
        return find_route(phrase, make_harp("C")).events

    before, here = slid("F4", "G4")
    assert (before.choice.move.semitones, here.choice.move.holes, here.choice.attack_semitones) == (-2, (2,), -2.0)
    assert here.choice.changes == ()
    _, here = slid("D5", "A5")
    assert [move.holes for move in here.choice.lead_in] == [(5,)]
    _, here = slid("C5", "A5")
    assert [change.kind for change in here.choice.changes] == [ChangeKind.STRAIGHT]


def test_a_trade_off_is_a_short_list_with_both_ends_kept():
    phrase, harp = melody([60, 63, 66, 68, 70, 73, 61, 80, 58, 63, 66, 78]), make_harp("C")
    player = load_player("advanced")
    long = trade_off(phrase, harp, shifts=(0, -12, 12), player=player, most=100)
    short = trade_off(phrase, harp, shifts=(0, -12, 12), player=player, most=4)
    assert len(long) > 4 == len(short)
    assert (short[0], short[-1]) == (long[0], long[-1])
    assert unbeaten(short) == short
