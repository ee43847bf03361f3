"""The picture of a take, as data: its pitch in the ribbon's own terms, hole and semitones against beats.

Seconds become beats by the play-through's own tempo, so that what is late lies right of where it is written, and a
pause takes no room. The hole is that of the move that sounds; semitones count from the natural note of its breath,
so that a bend lies as deep as it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.harp import Move
from reedpath.hear import HOP_SECONDS, PitchCurve
from reedpath.listen.answer import Answer, EventAnswer, PlayAnswer, plays_of_parts
from reedpath.listen.answer_kinds import Verdict
from reedpath.listen.expected import sounding_midi
from reedpath.listen.reeds import ReedState
from reedpath.phrase import BeatTimes, beat_times

Float64 = npt.NDArray[np.float64]

# semitones off every hole of a move beyond which a frame is not drawn: the tracker's slip, not the player's pitch
BEYOND = 3.5
# seconds at either end in which the neighbours sound into hear's windows
EDGE_SECONDS = 0.03


@dataclass(frozen=True, slots=True, eq=False)
class TakeStroke:
    """One stretch of sound.

    event : index of the route's event, None for a sound that belongs to none.
    hole : on whose cord it is drawn. move : that sounds it.
    beats, semitones : its course, each of shape (frames,), NaN where there is none.
    is_right : whether nothing is wrong with it.
    """

    event: int | None
    hole: int
    move: Move
    beats: Float64
    semitones: Float64
    is_right: bool


@dataclass(frozen=True, slots=True, eq=False)
class TakeCurve:
    """One play-through as strokes in order of time, the events that are missing, and the holes that are silent in
    an event of several: (event, hole).
    """

    strokes: tuple[TakeStroke, ...]
    missed: tuple[int, ...]
    silent: tuple[tuple[int, int], ...] = ()


def _own_beats(route: Route, play: PlayAnswer) -> BeatTimes:
    """Beats of the route in the player's own time: the onset of each event, and the end of the last."""
    placed = play.play.events
    seconds = [one.due_seconds for one in placed]
    beats = [float(route.phrase.events[one.event].onset) for one in placed]
    last = route.phrase.events[placed[-1].event]
    step = [one for one in range(1, len(beats)) if beats[one] > beats[one - 1]]
    rate = np.median([(seconds[i] - seconds[i - 1]) / (beats[i] - beats[i - 1]) for i in step]) if step else 0.6
    seconds.append(seconds[-1] + float(rate) * float(last.duration))
    beats.append(float(last.end))
    kept = [0, *(one for one in range(1, len(seconds)) if seconds[one] > seconds[one - 1])]
    return beat_times((beats[one], seconds[one]) for one in kept)


def _beats_at(clock: BeatTimes, seconds: Float64) -> Float64:
    return np.array([clock.beats_at(moment) for moment in seconds.tolist()], dtype=np.float64)


def _stroke(
    route: Route,
    clock: BeatTimes,
    curve: PitchCurve,
    move: Move,
    times: tuple[float, float],
    *,
    event: int | None,
    is_right: bool,
    tuned_cents: float,
) -> TakeStroke:
    edge = min(EDGE_SECONDS, 0.2 * (times[1] - times[0]))
    part = curve.span(times[0] + edge, times[1] - edge)
    midi = part.midi - tuned_cents / 100.0
    naturals = [sounding_midi(route.harp, Move((hole,), move.breath))[0] for hole in move.holes]
    wanted = sounding_midi(route.harp, move)
    middle = float(np.nanmedian(midi)) if part.voiced.any() else wanted[0]
    reed = min(range(len(wanted)), key=lambda one: abs(wanted[one] - middle))
    semitones = midi - naturals[reed]
    level = wanted[reed] - naturals[reed]
    semitones = np.where(np.abs(semitones - level) > BEYOND, np.nan, semitones)
    return TakeStroke(event, move.holes[reed], move, _beats_at(clock, part.seconds), semitones, is_right)


