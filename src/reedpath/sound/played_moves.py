"""Played moves: the stretches of a performance that each hold one move, in seconds, and the numbers of a performance.

A route event is one played move, or several where a bend or slide crosses holes. What leads in is played on the
beat, out of the time of its note, as grace notes are (`reedpath.phrase.performance`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import pairwise
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.arrange import Choice, Route
from reedpath.data import read_toml, shipped_text
from reedpath.harp import Breath, Embouchure, Move
from reedpath.phrase import Event, Timing, bars
from reedpath.sound.tones import Vibrato

# seconds; longer than anything done to one note
Seconds = Annotated[float, Meta(ge=0, le=10)]
Share = Annotated[float, Meta(ge=0, le=1)]
# how hard, or how much harder
Force = Annotated[float, Meta(ge=-1, le=1)]


class TimeNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """Gaps, glides and leads; what each number means stands in `performance.toml`."""

    tongued_gap: Seconds
    turned_gap: Seconds
    most_gap_share: Share
    slurred_overlap: Seconds
    bound_within: Seconds
    hole_glide: Seconds
    most_glide_share: Share
    attack_hold: Seconds
    attack_glide: Seconds
    fall_glide: Seconds
    fall_hold: Seconds
    most_bend_share: Share
    lead_each: Seconds
    most_lead_share: Share
    slap: Seconds


class ForceNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """How hard things are played."""

    plain: Force
    first_beat: Force
    accent: Force
    grace: Force
    lead: Force
    slap: Force
    swell: Force
    chord_db: Annotated[float, Meta(ge=0, le=24)]


class PerformanceData(Struct, frozen=True, forbid_unknown_fields=True):
    """All numbers of a performance."""

    time: TimeNumbers
    force: ForceNumbers


def parse_performance(text: str) -> PerformanceData:
    """Read the numbers of a performance; errors name file, key and value."""
    return read_toml(text, PerformanceData, file="performance.toml")


@cache
def load_performance() -> PerformanceData:
    """The performance that ships with the program."""
    return parse_performance(shipped_text("reedpath.sound", "performance.toml"))


@dataclass(frozen=True, slots=True)
class SoundSpan:
    """When something sounds, in seconds."""

    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class PlayedMove:
    """A stretch that holds one move.

    event : index of the route event.
    force : 0 to 1.
    starts_bent, ends_bent : semitones, 0 or negative: attacked so far bent and let go, pressed down so far.
    vibrato : what shakes it.
    accented : whether it is struck, never glided into.
    slapped : whether a slap's chord comes before it.
    """

    move: Move
    start_seconds: float
    end_seconds: float
    event: int
    force: float
    starts_bent: float = 0.0
    ends_bent: float = 0.0
    vibrato: Vibrato | None = None
    accented: bool = False
    slapped: bool = False

    @property
    def duration_seconds(self) -> float:
        """Its length."""
        return self.end_seconds - self.start_seconds


def span_of(event: Event, timing: Timing) -> SoundSpan:
    """When an event sounds, by the timing alone."""
    return SoundSpan(timing.seconds_at(event.onset), timing.seconds_at(event.end))


def _force(event: Event, place: float, firsts: set[Fraction], data: PerformanceData) -> float:
    """How hard an event is played, ``place`` being 0 at the phrase's start and 1 at its end."""
    force = data.force.plain + data.force.swell * (1.0 - abs(2.0 * place - 1.0))
    force += data.force.first_beat if event.onset in firsts else 0.0
    force += data.force.accent if event.ornaments.accent else 0.0
    force += data.force.grace if event.grace else 0.0
    return min(1.0, max(0.0, force))


def _vibrato(event: Event, move: Move) -> Vibrato | None:
    """The throat shakes what is drawn, the hands what is blown (our choice)."""
    if not event.ornaments.vibrato:
        return None
    return Vibrato.THROAT if move.breath is Breath.DRAW else Vibrato.HAND


def _with_leads(main: PlayedMove, choice: Choice, data: PerformanceData) -> list[PlayedMove]:
    before, after = choice.lead_in, choice.lead_out
    if not before and not after:
        return [main]
    most = data.time.most_lead_share * main.duration_seconds / (len(before) + len(after))
    each = min(data.time.lead_each, most)
    end = main.end_seconds - each * len(after)
    lead = replace(main, force=main.force + data.force.lead, starts_bent=0, ends_bent=0, vibrato=None)
    rows = [*((lead, move) for move in before), (main, main.move), *((lead, move) for move in after)]
    borders = [main.start_seconds + each * index for index in range(len(before) + 1)]
    borders += [end + each * index for index in range(len(after) + 1)]
    return [
        replace(
            like,
            move=move,
            start_seconds=start,
            end_seconds=stop,
            accented=main.accented and index == 0,
            slapped=main.slapped and index == 0,
        )
        for index, ((like, move), (start, stop)) in enumerate(zip(rows, pairwise(borders), strict=True))
    ]


def played_moves_of(
    route: Route, timing: Timing, data: PerformanceData, *, slap_accents: bool = False
) -> list[PlayedMove]:
    """All moves of a route, in order; silent events leave none.

    slap_accents : whether every accented single note is slapped, not only those played tongue-blocked.
    """
    phrase = route.phrase
    end = phrase.end
    firsts = {bar.onset for bar in bars(phrase) if bar.number > 0}
    moves: list[PlayedMove] = []
    for index, one in enumerate(route.events):
        choice, event = one.choice, one.event
        move = choice.move
        if move is None:
            continue
        span = span_of(event, timing)
        accented = event.ornaments.accent
        blocked = slap_accents or move.embouchure is Embouchure.TONGUE
        main = PlayedMove(
            move,
            span.start_seconds,
            span.end_seconds,
            index,
            _force(event, float(event.onset / end), firsts, data),
            starts_bent=choice.attack_semitones,
            ends_bent=choice.fall_semitones,
            vibrato=_vibrato(event, move),
            accented=accented,
            slapped=accented and blocked and len(move.holes) == 1 and move.holes[0] > 1,
        )
        moves += _with_leads(main, choice, data)
    return moves
