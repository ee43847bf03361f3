"""Extras: sounds within a play-through that belong to no event, among them events struck twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from reedpath.harp import Alteration
from reedpath.hear import HeardNote, PitchCurve
from reedpath.listen.answer import EventAnswer, Extra, Verdict
from reedpath.listen.expected import Expected, Score
from reedpath.listen.moves_heard import heard_move
from reedpath.listen.own_partials import OwnLevel, begins_anew, second_starts
from reedpath.listen.play_through import LinedUp, PlayThrough

__all__ = ["AFTER_START", "again", "cut_off", "extras_of", "struck_once"]

# seconds and confidence that a sound must have to be told as a note too many, and decibels by which it may lie
# under the events' level; found by trial on glued takes
LEAST_SECONDS, LEAST_CONFIDENCE, SOFTER_DB = 0.08, 0.5, 18.0
# share of a sound that may lie in events; more is theirs
SHARED = 0.4
# seconds into an event before which a second strike is the first one's attack, and that it must last
AFTER_START, LASTS = 0.08, 0.06
# seconds into a bend in which it may still slide from its natural note
AFTER_SLIDE = 0.22
# seconds without sound before a note that make it a strike of its own, and nearest to it that do not count
REST_SECONDS, EDGE_SECONDS = 0.08, 0.015
# semitones within which a sound is an event's own note
SAME = 0.6


def _second_strikes(lined_up: LinedUp, one: EventAnswer) -> list[float]:
    """Seconds at which an event is struck again."""
    hearing = lined_up.hearing
    strikes = hearing.strikes if len(one.move.holes) == 1 else hearing.hard_strikes
    first, last = one.start_seconds + AFTER_START, one.end_seconds - LASTS
    notes = [note for note in hearing.notes if first < note.start_seconds < last]
    after_rests = [note.start_seconds for note in notes if _is_after_a_rest(hearing.curve, note)]
    inside = np.sort(np.concatenate([strikes[(strikes > first) & (strikes < last)], np.array(after_rests)]))
    return [float(at) for at in inside[np.diff(inside, prepend=-np.inf) > AFTER_START]]


def _starts_within(lined_up: LinedUp, one: EventAnswer, level: OwnLevel) -> list[float]:
    """When an event of one pitch begins again, by the level of its own partials."""
    choice = lined_up.route.events[one.event].choice
    glides = choice.attack_semitones or choice.fall_semitones or choice.lead_in or choice.lead_out
    if len(one.move.holes) > 1 or glides:
        return []
    after = AFTER_SLIDE if one.move.alteration is Alteration.BEND else AFTER_START
    found = second_starts(level, one.start_seconds + after, one.end_seconds)
    return [at for at in found if at < one.end_seconds - LASTS]


def _with_others(strikes: Sequence[float], others: Sequence[float]) -> list[float]:
    """The strikes, and those others that are none of them."""
    new = [at for at in others if all(abs(at - strike) > AFTER_START for strike in strikes)]
    return sorted([*strikes, *new])


def _is_after_a_rest(curve: PitchCurve, note: HeardNote) -> bool:
    """Whether nothing sounds right before a note."""
    before = curve.span(note.start_seconds - REST_SECONDS, note.start_seconds - EDGE_SECONDS)
    return len(before) > 0 and not before.voiced.any()


def again(one: EventAnswer, start_seconds: float, end_seconds: float) -> Extra:
    """An event's own note, struck once more."""
    return Extra(start_seconds, end_seconds, one.event, again=True, move=one.move, cents=one.cents or 0.0)


def cut_off(one: EventAnswer, end_seconds: float) -> EventAnswer:
    """The event, ending at another time."""
    share = (end_seconds - one.start_seconds) / max(one.end_seconds - one.start_seconds, 1e-3)
    return replace(one, end_seconds=end_seconds, held_share=(one.held_share or 1.0) * share)


def struck_once(
    lined_up: LinedUp, answers: Sequence[EventAnswer], levels: Mapping[int, OwnLevel]
) -> tuple[tuple[EventAnswer, ...], list[Extra]]:
    """The events cut off before a second strike of the same note, and those strikes as extras.

    levels : of the events' own partials, by index, where they are known.
    """
    kept, extras = [], []
    for one in answers:
        strikes = _second_strikes(lined_up, one) if one.verdict is not Verdict.MISSED else []
        level = levels.get(one.event) if one.verdict is Verdict.PLAYED else None
        if level is not None:
            strikes = [at for at in strikes if begins_anew(level, at, one.end_seconds)]
            strikes = _with_others(strikes, _starts_within(lined_up, one, level))
        if strikes:
            extras += [again(one, *pair) for pair in pairwise([*strikes, one.end_seconds])]
            one = cut_off(one, strikes[0])
        kept.append(one)
    return tuple(kept), extras


def _extra(score: Score, note: HeardNote, event: int, expected: Expected) -> Extra:
    off = min((note.pitch_midi - midi for midi in expected.midi), key=abs)
    if abs(off) < SAME:
        return Extra(note.start_seconds, note.end_seconds, event, again=True, move=expected.move, cents=100.0 * off)
    guess = heard_move(score.harp, note.pitch_midi - score.tuned_cents / 100.0, near=(expected.move,))
    return Extra(note.start_seconds, note.end_seconds, event, again=False, move=guess.move, cents=guess.cents)


def _in_events(note: HeardNote, answers: Sequence[EventAnswer]) -> float:
    """Seconds of a note that lie in events."""
    shared = 0.0
    for one in answers:
        if one.verdict is not Verdict.MISSED:
            shared += max(0.0, min(note.end_seconds, one.end_seconds) - max(note.start_seconds, one.start_seconds))
    return shared


def extras_of(lined_up: LinedUp, play: PlayThrough, answers: Sequence[EventAnswer]) -> list[Extra]:
    """Notes between the first and the last event that belong to none."""
    by_index = {expected.index: expected for expected in lined_up.score.events}
    inside = [
        note
        for note in lined_up.hearing.notes
        if play.start_seconds <= note.start_seconds < play.end_seconds
        and not any(one.dropped_seconds <= note.start_seconds < one.seconds for one in play.restarts)
    ]
    owned = [note.level_db for note in inside if _in_events(note, answers) > SHARED * note.duration_seconds]
    usual = float(np.median(owned)) if owned else 0.0
    extras = []
    for note in inside:
        loud = note.level_db > usual - SOFTER_DB
        if note.duration_seconds < LEAST_SECONDS or note.confidence < LEAST_CONFIDENCE or not loud:
            continue
        if _in_events(note, answers) > SHARED * note.duration_seconds:
            continue
        before = [one for one in answers if one.start_seconds <= note.start_seconds]
        event = before[-1].event if before else answers[0].event
        extras.append(_extra(lined_up.score, note, event, by_index[event]))
    return extras
