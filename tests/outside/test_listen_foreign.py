"""Sound that holds no playing of the lesson: recorded drums, guitar and piano (Debian's sonic-pi-samples, CC0)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reedpath.listen import Notice, answer_take
from reedpath.signal import concatenated, decode, resampled
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, glue, perform
from support.sample_bank import FLUID_BANK

LOOPS = Path("/usr/share/sonic-pi/samples")

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not LOOPS.exists(), reason="needs Debian's sonic-pi-samples"),
]

ROUTES = [
    built_route("2d 3d' 4b:1 4d' 4d 5d 6b:1 6b 5d 4d 4d' 4b 3d' 2d:2", key="A", bpm=96),
    built_route("4b 4d 5b 5d 6b 6d 7d 7b 7b 7d 6d 6b 5d 5b 4d 4b:2", key="C", bpm=100),
]


def loop(name):
    return resampled(decode((LOOPS / f"{name}.flac").read_bytes()).mono(), RATE)


@pytest.mark.parametrize(
    ("name", "notice"),
    [
        ("loop_amen_full", Notice.NO_PITCH),
        ("loop_breakbeat", Notice.NO_PITCH),
        ("loop_compus", Notice.NO_PITCH),
        ("ambi_piano", Notice.OTHER_MUSIC),
        ("guit_e_slide", Notice.OTHER_MUSIC),
    ],
)
@pytest.mark.parametrize("route", ROUTES, ids=["A", "C"])
def test_other_sound_is_said_to_be_other(name, notice, route):
    answer = answer_take(loop(name), route)
    assert answer.plays == ()
    assert notice in answer.notices


@pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm")
@pytest.mark.parametrize("route", ROUTES, ids=["A", "C"])
def test_takes_are_found_between_drums_and_guitar(route):
    rng = np.random.default_rng(4)
    slow, fast = (glue(route, perform(route, rng, manner=Manner(factor=factor)), rng) for factor in (0.6, 1.0))
    drums, guitar = loop("loop_amen_full"), loop("guit_e_slide")
    answer = answer_take(concatenated([drums, slow.samples, guitar, fast.samples, drums]), route)
    assert [one.play.whole for one in answer.plays] == [True, True]
    assert [one.play.tempo_factor for one in answer.plays] == pytest.approx([0.6, 1.0], rel=0.02)
    begins = [
        drums.duration_seconds,
        drums.duration_seconds + slow.samples.duration_seconds + guitar.duration_seconds,
    ]
    for one, take, begin in zip(answer.plays, (slow, fast), begins, strict=True):
        for event in one.play.events:
            assert event.start_seconds - begin == pytest.approx(take.onset_of(event.event), abs=0.06)
