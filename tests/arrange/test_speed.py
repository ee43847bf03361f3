"""Up to which tempo a route can be played."""

from __future__ import annotations

import pytest

from reedpath.arrange import find_route, level_names, load_player
from reedpath.harp import make_harp
from support.built_phrases import line_of


def test_twice_the_tempo_is_half_as_comfortable():
    slow = find_route(line_of("C5 D5 E5 F5 G5 A5", bpm=240), make_harp("C"))
    fast = find_route(line_of("C5 D5 E5 F5 G5 A5", bpm=480), make_harp("C"))
    assert slow.comfortable == pytest.approx(2 * fast.comfortable, rel=0.01)


def test_better_players_are_comfortable_at_higher_tempos():
    phrase = line_of("C5 D5 E5 F5 G5 A5", bpm=240)
    harp = make_harp("C")
    factors = [find_route(phrase, harp, player=load_player(level)).comfortable for level in level_names()]
    assert factors == sorted(factors)
    assert factors[0] < factors[-1]


def test_at_the_comfortable_tempo_nothing_is_rushed_and_just_above_something_is():
    player, harp = load_player(), make_harp("C")
    route = find_route(line_of("C5 D5 C5 F5", bpm=240), harp)

    def without_air(event) -> float:
        return event.effort.total - event.effort.terms.get("air", 0.0)

    def rush(bpm: float) -> float:
        at, slow = (find_route(line_of("C5 D5 C5 F5", bpm=one), harp).events for one in (bpm, 0.01))
        return max(without_air(a) - without_air(b) for a, b in zip(at, slow, strict=True))

    bpm = 240 * route.comfortable
    assert rush(0.99 * bpm) <= player.rush_points < rush(1.01 * bpm)
