"""Extras: sounds within a play-through that belong to no event, among them events struck twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from reedpath.hear import HeardNote, PitchCurve
from reedpath.listen.answer import EventAnswer, Extra, Verdict
from reedpath.listen.compare import compare_placed
from reedpath.listen.expected import Expected, Score
from reedpath.listen.mending import begins_anew
from reedpath.listen.moves_heard import heard_move
from reedpath.listen.own_level import OwnLevel
from reedpath.listen.playthrough import LinedUp, PlayThrough

__all__ = ["extras_of", "in_its_place", "struck_once"]

# seconds and confidence that a sound must have to be told as a note too many, and decibels by which it may lie
# under the events' level; found by trial on glued takes
LEAST_SECONDS, LEAST_CONFIDENCE, SOFTER_DB = 0.08, 0.5, 18.0
# share of a sound that may lie in events; more is theirs
SHARED = 0.4
# seconds into an event before which a second strike is the first one's attack, and that it must last
AFTER_START, LASTS = 0.08, 0.06
# seconds without sound before a note that make it a strike of its own, and nearest to it that do not count
REST_SECONDS, EDGE_SECONDS = 0.08, 0.015
# semitones within which a sound is an event's own note
SAME = 0.6
# seconds off an event's time within which a sound is what was played in its place: early or late, but not the next
IN_PLACE_SECONDS = 0.1


def _second_strikes(lined_up: LinedUp, one: EventAnswer) -> list[float]:
    """Seconds at which an event is struck again."""
    hearing = lined_up.hearing
    strikes = hearing.strikes if len(one.move.holes) == 1 else hearing.hard_strikes
    after_rests = [note.start_seconds for note in hearing.notes if _is_after_a_rest(hearing.curve, note)]
    ordered = np.sort(np.concatenate([strikes, np.array(after_rests)]))
    inside = ordered[(ordered > one.start_seconds + AFTER_START) & (ordered < one.end_seconds - LASTS)]
    return [float(at) for at in inside[np.diff(inside, prepend=-np.inf) > AFTER_START]]


def _is_after_a_rest(curve: PitchCurve, note: HeardNote) -> bool:
    """Whether nothing sounds right before a note."""
    before = curve.span(note.start_seconds - REST_SECONDS, note.start_seconds - EDGE_SECONDS)
    return len(before) > 0 and not before.voiced.any()


def _again(one: EventAnswer, start_seconds: float, end_seconds: float) -> Extra:
    return Extra(start_seconds, end_seconds, one.event, again=True, move=one.move, cents=one.cents or 0.0)


def cut_off(one: EventAnswer, end_seconds: float) -> EventAnswer:
    """The event, ending sooner."""
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
        again = _second_strikes(lined_up, one) if one.verdict is not Verdict.MISSED else []
        level = levels.get(one.event) if one.verdict is Verdict.PLAYED else None
        again = [at for at in again if begins_anew(level, at, one.end_seconds)]
        if again:
            extras += [_again(one, *pair) for pair in pairwise([*again, one.end_seconds])]
            one = cut_off(one, again[0])
        kept.append(one)
    return tuple(kept), extras


def _extra(score: Score, note: HeardNote, event: int, expected: Expected) -> Extra:
    off = min((note.pitch_midi - midi for midi in expected.midi), key=abs)
    if abs(off) < SAME:
        return Extra(note.start_seconds, note.end_seconds, event, again=True, move=expected.move, cents=100.0 * off)
    guess = heard_move(score.harp, note.pitch_midi - score.tuned_cents / 100.0, near=(expected.move,))
    return Extra(note.start_seconds, note.end_seconds, event, again=False, move=guess.move, cents=guess.cents)


def _under_the_last(lined_up: LinedUp, before: EventAnswer | None, one: EventAnswer) -> Extra | None:
    """A soft strike when an event is due, while the one before is still held: the same note once more."""
    if before is None or before.verdict is Verdict.MISSED or before.end_seconds < one.start_seconds + AFTER_START:
        return None
    strikes = lined_up.hearing.soft_strikes
    near = strikes[np.abs(strikes - one.start_seconds) < IN_PLACE_SECONDS]
    near = near[near > before.start_seconds + AFTER_START]
    if not len(near):
        return None
    return _again(before, float(near[np.abs(near - one.start_seconds).argmin()]), before.end_seconds)


def _stand_in(
    lined_up: LinedUp, one: EventAnswer, before: EventAnswer | None, extras: Sequence[Extra]
) -> Extra | None:
    """What sounds when a missing event is due."""
    if one.verdict is not Verdict.MISSED or len(one.move.holes) > 1:
        return None
    near = [extra for extra in extras if abs(extra.start_seconds - one.start_seconds) < IN_PLACE_SECONDS]
    if near:
        return min(near, key=lambda extra: abs(extra.start_seconds - one.start_seconds))
    return _under_the_last(lined_up, before, one)


def in_its_place(
    lined_up: LinedUp, play: PlayThrough, answers: Sequence[EventAnswer], extras: Sequence[Extra]
) -> tuple[tuple[EventAnswer, ...], list[Extra]]:
    """Events that are missing while something else sounds when they are due: that was played in their place."""
    left, kept = list(extras), list[EventAnswer]()
    for number, one in enumerate(answers):
        found = _stand_in(lined_up, one, kept[-1] if kept else None, left)
        if found is not None:
            start, end = found.start_seconds, found.end_seconds
            placed = replace(play.events[number], start_seconds=start, end_seconds=end, played=True)
            if found in left:
                left.remove(found)
            elif kept:
                kept[-1] = cut_off(kept[-1], start)
            one = compare_placed(lined_up, play, number, placed)
        kept.append(one)
    return tuple(kept), left


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
