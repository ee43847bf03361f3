"""The live listener on tones made for it; recorded notes are in tests/outside and bench/listen_live.py."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.harp import Alteration, Breath, Embouchure, Move, make_harp, sound_of
from reedpath.listen import LiveListener
from support.built_routes import built_route
from support.examples import examples
from support.reed_tones import reed_tone

RATE = 44_100
HARP = make_harp("C")


def sounding(move, seconds=0.4, *, flat=None):
    """A move's reeds; flat is the semitones under its pitch, one for each frame."""
    pitches = sound_of(HARP, move).midi
    down = np.zeros(round(seconds * RATE)) if flat is None else flat
    return sum(reed_tone(midi - down, seconds, rate=RATE).array[:, 0] for midi in pitches)


def named(array, *, route=None, block=441):
    listener = LiveListener(HARP, RATE, route=route)
    return [one for at in range(0, len(array), block) for one in listener.feed(array[at : at + block])]


def test_a_reed_that_begins_flat_is_never_taken_for_the_bend_under_it():
    seconds = np.arange(round(0.4 * RATE)) / RATE
    draw = Move((3,), Breath.DRAW)
    heard = {one.move for one in named(sounding(draw, flat=0.6 * np.exp(-seconds / 0.015)))}
    assert heard <= {draw, None}


def test_a_bend_that_is_held_is_named_as_a_bend():
    bend = Move((3,), Breath.DRAW, Alteration.BEND, -1)
    assert {one.move for one in named(sounding(bend)) if 0.1 < one.seconds < 0.35} == {bend}


CHORDS = {
    "(4 5)b": Move((4, 5), Breath.BLOW),
    "(3 4)d": Move((3, 4), Breath.DRAW),
    "(1 2 3)b": Move((1, 2, 3), Breath.BLOW),
    "(1 2 3 4)b": Move((1, 2, 3, 4), Breath.BLOW),  # holds an octave
    "[2 5]d": Move((2, 5), Breath.DRAW, embouchure=Embouchure.TONGUE),
}


@pytest.mark.parametrize("text", CHORDS)
def test_several_holes_are_named_where_the_route_asks_for_them(text):
    route = built_route(f"4d 6d {text}", key="C")
    middle = [one for one in named(sounding(CHORDS[text]), route=route) if 0.15 < one.seconds < 0.35]
    assert {one.move for one in middle} == {CHORDS[text]}
    assert all(abs(one.cents) < 10 or np.isnan(one.cents) for one in middle)  # one reed pulls at the other


def test_single_notes_of_a_chord_stay_single_and_a_route_without_it_names_none():
    chord = Move((4, 5), Breath.BLOW)
    for hole in (4, 5):
        single = Move((hole,), Breath.BLOW)
        heard = named(sounding(single), route=built_route("(4 5)b 4b 5b", key="C"))
        assert {one.move for one in heard if 0.1 < one.seconds < 0.35} == {single}
    assert chord not in {one.move for one in named(sounding(chord), route=built_route("4b 5b", key="C"))}


@pytest.mark.parametrize(("text", "holes"), [("[1 4]b 2b", (1, 4)), ("[1 4]b 1b", (1,)), ("2b", (1,))])
def test_an_octave_sounds_like_its_lower_hole_and_the_route_decides(text, holes):
    split = Move((1, 4), Breath.BLOW, embouchure=Embouchure.TONGUE)
    last = [one for one in named(sounding(split), route=built_route(text, key="C")) if 0.1 < one.seconds < 0.35]
    assert {one.move.holes for one in last} == {holes}
    if "[1 4]b" in text:
        assert {other.holes for other in last[-1].alike} >= {(1, 4), (1,)} - {holes}


@pytest.fixture(scope="module")
def whole():
    """A note and a chord, and their names when they come in one block."""
    array = np.concatenate([np.zeros(900), sounding(Move((4,), Breath.DRAW), 0.1), sounding(CHORDS["(4 5)b"], 0.15)])
    route = built_route("4d (4 5)b", key="C")
    return array, route, [repr(one) for one in named(array, route=route, block=len(array))]


@pytest.mark.slow
@examples(8)
@given(sizes=st.lists(st.integers(1, 5000), min_size=1, max_size=5))
def test_names_do_not_depend_on_the_blocks(whole, sizes):
    array, route, names = whole
    listener, pieces, at = LiveListener(HARP, RATE, route=route), [], 0
    while at < len(array):
        size = sizes[at % len(sizes)]
        pieces += listener.feed(array[at : at + size])
        at += size
    assert [repr(one) for one in pieces] == names
