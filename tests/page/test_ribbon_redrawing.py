"""A ribbon drawn again after a change is the one drawn anew, whatever of it was taken over."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from reedpath.arrange import Pin, load_player, settle
from reedpath.harp import make_harp
from reedpath.jobs.sources import demo_source
from reedpath.page import DrawnRibbon, draw_ribbon
from reedpath.phrase import Part, performed
from reedpath.wording import load_catalogue

WORDS = load_catalogue("en")


def pictures(drawn: DrawnRibbon) -> list[str]:
    return [one.svg for one in drawn.systems]


@pytest.mark.slow
def test_a_ribbon_drawn_again_after_each_pin_is_as_one_drawn_anew():
    phrase = performed(demo_source().phrase)
    settled = settle(phrase, make_harp("A"), player=load_player("easy"))
    drawn, kept, moved_spots, same_events = None, 0, 0, 0
    route = settled.route()
    for event in range(len(route.events)):
        ways = settled.others_at(event, route)
        pinned = settled.pinned([Pin(event, ways[0].move)]).route() if ways else route
        before, drawn = drawn, draw_ribbon(pinned, WORDS, layout="phone", before=drawn)
        anew = draw_ribbon(pinned, WORDS, layout="phone")
        assert pictures(drawn) == pictures(anew)
        if before is not None:
            pairs = list(zip(before.systems, drawn.systems, strict=True))
            kept += sum(one is other for one, other in pairs)
            moved_spots += sum(one.shows[-1] != other.shows[-1] for one, other in pairs)
            same_events += sum(one is not other and one.events is other.events for one, other in pairs)
    assert kept
    assert moved_spots
    assert same_events


def test_a_ribbon_drawn_again_for_other_parts_another_harp_or_another_phrase_is_as_one_drawn_anew():
    phrase = performed(demo_source().phrase)
    route = settle(phrase, make_harp("A"), player=load_player("easy")).route()
    part = Part("Z", route.events[1].event.onset, route.events[3].event.end)
    drawn = draw_ribbon(route, WORDS)
    cases = [
        (replace(route, phrase=replace(phrase, parts=(part,))), None),
        (route, [part]),
        (route, None),
        (settle(phrase, make_harp("D"), player=load_player("easy")).route(), None),
        (settle(phrase.moved(12), make_harp("A"), player=load_player("easy")).route(), None),
        (settle(replace(phrase, events=phrase.events[:4]), make_harp("A")).route(), None),
    ]
    for other, parts in cases:
        drawn = draw_ribbon(other, WORDS, parts=parts, before=drawn)
        assert pictures(drawn) == pictures(draw_ribbon(other, WORDS, parts=parts))
