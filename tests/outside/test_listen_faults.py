"""Takes glued from recorded harmonica notes (Debian's fluid-soundfont-gm, MIT), faults put in at known places.

The strongest check of an answer is metamorphic: what one change of the take changes in the answer. The full table,
with rooms, backing, hum and telephone, is made by bench/listen_faults.py.
"""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.harp import Breath, Move, sound_of
from reedpath.listen import FaultKind, Verdict, answer_take
from reedpath.signal import Samples
from support.built_routes import built_route
from support.glued_takes import RATE, Fault, Kind, Manner, faulted, glue, hum, perform, phone, room, under
from support.sample_bank import FLUID_BANK
from support.sound_levels import padded

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm"),
]

ROUTE = built_route(
    "2d 3d' 4b:1 4d' 4d 5d 6b:1 r:1/2 6b 5d 4d 4d' 4b 3d' 2d:2 2d 3d'' 3d 4d 5b 6b:1^1 4d:1~ (1 2 3)d:1 2d:2",
    key="A",
    bpm=96,
)
EVENTS = len(ROUTE.events)
# cents and milliseconds by which a faultless event may be measured off in a clean take
CENTS, MILLISECONDS = 8.0, 40.0


def deeds_of(seed=1):
    return perform(ROUTE, np.random.default_rng(seed), manner=Manner(factor=0.85, detuned=0.0, jitter=0.0))


def answered(deeds, *, condition=None, seed=2):
    rng = np.random.default_rng(seed)
    take = glue(ROUTE, deeds, rng)
    if condition is not None:
        take = under(take, condition, rng)
    answer = answer_take(take.samples, ROUTE)
    assert len(answer.plays) == 1
    return answer.plays[0], take


@pytest.mark.parametrize("condition", [None, room, hum, phone], ids=["clean", "room", "hum", "phone"])
def test_a_perfect_take_gives_a_perfect_answer(condition):
    play, take = answered(deeds_of(), condition=condition)
    assert [one.faults for one in play.events] == [()] * EVENTS
    assert not play.extras
    assert not play.practise
    assert not play.spots
    assert play.right_share == 1.0
    assert play.tempo.kept
    assert play.tempo.factor == pytest.approx(0.85, rel=0.01)
    singles = [one for one in play.events if len(one.move.holes) == 1]
    assert max(abs(one.cents) for one in singles) < CENTS
    for one in play.events:
        assert abs(one.start_seconds - take.onset_of(one.event)) * 1000 < MILLISECONDS


def facts(one):
    """What must stay when something else changes; onsets by the centisecond, since the tempo is fitted to all."""
    return one.verdict, one.heard, [fault.kind for fault in one.faults]


FAULTS = [
    Fault(Kind.FLAT, 3, 20.0),
    Fault(Kind.FLAT, 1, 58.0),
    Fault(Kind.WRONG, 9, 0.0, Move((4,), Breath.BLOW)),
    Fault(Kind.WRONG, 1, 0.0, Move((3,), Breath.DRAW)),
    Fault(Kind.MISSING, 6),
    Fault(Kind.MISSING, 13),
    Fault(Kind.LATE, 8, 0.1),
    Fault(Kind.TWICE, 6),
    Fault(Kind.AGAIN, 4),
]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.kind} {fault.event}")
def test_one_fault_changes_exactly_the_event_it_touches(fault):
    before, _ = answered(deeds_of())
    after, _ = answered(faulted(deeds_of(), fault))
    changed = [
        one.event for one, other in zip(before.events, after.events, strict=True) if facts(one) != facts(other)
    ]
    assert changed == [fault.event]
    kinds = [found.kind for found in after.events[fault.event].faults]
    wanted = {
        Kind.FLAT: FaultKind.FLAT,
        Kind.WRONG: FaultKind.ANOTHER,
        Kind.MISSING: FaultKind.MISSED,
        Kind.LATE: FaultKind.LATE,
        Kind.TWICE: FaultKind.EXTRA,
        Kind.AGAIN: FaultKind.EXTRA,
    }
    assert kinds == [wanted[fault.kind]]


