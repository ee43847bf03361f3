"""A student who plays along with a loud band is not told of leaks: recorded harmonica notes, and a band, both of the
FluidR3 bank (MIT)."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.lesson import Rung
from reedpath.listen import FaultKind, Notice, answer_take
from reedpath.signal import Samples
from reedpath.sound import Backing, Turns, play_with_band
from support.built_routes import built_lesson, built_route
from support.glued_takes import RATE, Manner, glue, perform
from support.sample_bank import FLUID_BANK

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm"),
]

TEXT = "2d 3d' 4b:1 4d 5d 6b:1 6b 5d 4d 4d' 4b 3d' 2d:2 " * 3


def test_what_the_band_plays_is_not_held_against_the_student():
    route = built_route(TEXT, key="A", bpm=92)
    rng = np.random.default_rng(2)
    take = glue(route, perform(route, rng, manner=Manner(factor=1.0)), rng).samples
    backing = Backing(form="twelve-bar", groove="straight", rounds=1, turns=Turns.YOURS, chords="both")
    band = play_with_band(built_lesson(route, factors=(1.0,)), Rung("full", 1.0, 92.0), backing, rate=RATE).mono()
    alone = answer_take(take, route)
    assert Notice.COMPANY not in alone.notices
    harp = take.array[:, 0].astype(float)
    other = np.resize(band.array[round(3.0 * RATE) :, 0].astype(float), len(harp))
    loud = other * (np.sqrt(np.mean(harp**2)) / np.sqrt(np.mean(other**2))) * 10 ** (-3 / 20)
    both = answer_take(Samples((harp + loud).astype(np.float32)[:, np.newaxis] * 0.5, RATE), route)
    assert Notice.COMPANY in both.notices
    play = both.plays[both.best]
    told = [fault.kind for one in play.events for fault in one.faults]
    assert FaultKind.HOLE_TOO_MANY not in told
    assert len(told) <= len(play.events) // 10
