"""A note held with a vibrato is one note: its dips of level come and go slowly, again and again."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.listen import FaultKind, answer_take
from reedpath.listen.own_partials import HOP_SECONDS, OwnLevel
from reedpath.listen.wavering import Waver, slow_dips, waver_of
from support.built_routes import built_route
from support.glued_takes import Fault, Kind, Manner, clean, faulted, glue, perform, room, under, wavering
from support.sample_bank import FLUID_BANK

NEEDS_BANK = pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
AT = np.arange(0.0, 1.2, HOP_SECONDS)
# eight notes of a second, as far as they go a third of their tempo
ROUTE = built_route("4d:1 5d:1 6b:1 4d':1 4b:1 3d'':1 3d:1 2d:1", key="A", bpm=60)
NO_PLAY, PLAYS = Waver(in_play=False), Waver(in_play=True)


def level(decibels) -> OwnLevel:
    return OwnLevel(0.0, np.asarray(decibels, dtype=np.float32))


def swinging(hz, decibels, seconds=1.2):
    at = np.arange(0.0, seconds, HOP_SECONDS)
    return level(-20.0 - decibels * (1 - np.cos(2 * np.pi * hz * at)) / 2)


def tongued(*times, seconds=0.04, decibels=16.0):
    stopped = np.any([np.abs(AT - at) < seconds / 2 for at in times], axis=0)
    return level(np.where(stopped, -20.0 - decibels, -20.0))


@pytest.mark.parametrize("hz", [3.0, 5.0, 8.0])
@pytest.mark.parametrize("decibels", [4.0, 10.0, 14.0])
def test_the_dips_of_a_vibrato_are_slow(hz, decibels):
    dips = slow_dips(swinging(hz, decibels), 0.05, 1.15)
    assert np.diff(dips) == pytest.approx(1 / hz, abs=0.02)
    assert len(dips) >= 3


def test_a_tongue_stops_at_once():
    assert slow_dips(tongued(0.3, 0.6, 0.9), 0.05, 1.15) == []


def test_strikes_at_the_dips_of_a_vibrato_are_none():
    strikes = [0.14, 0.35, 0.54, 0.93]
    assert NO_PLAY.without_its_dips(strikes, swinging(5.0, 10.0), 0.05, 1.15) == []


def test_a_strike_within_a_vibrato_is_one():
    both = level(np.minimum(swinging(5.0, 10.0).level_db, tongued(0.62, decibels=26.0).level_db))
    assert NO_PLAY.without_its_dips([0.35, 0.64, 0.93], both, 0.05, 1.15) == [0.64]


def test_one_slow_dip_is_of_a_vibrato_only_if_the_player_has_one():
    dip = level(-20.0 - 14.0 * np.exp(-(((AT - 0.6) / 0.06) ** 2)))
    assert NO_PLAY.without_its_dips([0.63], dip, 0.05, 1.15) == [0.63]
    assert PLAYS.without_its_dips([0.63], dip, 0.05, 1.15) == []


def test_notes_taken_together_tell_whether_the_player_has_one():
    short = swinging(5.0, 8.0, 0.5)
    assert waver_of([(short, 0.05, 0.45)] * 4).in_play
    assert not waver_of([(short, 0.05, 0.45)]).in_play
    assert not waver_of([(tongued(0.3, 0.5, 0.7, 0.9), 0.05, 1.15)] * 4).in_play
    swells = level(-20.0 - 10.0 * sum(np.exp(-(((AT - at) / 0.05) ** 2)) for at in (0.15, 0.35, 1.0)))
    assert not waver_of([(swells, 0.05, 1.15)] * 4).in_play


def test_a_dip_whose_bottom_a_room_parts_is_one():
    parted = swinging(5.0, 10.0, 0.75)
    at = np.arange(len(parted.level_db)) * HOP_SECONDS
    bumps = sum(5.0 * np.exp(-(((at - middle) / 0.015) ** 2)) for middle in (0.1, 0.5))
    rough = level(parted.level_db + bumps)
    assert len(slow_dips(rough, 0.02, 0.73)) == 5  # of three
    assert waver_of([(rough, 0.02, 0.73)] * 2).in_play


@NEEDS_BANK
@pytest.mark.parametrize("condition", [clean, room], ids=["clean", "room"])
@pytest.mark.parametrize("factor", [0.5, 1.3])
def test_notes_held_with_a_vibrato_are_not_counted_twice(condition, factor):
    rng = np.random.default_rng(5)
    deeds = wavering(perform(ROUTE, rng, manner=Manner(factor=factor)), rng, decibels=(10.0, 12.0))
    answer = answer_take(under(glue(ROUTE, deeds, rng), condition, rng).samples, ROUTE)
    (play,) = answer.plays
    assert [one.event for one in play.events if one.faults] == []
    assert play.extras == ()


@pytest.mark.slow
@NEEDS_BANK
def test_a_note_struck_twice_is_counted_twice_with_a_vibrato_too():
    rng = np.random.default_rng(6)
    deeds = wavering(perform(ROUTE, rng, manner=Manner(factor=0.7)), rng, decibels=(8.0, 8.0))
    deeds = faulted(faulted(deeds, Fault(Kind.TWICE, 2)), Fault(Kind.AGAIN, 5))
    answer = answer_take(under(glue(ROUTE, deeds, rng), room, rng).samples, ROUTE)
    told = {one.event: [fault.kind for fault in one.faults] for one in answer.plays[0].events if one.faults}
    assert told == {2: [FaultKind.EXTRA], 5: [FaultKind.EXTRA]}