def test_a_flat_bend_is_measured():
    play, _ = answered(faulted(deeds_of(), Fault(Kind.FLAT, 3, 35.0)))
    one = play.events[3]
    assert one.cents == pytest.approx(-35.0, abs=5.0)
    assert one.bend.wanted_semitones == pytest.approx(1.0)
    assert one.bend.reached_semitones == pytest.approx(1.35, abs=0.05)


def test_the_straight_reed_in_place_of_its_bend_is_named():
    play, _ = answered(faulted(deeds_of(), Fault(Kind.WRONG, 1, 0.0, Move((3,), Breath.DRAW))))
    one = play.events[1]
    assert one.verdict is Verdict.ANOTHER
    assert one.heard == Move((3,), Breath.DRAW)
    assert one.cents == pytest.approx(100.0, abs=10.0)
    assert one.heard_cents == pytest.approx(0.0, abs=10.0)


@pytest.mark.parametrize("seconds", [0.1, 0.137, 3.0])
def test_shifting_a_take_in_time_leaves_the_answer(seconds):
    take = glue(ROUTE, faulted(deeds_of(), Fault(Kind.FLAT, 3, 35.0)), np.random.default_rng(2))
    (first,), (second,) = (
        answer_take(sound, ROUTE).plays for sound in (take.samples, padded(take.samples, before_seconds=seconds))
    )
    assert [facts(one) for one in first.events] == [facts(one) for one in second.events]
    for one, other in zip(first.events, second.events, strict=True):
        assert other.start_seconds - one.start_seconds == pytest.approx(seconds, abs=0.011)
        assert other.cents == pytest.approx(one.cents, abs=2.0)


def test_a_harp_at_another_pitch_is_allowed_for():
    take = glue(ROUTE, deeds_of(), np.random.default_rng(2))
    sharp = Samples(
        np.interp(np.arange(0, take.samples.frames - 1, 2 ** (20 / 1200)), np.arange(take.samples.frames),
                  take.samples.array[:, 0]), RATE)  # fmt: skip
    answer = answer_take(sharp, ROUTE)
    assert answer.tuned_cents == pytest.approx(20.0, abs=2.0)
    assert all(not one.faults for one in answer.plays[0].events)


def test_each_event_of_a_chord_and_a_glide_is_told():
    play, _ = answered(deeds_of())
    glide = next(one for one in play.events if one.attack is not None)
    assert glide.attack.heard_semitones == pytest.approx(glide.attack.wanted_semitones, abs=0.35)
    chord = next(one for one in play.events if len(one.move.holes) > 1)
    assert chord.verdict is Verdict.PLAYED
    shaken = play.events[20]
    assert shaken.vibrato is not None
    assert shaken.vibrato.hz == pytest.approx(5.2, abs=0.4)


def test_air_is_reckoned_from_what_sounded():
    whole, _ = answered(deeds_of())
    missing, _ = answered(faulted(deeds_of(), Fault(Kind.MISSING, 13)))
    assert sound_of(ROUTE.harp, ROUTE.events[13].choice.move).move.breath is Breath.DRAW
    assert missing.air.net_litres < whole.air.net_litres - 0.1


@pytest.mark.parametrize("event", [4, 5, 6, 7])
def test_which_note_of_one_pitch_was_played_again_does_not_hang_on_rounding(event):
    route = built_route("4b 4d 3d 4b 1b:1/2 1b:1/2 1b:1 1b:1 1d 2d' 2d 3d' 3b 4b 4d 5d", key="C", bpm=100)
    rng = np.random.default_rng(3)
    sound = glue(route, faulted(perform(route, rng), Fault(Kind.AGAIN, event)), rng).samples
    told = []
    for seed in range(3):
        noise = np.random.default_rng(seed).normal(0.0, 1e-7 if seed else 0.0, sound.array.shape)
        (play,) = answer_take(Samples((sound.array + noise).astype(np.float32), RATE), route).plays
        told.append([(one.event, fault.kind) for one in play.events for fault in one.faults])
    assert told[0] == told[1] == told[2]
    ((again, kind),) = told[0]
    assert kind is FaultKind.EXTRA
    assert again in {4, 5, 6, 7}
