"""How much of a play-through is played on in time: a phrase that is not played is found in scraps only."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from reedpath.listen.play_through import Pause
from reedpath.listen.which_route import orderly_share
from support.play_throughs import play_through

EVEN = play_through([(event, 0.5 * event, 0.5 * event + 0.4) for event in range(24)])


def _late(play, seconds: float):
    late = [replace(one, start_seconds=one.start_seconds + seconds * (-1) ** one.event) for one in play.events]
    return replace(play, events=tuple(late))


def test_a_long_play_through_in_time_is_believed_and_a_short_one_half() -> None:
    assert orderly_share(EVEN) == pytest.approx(0.8)
    assert orderly_share(replace(EVEN, events=EVEN.events[:6])) == pytest.approx(0.5)


def test_stops_and_onsets_out_of_time_speak_against_it() -> None:
    stops = tuple(Pause(before, 1.0) for before in (4, 8, 12))
    assert orderly_share(replace(EVEN, pauses=stops)) == pytest.approx(0.5)
    assert orderly_share(_late(EVEN, 0.1)) == pytest.approx(0.8 * 0.3679, rel=1e-3)
    assert orderly_share(_late(EVEN, 0.02)) > 0.6


def test_nothing_heard_is_nothing() -> None:
    assert orderly_share(play_through([(0, 0.0, 0.4)], missed=[0])) == 0.0
