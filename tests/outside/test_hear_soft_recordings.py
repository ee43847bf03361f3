"""A soft recording is heard as a loud one: recorded harmonica notes of the FluidR3 bank (MIT), glued into a take."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.hear import hear_notes
from reedpath.listen import answer_take
from reedpath.signal import Samples
from support.built_routes import built_route
from support.glued_takes import Manner, glue, perform
from support.sample_bank import FLUID_BANK

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm"),
]

# many notes that are struck again: where one ends and the next begins is told by the attack alone
ROUTE = built_route("4d 4d 5b:1 6b 6b 6b 5b 4d 4d 3d' 3d' 2d:1 2d 2d 4b 4b 4d:2", key="A", bpm=96)


@pytest.fixture(scope="module")
def take():
    rng = np.random.default_rng(4)
    return glue(ROUTE, perform(ROUTE, rng, manner=Manner()), rng).samples


def test_a_telephone_held_far_away_makes_no_fault(take):
    loudest = float(np.abs(take.array).max())
    starts = {}
    for peak_db in (-1, -20, -40, -55):
        soft = Samples(take.array * (10 ** (peak_db / 20) / loudest), take.rate)
        answer = answer_take(soft, ROUTE)
        events = answer.plays[answer.best].events
        assert [one.event for one in events if one.faults] == [], peak_db
        starts[peak_db] = [note.start_seconds for note in hear_notes(soft)]
    for peak_db in (-20, -40, -55):
        assert starts[peak_db] == pytest.approx(starts[-1], abs=0.011), peak_db