def _reed_strokes(route: Route, clock: BeatTimes, one: EventAnswer) -> list[TakeStroke]:
    """A level line for each reed of an event that sounds but the one whose pitch is drawn as it runs."""
    count = max(2, round((one.end_seconds - one.start_seconds) / HOP_SECONDS))
    beats = _beats_at(clock, np.linspace(one.start_seconds, one.end_seconds, count))
    strokes = []
    for reed in one.reeds:
        if reed.state is not ReedState.SOUNDS or (reed.asked and len(one.move.holes) == 1):
            continue
        semitones = np.full(count, (reed.cents or 0.0) / 100.0)
        move = Move((reed.hole,), one.move.breath)
        event = one.event if reed.asked else None
        strokes.append(TakeStroke(event, reed.hole, move, beats, semitones, reed.asked and not one.faults))
    return strokes


def _event_strokes(
    route: Route, clock: BeatTimes, curve: PitchCurve, one: EventAnswer, tuned_cents: float
) -> list[TakeStroke]:
    """What sounds in an event: its pitch as it runs, or its reeds one by one."""
    reeds = _reed_strokes(route, clock, one) if one.verdict is Verdict.PLAYED else []
    if len(one.move.holes) > 1 and reeds:
        return reeds
    right, move = not one.faults, one.heard or one.move
    own = _stroke(route, clock, curve, move, _times(one), event=one.event, is_right=right, tuned_cents=tuned_cents)
    return [own, *reeds]


def _times(one: EventAnswer) -> tuple[float, float]:
    return one.start_seconds, one.end_seconds


def take_curve(play: PlayAnswer, route: Route, curve: PitchCurve, *, tuned_cents: float = 0.0) -> TakeCurve:
    """
    One play-through of a take in the ribbon's terms.

    Parameters
    ----------
    curve : of the take, as `LinedUp.hearing` has it.
    tuned_cents : `Answer.tuned_cents`.
    """
    clock = _own_beats(route, play)
    strokes = [
        stroke
        for one in play.events
        if one.verdict is not Verdict.MISSED and not one.covered
        for stroke in _event_strokes(route, clock, curve, one, tuned_cents)
    ]
    strokes += [
        _stroke(
            route,
            clock,
            curve,
            extra.move,
            (extra.start_seconds, extra.end_seconds),
            event=None,
            is_right=False,
            tuned_cents=tuned_cents,
        )
        for extra in play.extras
        if not extra.leads  # the picture begins with the first event
    ]
    missed = tuple(one.event for one in play.events if one.verdict is Verdict.MISSED)
    silent = tuple(
        (one.event, reed.hole)
        for one in play.events
        if one.verdict is Verdict.PLAYED and len(one.move.holes) > 1
        for reed in one.reeds
        if reed.asked and reed.state is ReedState.SILENT
    )
    ordered = sorted(strokes, key=lambda one: float(one.beats[0]) if len(one.beats) else 0.0)
    return TakeCurve(tuple(ordered), missed, silent)


def answer_curve(answer: Answer, play: PlayAnswer, curve: PitchCurve) -> TakeCurve:
    """The course of a play-through of an answer; of parts told as one, each by the clock of its own play-through."""
    is_one = answer.by_parts is None or not play.is_by_parts
    shown = (play,) if answer.by_parts is None or is_one else plays_of_parts(answer.plays, answer.by_parts)
    curves = [take_curve(one, answer.heard_route, curve, tuned_cents=answer.tuned_cents) for one in shown]
    strokes = [stroke for one in curves for stroke in one.strokes]
    return TakeCurve(
        tuple(sorted(strokes, key=lambda one: float(one.beats[0]) if len(one.beats) else 0.0)),
        tuple(event for one in curves for event in one.missed),
        tuple(pair for one in curves for pair in one.silent),
    )
