"""A student who plays along with a loud band is not told of leaks: recorded harmonica notes, and a band, both of the
FluidR3 bank (MIT)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reedpath.lesson import Rung
from reedpath.listen import FaultKind, Notice, answer_take
from reedpath.signal import Samples
from reedpath.sound import Backing, Turns, play_with_band
from reedpath.sound.play_alongs import HEAD_SECONDS
from support.built_routes import built_lesson, built_route
from support.glued_takes import RATE, Manner, glue, perform
from support.sample_bank import FLUID_BANK

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm"),
]

TEXT = "2d 3d' 4b:1 4d 5d 6b:1 6b 5d 4d 4d' 4b 3d' 2d:2 " * 3


BPM = 92
ROUTE = built_route(TEXT, key="A", bpm=BPM)
# seconds into the band's sound at which a take begins that plays 0.6 s later: after a bar of count-in, with the band
BEGINS_SECONDS = HEAD_SECONDS + 4 * 60.0 / BPM - 0.6


@pytest.fixture(scope="module")
def band():
    """A band in the key and at the tempo of the route."""
    backing = Backing(form="twelve-bar", groove="straight", rounds=1, turns=Turns.YOURS, chords="both")
    lesson = built_lesson(ROUTE, factors=(1.0,))
    sound = play_with_band(lesson, Rung("full", 1.0, BPM), backing, rate=RATE).mono()
    return sound.array[round(BEGINS_SECONDS * RATE) :, 0].astype(float)


def over(band, take):
    """A take over the band, which is 3 decibels softer."""
    harp = take.array[:, 0].astype(float)
    other = np.resize(band, len(harp))
    loud = other * (np.sqrt(np.mean(harp**2)) / np.sqrt(np.mean(other**2))) * 10 ** (-3 / 20)
    return Samples((harp + loud).astype(np.float32)[:, np.newaxis] * 0.5, RATE)


def test_what_the_band_plays_is_not_held_against_the_student(band):
    rng = np.random.default_rng(2)
    take = glue(ROUTE, perform(ROUTE, rng, manner=Manner(factor=1.0)), rng).samples
    alone = answer_take(take, ROUTE)
    assert Notice.COMPANY not in alone.notices
    both = answer_take(over(band, take), ROUTE)
    assert Notice.COMPANY in both.notices
    play = both.plays[both.best]
    told = [fault.kind for one in play.events for fault in one.faults]
    assert FaultKind.HOLE_TOO_MANY not in told
    assert len(told) <= len(play.events) // 10


@pytest.mark.parametrize(("late", "kind"), [(0.0, None), (0.15, FaultKind.LATE), (-0.15, FaultKind.EARLY)])
def test_a_bend_comes_when_its_natural_note_is_left_over_the_band(band, late, kind):
    rng = np.random.default_rng(2)
    deeds = perform(ROUTE, rng, manner=Manner(factor=1.0))
    moves = [one.choice.move for one in ROUTE.events]
    pairs = [place for place in range(1, len(moves)) if moves[place].holes == moves[place - 1].holes == (4,)]
    bends = [place for place in pairs if moves[place].semitones == -1]
    for place in bends:  # one breath: the recording of the natural note, read slower from then on
        natural, bend = (next(one for one in deeds if one.event == event) for event in (place - 1, place))
        held = bend.start - natural.start + late
        deeds[deeds.index(natural)] = replace(
            natural, end=bend.end, offsets=((0.0, 0.0), (held - 0.02, 0.0), (held + 0.03, -1.0))
        )
        deeds.remove(bend)
    (play,) = answer_take(over(band, glue(ROUTE, deeds, rng).samples), ROUTE).plays
    off = {FaultKind.LATE, FaultKind.EARLY}
    told = [off.intersection(fault.kind for fault in play.events[place].faults) for place in bends]
    assert told == [{kind} if kind else set()] * 3
