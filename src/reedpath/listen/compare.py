"""Comparing: each event of a play-through against what was asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from reedpath.arrange import RouteEvent
from reedpath.harp import Alteration, Move, sound_of
from reedpath.hear import PitchCurve
from reedpath.listen.answer import BendHeard, EventAnswer, Fault, FaultKind, Glide, Verdict
from reedpath.listen.expected import Expected, Score
from reedpath.listen.moves_heard import HeardMove, heard_move
from reedpath.listen.pitch_measure import PitchMeasure, measure_pitch
from reedpath.listen.play_through import LinedUp, PlacedEvent, PlayThrough

__all__ = ["compare_events", "compare_placed", "fault_of", "off_limit", "with_faults"]

# cents off the target that are told: listeners hear about 10 (Hill & Summers, JASA 121, 2007), hear measures to
# about 3 (docs/accuracy.md); a short note is over before its reed has settled. Seconds up to which, and cents:
OFF_CENTS = ((0.1, 45.0), (0.14, 25.0), (float("inf"), 15.0))
# cents off from which it may be another note, from which it must be, and how near that other must lie
MAYBE_ANOTHER, SURELY_ANOTHER, ANOTHER_NEAR = 50.0, 75.0, 30.0
# seconds off that are told: the order of two onsets is near certain from 0.06 (mazurka.org.uk/experiments, a table
# of hearing tests); grace notes have no time of their own
LATE_SECONDS, GRACE_LATE_SECONDS = 0.06, 0.12
# standard deviations of the play-through's own onsets that it must be too, up to so many seconds: what one note is
# late by must stand out from how the player plays; common practice, no source
LATE_SPREADS, LATE_AT_MOST = 3.5, 0.1
# standard deviation, cents, from which a held note is told to be unsteady, and seconds it must be held; a player's
# waver, common practice, no source
UNSTEADY_CENTS, UNSTEADY_SECONDS = 18.0, 0.3
# standard deviation of a normal distribution in median absolute deviations
MAD_TO_DEVIATION = 1.4826
# share of its length under which a note is told to be short, and seconds that it must lack; common practice
SHORT_SHARE, LACKING_SECONDS = 0.45, 0.15
# share of an asked glide that must be made, and semitones in which half a note's measure can be off
GLIDE_SHARE, GLIDE_SLACK = 0.5, 0.3
# seconds under which a sound is no note, and share of a short event's length that will do
LEAST_SECONDS, LEAST_SHARE = 0.05, 0.3
# decibels under the usual level of the events from which another note is only the echo of one, or a backing; and
# seconds from its start within which it must be heard to begin
ECHO_DB, BEGINS_SECONDS = 12.0, 0.045
# cents within which a pitch belongs to one of several holes that sound together; half a semitone
OF_A_CHORD = 60.0
# weights of faults against a wrong note, and the amounts at which they weigh half of it; ours
WEIGHTS = {
    FaultKind.MISSED: 1.0,
    FaultKind.ANOTHER: 1.0,
    FaultKind.HOLE_WRONG: 0.8,
    FaultKind.HOLE_MISSING: 0.7,
    FaultKind.HOLE_TOO_MANY: 0.6,
}
HALF_AT = {
    FaultKind.FLAT: 40.0,
    FaultKind.SHARP: 40.0,
    FaultKind.LATE: 200.0,
    FaultKind.EARLY: 200.0,
    FaultKind.UNSTEADY: 40.0,
    FaultKind.GLIDE: 1.0,
}


def fault_of(kind: FaultKind, amount: float = 0.0) -> Fault:
    """A fault of so much, with its weight: half a wrong note's at a middling amount, never as much as it."""
    if kind in WEIGHTS:
        return Fault(kind, amount, WEIGHTS[kind])
    if kind in HALF_AT:
        return Fault(kind, amount, amount / (amount + HALF_AT[kind]))
    return Fault(kind, amount, 0.3)


def off_limit(seconds: float) -> float:
    """Cents off from which a note of that length is told to be flat or sharp."""
    return next(cents for longest, cents in OFF_CENTS if seconds < longest)


def _natural_midi(score: Score, move: Move) -> float:
    sound = sound_of(score.harp, Move(move.holes, move.breath))
    return sound.midi[0] + (sound.cents[0] + score.tuned_cents) / 100.0


def _bend(score: Score, expected: Expected, pitch: PitchMeasure) -> BendHeard | None:
    if expected.move.alteration is not Alteration.BEND:
        return None
    natural = _natural_midi(score, expected.move)
    return BendHeard(natural - expected.midi[0], natural - pitch.midi, pitch.glide_seconds, pitch.shape)


