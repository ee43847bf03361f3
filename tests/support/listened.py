"""Answers and pitch curves made by hand, without any sound, for tests of what is done with them."""

from __future__ import annotations

import numpy as np

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.harp import Move, sound_of
from reedpath.hear import HOP_SECONDS, PitchCurve
from reedpath.listen import (
    Answer,
    EventAnswer,
    Extra,
    Fault,
    FaultKind,
    PlacedEvent,
    PlayAnswer,
    PlayThrough,
    TempoHeard,
    Verdict,
)
from reedpath.listen.advice import failed_spots, practise_of
from reedpath.listen.tempo_and_breath import breath_of_play
from reedpath.phrase import timing_of


def perfect_event(route: Route, index: int, start: float) -> EventAnswer:
    timing, one = timing_of(route.phrase), route.events[index]
    at = start + timing.seconds_at(one.event.onset)
    return EventAnswer(
        event=index,
        move=one.choice.move,
        verdict=Verdict.PLAYED,
        heard=one.choice.move,
        start_seconds=at,
        end_seconds=start + timing.seconds_at(one.event.end),
        cents=0.0,
        heard_cents=0.0,
        bend=None,
        attack=None,
        fall=None,
        unsteady_cents=1.0,
        vibrato=None,
        late_seconds=0.0,
        late_beats=0.0,
        held_share=1.0,
        confidence=1.0,
        faults=(),
    )


def with_fault(one: EventAnswer, kind: FaultKind, amount: float, *, heard: Move | None = None) -> EventAnswer:
    fault = Fault(kind, amount, 1.0 if kind in (FaultKind.MISSED, FaultKind.ANOTHER) else 0.5)
    faults = (*one.faults, fault)
    if kind is FaultKind.MISSED:
        return replace(one, verdict=Verdict.MISSED, heard=None, cents=None, late_seconds=None, faults=faults)
    if kind is FaultKind.ANOTHER:
        return replace(one, verdict=Verdict.ANOTHER, heard=heard, faults=faults)
    if kind is FaultKind.SWAPPED:
        return replace(one, verdict=Verdict.ANOTHER, heard=heard, faults=faults, swapped_with=one.event + 1)
    if kind in (FaultKind.FLAT, FaultKind.SHARP):
        return replace(one, cents=-amount if kind is FaultKind.FLAT else amount, faults=faults)
    if kind is FaultKind.LATE:
        late = amount / 1000
        return replace(one, start_seconds=one.start_seconds + late, late_seconds=late, faults=faults)
    return replace(one, faults=faults)


def built_answer(
    route: Route,
    changes: dict[int, tuple[FaultKind, float] | tuple[FaultKind, float, Move]] | None = None,
    *,
    extras: tuple[Extra, ...] = (),
    start: float = 0.5,
) -> Answer:
    """The answer to a take that is perfect but for the changes, by index of event."""
    timing = timing_of(route.phrase)
    events = []
    for index in range(len(route.events)):
        one = perfect_event(route, index, start)
        if changes and index in changes:
            kind, amount, *heard = changes[index]
            one = with_fault(one, kind, amount, heard=heard[0] if heard else None)
        events.append(one)
    placed = tuple(
        PlacedEvent(one.event, one.start_seconds, one.end_seconds, one.verdict is not Verdict.MISSED,
               start + timing.seconds_at(route.events[one.event].event.onset), 1.0, 1.0)
        for one in events
    )  # fmt: skip
    play = PlayThrough(start, events[-1].end_seconds, 1.0, placed, True, (), (), 1.0)
    right = sum(not one.faults for one in events) / len(events)
    answered = PlayAnswer(
        play=play,
        events=tuple(events),
        extras=extras,
        tempo=TempoHeard(1.0, timing.bpm_at(0), 0.0, True, 5.0),
        air=breath_of_play(events),
        practise=practise_of(events),
        spots=failed_spots(route, events),
        right_share=right,
    )
    return Answer(
        route=route,
        duration_seconds=events[-1].end_seconds + 1.0,
        plays=(answered,),
        best=0,
        tuned_cents=0.0,
        notices=(),
    )


def built_curve(answer: Answer) -> PitchCurve:
    """The pitch curve of a hand-made answer: each event at its pitch, off by its cents."""
    seconds = np.arange(0, answer.duration_seconds, HOP_SECONDS)
    hz = np.full(len(seconds), np.nan)
    play = answer.plays[answer.best]
    sounds = [(one.start_seconds, one.end_seconds, one.heard, one.cents or 0.0) for one in play.events if one.heard]
    sounds += [(one.start_seconds, one.end_seconds, one.move, one.cents) for one in play.extras]
    for start, end, move, cents in sounds:
        inside = (seconds >= start) & (seconds < end - 0.02)
        hz[inside] = sound_of(answer.route.harp, move).hz[0] * 2 ** (cents / 1200)
    voiced = ~np.isnan(hz)
    return PitchCurve(seconds, hz, voiced.astype(float), voiced, np.where(voiced, -20.0, -90.0))
