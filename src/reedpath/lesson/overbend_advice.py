"""Advice on overblows and overdraws: what the first of a lesson asks of the harp and of the player."""

from __future__ import annotations

from collections.abc import Iterator

from reedpath.arrange import Route, RouteEvent
from reedpath.harp import Alteration, Move
from reedpath.lesson.sentences import Speaker


def overbends_of(one: RouteEvent) -> Iterator[Move]:
    """The overblows and overdraws of an event, runs into and out of it included."""
    return (move for move in one.choice.moves if move.alteration.is_overbend)


def first_overbends(route: Route) -> dict[int, tuple[Alteration, ...]]:
    """The events that bring an overblow or an overdraw for the first time, and which of the two."""
    firsts: dict[Alteration, int] = {}
    for index, one in enumerate(route.events):
        for move in overbends_of(one):
            firsts.setdefault(move.alteration, index)
    return {index: tuple(kind for kind, at in firsts.items() if at == index) for index in firsts.values()}


def advice_sentences(route: Route, kind: Alteration, speaker: Speaker, *, caution: bool) -> Iterator[str]:
    """What all overblows, or all overdraws, of a route ask: which reeds do what, the mouth, the caution."""
    holes = sorted({move.holes[0] for one in route.events for move in overbends_of(one) if move.alteration is kind})
    named = speaker.catalogue.join(holes)
    yield speaker.sentence(f"advice.{kind}_harp", count=len(holes), holes=named)
    yield speaker.sentence(f"advice.{kind}_player")
    if caution:
        yield speaker.sentence("advice.caution")