def _glides(one: RouteEvent, pitch: PitchMeasure) -> tuple[Glide | None, Glide | None]:
    attack, fall = float(one.choice.attack_semitones), float(one.choice.fall_semitones)
    return (
        Glide(attack, pitch.start_midi - pitch.midi) if attack else None,
        Glide(fall, pitch.end_midi - pitch.midi) if fall else None,
    )


def _target(expected: Expected, midi: float) -> float:
    """The asked pitch nearest to a heard one."""
    return min(expected.midi, key=lambda pitch: abs(pitch - midi))


def _off_cents(score: Score, expected: Expected, midi: float) -> float:
    """Cents off the target; a dip is on it anywhere between its natural note and its limit."""
    off = 100.0 * (midi - _target(expected, midi))
    if not expected.move.is_dip:
        return off
    sound = sound_of(score.harp, expected.move)
    limit = sound.midi[0] + ((sound.limit_cents or 0.0) + score.tuned_cents) / 100.0
    low, high = sorted((limit, _natural_midi(score, expected.move)))
    return 100.0 * (midi - min(max(midi, low), high))


def _verdict(off: float, expected: Expected, heard: Move, heard_cents: float) -> Verdict:
    if abs(off) <= MAYBE_ANOTHER or heard == expected.move:
        return Verdict.PLAYED
    if len(expected.move.holes) > 1:
        # several reeds at once: only a pitch far from all of them speaks against it
        return Verdict.PLAYED if abs(off) < 2 * SURELY_ANOTHER else Verdict.ANOTHER
    if abs(off) >= SURELY_ANOTHER or abs(heard_cents) <= ANOTHER_NEAR:
        return Verdict.ANOTHER
    return Verdict.PLAYED


def _pitch_faults(answer: EventAnswer, seconds: float) -> list[Fault]:
    faults: list[Fault] = []
    if answer.verdict is Verdict.ANOTHER:
        return [fault_of(FaultKind.ANOTHER, abs(answer.cents or 0.0))]
    if answer.cents is not None and abs(answer.cents) > off_limit(seconds):
        faults.append(fault_of(FaultKind.FLAT if answer.cents < 0 else FaultKind.SHARP, abs(answer.cents)))
    for glide in (answer.attack, answer.fall):
        if glide is not None:
            lacking = abs(glide.wanted_semitones) - abs(glide.heard_semitones)
            if lacking > GLIDE_SHARE * abs(glide.wanted_semitones) + GLIDE_SLACK:
                faults.append(fault_of(FaultKind.GLIDE, lacking))
    unsteady = answer.unsteady_cents or 0.0
    if unsteady > UNSTEADY_CENTS and seconds > UNSTEADY_SECONDS and not (answer.attack or answer.fall):
        faults.append(fault_of(FaultKind.UNSTEADY, unsteady))
    return faults


def _time_faults(answer: EventAnswer, one: RouteEvent, wanted_seconds: float, late_limit: float) -> list[Fault]:
    late = answer.late_seconds or 0.0
    limit = GRACE_LATE_SECONDS if one.event.grace else late_limit
    if abs(late) > limit:
        return [fault_of(FaultKind.LATE if late > 0 else FaultKind.EARLY, 1000.0 * abs(late))]
    share = 1.0 if answer.held_share is None else answer.held_share
    if share < SHORT_SHARE and (1.0 - share) * wanted_seconds > LACKING_SECONDS:
        return [fault_of(FaultKind.SHORT, share)]
    return []


def _missed(placed: PlacedEvent, expected: Expected) -> EventAnswer:
    return EventAnswer(
        event=placed.event,
        move=expected.move,
        verdict=Verdict.MISSED,
        heard=None,
        start_seconds=placed.due_seconds,
        end_seconds=placed.due_seconds + (expected.end_seconds - expected.start_seconds) * placed.pace,
        cents=None,
        heard_cents=None,
        bend=None,
        attack=None,
        fall=None,
        unsteady_cents=None,
        vibrato=None,
        late_seconds=None,
        late_beats=None,
        held_share=None,
        confidence=placed.confidence,
        faults=(fault_of(FaultKind.MISSED),),
    )


def _is_there(placed: PlacedEvent, wanted_seconds: float, curve: PitchCurve) -> bool:
    if not placed.played:
        return False
    part = curve.span(placed.start_seconds, placed.end_seconds)
    sounding = 0.01 * float(np.count_nonzero(part.voiced))
    return sounding >= min(LEAST_SECONDS, LEAST_SHARE * wanted_seconds)


def _level_db(curve: PitchCurve, placed: PlacedEvent) -> float:
    return float(curve.span(placed.start_seconds, placed.end_seconds).energy.max(initial=-120.0))


@dataclass(frozen=True, slots=True)
class _Usual:
    """What is usual in a play-through: median of the events' loudest levels, and how late a note may be."""

    decibels: float
    late_seconds: float


