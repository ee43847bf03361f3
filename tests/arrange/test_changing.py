"""A route that is changed by hand: what is changed is played so, all else as it was, priced as any other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.arrange import Pin, find_route, load_player, load_weights, rounded, settle, with_moves
from reedpath.arrange.bringing_in import plays
from reedpath.errors import SettingsError
from reedpath.harp import make_harp, parse_move, reach_of
from reedpath.phrase import performed
from support.built_phrases import line_of
from support.examples import examples
from support.short_phrases import short_phrases


def cost_of(route) -> float:
    return route.effort.total + load_weights().fit.price_points * (1 - route.truth) * len(route.events)


@examples(60)
@given(
    phrase=short_phrases(most_events=5), level=st.sampled_from(["first-months", "steady", "advanced"]), data=st.data()
)
def test_what_is_changed_is_played_so_and_nothing_else(phrase, level, data):
    harp, player = make_harp("C"), load_player(level)
    route = find_route(phrase, harp, player=player)
    same = with_moves(route, {})
    assert [one.choice for one in rounded(same).events] == [one.choice for one in rounded(route).events]
    assert cost_of(same) == pytest.approx(cost_of(route), abs=1e-6)
    index = data.draw(st.integers(0, len(route.events) - 1))
    move = data.draw(st.sampled_from(reach_of(harp.tuning).single))
    changed = with_moves(route, {index: move})
    assert plays(changed.events[index].choice.move, move)
    for place, (one, was) in enumerate(zip(changed.events, route.events, strict=True)):
        # what a change loses of the line may be another now
        if place != index:
            assert replace(one.choice, changes=()) == replace(was.choice, changes=())
            assert [c.kind for c in one.choice.changes] == [c.kind for c in was.choice.changes]
    pins = [Pin(place, one.choice.move) for place, one in enumerate(changed.events) if one.choice.move is not None]
    if len(pins) == len(changed.events):
        assert cost_of(changed) >= settle(performed(phrase), harp, player=player, pins=pins).cost - 1e-6


def test_what_cannot_be_changed_so_is_told():
    route = find_route(line_of("C5 E5"), make_harp("C"))
    for moves in ({2: parse_move("4")}, {0: parse_move("-9'")}):
        with pytest.raises(SettingsError):
            with_moves(route, moves)
