"""Takes of octaves, double stops and leaking single notes, glued reed by reed from recorded harmonica notes (Debian's
fluid-soundfont-gm, MIT). The full table is made by bench/listen_chords.py.
"""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.listen import Verdict, answer_take, holes_heard
from reedpath.signal import resampled
from support.built_routes import built_route
from support.chord_takes import ReedFault, ReedKind, perform_reeds, with_reed_fault
from support.glued_takes import Manner, glue, hum, phone, room, under
from support.sample_bank import FLUID_BANK

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm"),
]

ROUTE = built_route(
    "2d 3d 4d:1 [1 4]d:1 [2 5]d (4 5)d:1 4b (4 5)b:1 5b [4 7]b:1 [3 6]b [1 4]b:1 (1 2 3)d:1 2d 3d' 4b:1 [1 4]d:2",
    key="C",
    bpm=88,
)
# an octave without its upper and without its lower reed, another hole in place of one, one too many, two leaks
FAULTS = (
    ReedFault(ReedKind.LEAK, 2, 0, 5),
    ReedFault(ReedKind.SILENT, 3, 4),
    ReedFault(ReedKind.SILENT, 5, 4),
    ReedFault(ReedKind.OTHER, 9, 7, 8),
    ReedFault(ReedKind.SILENT, 11, 1),
    ReedFault(ReedKind.TOO_MANY, 12, 0, 4),
    ReedFault(ReedKind.LEAK, 14, 0, 2),
)


def answered(faults, condition=None):
    rng = np.random.default_rng(3)
    deeds = perform_reeds(ROUTE, rng, manner=Manner(factor=0.9))
    for fault in faults:
        deeds = with_reed_fault(deeds, fault, rng)
    take = glue(ROUTE, deeds, rng)
    if condition is not None:
        take = under(take, condition, rng)
    (play,) = answer_take(take.samples, ROUTE).plays
    return play, take


@pytest.mark.parametrize("condition", [None, room, hum, phone], ids=["clean", "room", "hum", "phone"])
def test_a_take_without_faults_is_told_none(condition):
    play, _ = answered((), condition)
    assert [one.faults for one in play.events] == [()] * len(ROUTE.events)
    assert not play.extras


@pytest.mark.parametrize("condition", [None, hum, phone], ids=["clean", "hum", "phone"])
def test_every_reed_at_fault_is_told_and_no_other(condition):
    play, _ = answered(FAULTS, condition)
    wrong = {fault.event: fault for fault in FAULTS}
    for one in play.events:
        assert one.verdict is Verdict.PLAYED
        heard, fault = holes_heard(one.reeds), wrong.get(one.event)
        if fault is None:
            assert not one.faults
        elif fault.kind is ReedKind.SILENT:
            assert heard.missing == (fault.asked,)
        elif fault.kind is ReedKind.OTHER:
            assert heard.wrong == ((fault.asked, fault.heard),)
        else:
            assert heard.too_many == (fault.heard,)


def test_the_pitch_of_every_reed_is_told_to_a_cent_or_two():
    play, take = answered(())
    truth = {deed.event: {reed.move.holes[0]: reed.cents + deed.cents for reed in deed.reeds} for deed in take.deeds}
    off = [
        reed.cents - truth[one.event][reed.hole]
        for one in play.events
        for reed in one.reeds
        if reed.cents is not None and not ROUTE.events[one.event].choice.move.semitones
    ]
    assert len(off) > 20
    assert np.median(np.abs(off)) < 0.5
    assert np.max(np.abs(off)) < 3.0


@pytest.mark.parametrize("rate", [2_000, 11_025, 96_000])
def test_any_rate_is_answered(rate):
    play, take = answered(FAULTS)
    answer = answer_take(resampled(take.samples, rate), ROUTE)
    if rate > 8_000:
        told = [one.event for one in answer.plays[0].events if one.faults]
        assert told == [one.event for one in play.events if one.faults]
