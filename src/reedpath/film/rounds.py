"""Rounds: a phrase that a band goes round with, laid out in one row, so that its ribbon is one ribbon."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Route, RouteEvent
from reedpath.phrase import Part, bars, beat_of
from reedpath.sound import BackingLayout, first_metre

__all__ = ["GridBeat", "bar_in_round", "in_a_row", "remaining_beats"]


def in_a_row(route: Route, parts: Sequence[Part], layout: BackingLayout) -> tuple[Route, tuple[Part, ...]]:
    """A route and its parts, once for each round, with the swing that the band has.

    Spots are left out: they are practised apart.
    """
    length, first = layout.round_beats, min((one.event.onset for one in route.events), default=Fraction(0))
    events: list[RouteEvent] = []
    for place, _ in enumerate(layout.rounds):
        shift = place * length
        until = shift + length + first if place + 1 < len(layout.rounds) else None
        for one in route.events:
            onset = one.event.onset + shift
            if until is None or onset < until:
                duration = one.event.duration if until is None else min(one.event.duration, until - onset)
                events.append(replace(one, event=replace(one.event, onset=onset, duration=duration)))
    phrase = replace(
        route.phrase,
        events=tuple(one.event for one in events),
        metres=route.phrase.metres[:1],
        swing=layout.route.phrase.swing,
        parts=(),
        repeats=(),
    )
    shifted = [
        Part(part.label, part.onset + place * length, part.end + place * length)
        for place, _ in enumerate(layout.rounds)
        for part in parts
    ]
    return replace(route, phrase=phrase, events=tuple(events), spots=(), worst=None), tuple(shifted)


@dataclass(frozen=True, slots=True)
class GridBeat:
    """A counted beat; ``bar`` is the bar's number from 1 where it is the bar's first, else 0."""

    onset: Fraction
    bar: int


def remaining_beats(route: Route, layout: BackingLayout) -> Iterator[GridBeat]:
    """The counted beats from the bar after a row of rounds to the end of the last round, its end line included."""
    phrase = route.phrase
    end = phrase.pickup + len(layout.rounds) * layout.round_beats
    for bar in bars(phrase, until=end):
        if bar.onset >= phrase.end and bar.number > 0:
            beat = beat_of(bar.metre)
            for place in range(int((bar.end - bar.onset) / beat)):
                yield GridBeat(bar.onset + place * beat, 0 if place else bar.number)
    yield GridBeat(end, 0)


def bar_in_round(number: int, layout: BackingLayout) -> int:
    """The number in its round, from 1, of a bar counted from 1 through all rounds."""
    return (number - 1) % int(layout.round_beats / first_metre(layout.route.phrase).bar) + 1
