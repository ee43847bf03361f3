"""Pieces: the stretches of a performance that each hold one move, in seconds.

A route event is one piece, or several where a bend or slide crosses holes. What leads in is played on the
beat, out of the time of its note, as grace notes are (`reedpath.phrase.performance`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from reedpath.arrange import Choice, Route
from reedpath.harp import Breath, Embouchure, Move
from reedpath.phrase import Event, Timing
from reedpath.sound.metre_grid import bar_starts
from reedpath.sound.performance_data import PerformanceData
from reedpath.sound.tones import Vibrato

__all__ = ["Piece", "Span", "pieces_of", "span_of"]


@dataclass(frozen=True, slots=True)
class Span:
    """When something sounds, in seconds."""

    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class Piece:
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


def span_of(event: Event, timing: Timing) -> Span:
    """When an event sounds, by the timing alone."""
    return Span(timing.seconds_at(event.onset), timing.seconds_at(event.end))


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


def _with_leads(main: Piece, choice: Choice, data: PerformanceData) -> list[Piece]:
    before, after = choice.lead_in, choice.lead_out
    if not before and not after:
        return [main]
    most = data.time.most_lead_share * main.duration_seconds / (len(before) + len(after))
    each = min(data.time.lead_each, most)
    start = main.start_seconds + each * len(before)
    end = main.end_seconds - each * len(after)
    lead = replace(main, force=main.force + data.force.lead, starts_bent=0, ends_bent=0, vibrato=None, accented=False)
    pieces = [
        replace(
            lead,
            move=move,
            start_seconds=main.start_seconds + each * index,
            end_seconds=main.start_seconds + each * (index + 1),
            accented=main.accented and index == 0,
            slapped=main.slapped and index == 0,
        )
        for index, move in enumerate(before)
    ]
    pieces.append(
        replace(
            main,
            start_seconds=start,
            end_seconds=end,
            accented=main.accented and not before,
            slapped=main.slapped and not before,
        )
    )
    pieces += [
        replace(
            lead,
            move=move,
            start_seconds=end + each * index,
            end_seconds=end + each * (index + 1),
            slapped=False,
        )
        for index, move in enumerate(after)
    ]
    return pieces


def pieces_of(route: Route, timing: Timing, data: PerformanceData, *, slap_accents: bool = False) -> list[Piece]:
    """All pieces of a route, in order; silent events leave none.

    slap_accents : whether every accented single note is slapped, not only those played tongue-blocked.
    """
    phrase = route.phrase
    end = phrase.end
    firsts = set(bar_starts(phrase, end))
    pieces: list[Piece] = []
    for index, one in enumerate(route.events):
        choice, event = one.choice, one.event
        move = choice.move
        if move is None:
            continue
        span = span_of(event, timing)
        accented = event.ornaments.accent
        blocked = slap_accents or move.embouchure is Embouchure.TONGUE
        main = Piece(
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
        pieces += _with_leads(main, choice, data)
    return pieces