def _usual_of(curve: PitchCurve, play: PlayThrough) -> _Usual:
    played = [one for one in play.events if one.played]
    if not played:
        return _Usual(0.0, LATE_SECONDS)
    off = np.abs([one.start_seconds - one.due_seconds for one in played])
    spread = MAD_TO_DEVIATION * float(np.median(off))
    late = float(np.clip(LATE_SPREADS * spread, LATE_SECONDS, LATE_AT_MOST))
    return _Usual(float(np.median([_level_db(curve, placed) for placed in played])), late)


def _is_echo(lined_up: LinedUp, placed: PlacedEvent, usual_db: float) -> bool:
    """Whether a wrong pitch is what rings on or lies under the playing, not a note of its own."""
    begins = any(abs(note.start_seconds - placed.start_seconds) < BEGINS_SECONDS for note in lined_up.hearing.notes)
    return not begins or _level_db(lined_up.hearing.curve, placed) < usual_db - ECHO_DB


def _compared(
    lined_up: LinedUp, placed: PlacedEvent, expected: Expected, neighbours: Sequence[Move], usual: _Usual
) -> EventAnswer:
    score, one = lined_up.score, lined_up.route.events[placed.event]
    wanted = (expected.end_seconds - expected.start_seconds) * placed.pace
    pitch = None
    if _is_there(placed, wanted, lined_up.hearing.curve):
        pitch = measure_pitch(lined_up.hearing.curve, placed.start_seconds, placed.end_seconds)
    if pitch is None:
        return _missed(placed, expected)
    off = _off_cents(score, expected, pitch.midi)
    guess = HeardMove(expected.move, off)
    if abs(off) > MAYBE_ANOTHER:
        near = (expected.move, *neighbours)
        guess = heard_move(score.harp, pitch.midi - score.tuned_cents / 100.0, near=near)
    verdict = _verdict(off, expected, guess.move, guess.cents)
    if verdict is Verdict.ANOTHER and _is_echo(lined_up, placed, usual.decibels):
        return _missed(placed, expected)
    several = len(expected.move.holes) > 1
    cents = None if several and abs(off) > OF_A_CHORD and verdict is Verdict.PLAYED else off
    attack, fall = _glides(one, pitch)
    late = placed.start_seconds - placed.due_seconds
    answer = EventAnswer(
        event=placed.event,
        move=expected.move,
        verdict=verdict,
        heard=guess.move if verdict is Verdict.ANOTHER else expected.move,
        start_seconds=placed.start_seconds,
        end_seconds=placed.end_seconds,
        cents=cents,
        heard_cents=guess.cents if verdict is Verdict.ANOTHER else cents,
        bend=_bend(score, expected, pitch),
        attack=attack,
        fall=fall,
        unsteady_cents=pitch.unsteady_cents,
        vibrato=pitch.vibrato,
        late_seconds=late,
        late_beats=late / (expected.beat_seconds * placed.pace),
        held_share=(placed.end_seconds - placed.start_seconds) / wanted,
        confidence=placed.confidence,
        faults=(),
    )
    faults = _pitch_faults(answer, placed.end_seconds - placed.start_seconds) + _time_faults(
        answer, one, wanted, usual.late_seconds
    )
    return with_faults(answer, faults)


def with_faults(answer: EventAnswer, faults: Sequence[Fault]) -> EventAnswer:
    """The answer with more faults, the heaviest first."""
    ordered = sorted((*answer.faults, *faults), key=lambda fault: -fault.weight)
    return replace(answer, faults=tuple(ordered))


def compare_placed(lined_up: LinedUp, play: PlayThrough, number: int, placed: PlacedEvent) -> EventAnswer:
    """The event of that number in a play-through, taken to be placed so, against what was asked."""
    by_index = {expected.index: expected for expected in lined_up.score.events}
    round_about = play.events[max(0, number - 1) : number + 2]
    near = [by_index[one.event].move for one in round_about if one.event != placed.event]
    usual = _usual_of(lined_up.hearing.curve, play)
    return _compared(lined_up, placed, by_index[placed.event], near, usual)


def compare_events(lined_up: LinedUp, play: PlayThrough) -> tuple[EventAnswer, ...]:
    """Each event of a play-through against what was asked."""
    by_index = {expected.index: expected for expected in lined_up.score.events}
    moves = [by_index[placed.event].move for placed in play.events]
    usual = _usual_of(lined_up.hearing.curve, play)
    return tuple(
        _compared(
            lined_up,
            placed,
            by_index[placed.event],
            (*moves[max(0, number - 1) : number], *moves[number + 1 : number + 2]),
            usual,
        )
        for number, placed in enumerate(play.events)
    )
