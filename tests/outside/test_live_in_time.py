"""How soon a move is named live, on takes glued from recorded harmonica notes (Debian's fluid-soundfont-gm, MIT).

The tables, with more routes and harps, are made by bench/listen_live.py.
"""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.harp import sound_of
from reedpath.listen import LiveListener
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, clean, glue, hum, perform, phone, room, under
from support.sample_bank import FLUID_BANK

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm"),
]

BLOCK = round(0.005 * RATE)
ROUTE = built_route(
    "2d:1 3d' 4b:1 4d' 4d 5d 6b:1 r:2 6b 5d 4d 4d' 4b 3d' 2d:2 1b 1d 2d'' 3d'' 3d 4d 5b 6b:1 7d 7b 8d 9b 10b 8b:1 "
    "r:2 4d:1",
    key="A",
    bpm=90,
)
CHORDS = built_route("4b:1 (4 5)b:1 5b:1 (3 4)d:1 4d:1 (2 3)d:1 6b:1 (5 6)b:1 5b:1", key="C", bpm=90)


def heard(route, condition, seed=3):
    """The take, when each value was out, its moment and the pitches named."""
    rng = np.random.default_rng(seed)
    take = under(glue(route, perform(route, rng, manner=Manner(slide=0.0)), rng), condition, rng)
    listener, sound, rows = LiveListener(route.harp, RATE, route=route), take.samples.array[:, 0], []
    for at in range(0, len(sound), BLOCK):
        for one in listener.feed(sound[at : at + BLOCK]):
            rows.append(((at + BLOCK) / RATE, one.seconds, sound_of(route.harp, one.move).midi if one.move else None))
    out, moment, named = zip(*rows, strict=True)
    return take, np.array(out), np.array(moment), named


@pytest.mark.parametrize(
    ("condition", "least_share"),
    [(clean, 0.9), (room, 0.75), (hum, 0.9), (phone, 0.9)],
    ids=["clean", "room", "hum", "phone"],
)
def test_moves_are_named_within_thirty_milliseconds_and_stay(condition, least_share):
    take, out, moment, named = heard(ROUTE, condition)
    late, held, silent = [], [], np.ones(len(out), bool)
    for deed, onset in zip(take.deeds, take.onsets, strict=True):
        wanted = sound_of(ROUTE.harp, deed.move).midi
        late.append(next(at for at, one in zip(out, named, strict=True) if at > onset and one == wanted) - onset)
        first, last = np.searchsorted(moment, (onset + 0.06, deed.end - 0.03))
        held += [one == wanted for one in named[first:last]]
        silent &= ~((moment > deed.start - 0.02) & (moment < deed.end + 0.15))
    assert np.median(late) < 0.025
    assert np.mean(np.array(late) < 0.03) >= least_share
    assert np.mean(held) > 0.995
    assert silent.sum() > 200
    assert np.mean([named[place] is not None for place in np.flatnonzero(silent)]) < 0.01


@pytest.mark.parametrize("condition", [clean, room, hum, phone], ids=["clean", "room", "hum", "phone"])
def test_double_stops_are_named_within_a_tenth_of_a_second_and_stay(condition):
    take, out, _, named = heard(CHORDS, condition)
    for deed, onset in zip(take.deeds, take.onsets, strict=True):
        wanted = sound_of(CHORDS.harp, deed.move).midi
        first, last = np.searchsorted(out, (onset + 0.12, deed.end - 0.01))
        assert np.mean([one == wanted for one in named[first:last]]) > 0.95
