"""Extras: sounds within a play-through that belong to no event, among them events struck twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from reedpath.harp import Harp
from reedpath.hear import HeardNote
from reedpath.listen.align import LinedUp, PlayThrough
from reedpath.listen.answer import EventAnswer, Extra, Verdict
from reedpath.listen.expected import Expected
from reedpath.listen.moves_heard import heard_move

__all__ = ["extras_of", "struck_once"]

# seconds and confidence that a sound must have to be told as a note too many, and decibels by which it may lie
# under the events' level; found by trial on glued takes
LEAST_SECONDS, LEAST_CONFIDENCE, SOFTER_DB = 0.08, 0.5, 18.0
# share of a sound that may lie in events; more is theirs
SHARED = 0.4
# seconds into an event before which a second strike is the first one's attack, and that it must last
AFTER_START, LASTS = 0.08, 0.06
# semitones within which a second strike is the same note
SAME = 0.6
# decibels by which the level must dip before a second strike
DIP_DB = 5.0
# seconds either side of a strike within which the dip is sought
DIP_SECONDS = 0.07


def _dip_db(lined_up: LinedUp, at_seconds: float) -> float:
    """How far the level dips before a strike, against the lower of what lies before and after."""
    level = lined_up.hearing.seen.envelope_db
    half = round(at_seconds / 0.005)
    reach = round(DIP_SECONDS / 0.005)
    first = max(0, half - reach)
    before, after = level[first : half + 1], level[half : half + reach]
    if not len(before) or not len(after):
        return 0.0
    valley = first + int(np.argmin(level[first : half + 4]))
    left, right = level[max(0, valley - reach) : valley + 1], level[valley : valley + reach]
    return float(min(left.max(), right.max()) - level[valley])


def _second_strikes(lined_up: LinedUp, one: EventAnswer, pitch: float) -> Iterator[HeardNote]:
    for note in lined_up.hearing.notes:
        inside = one.start_seconds + AFTER_START < note.start_seconds < one.end_seconds - LASTS / 2
        same = abs(note.pitch_midi - pitch) < SAME and note.duration_seconds > LASTS
        if inside and same and note.attacked and _dip_db(lined_up, note.start_seconds) > DIP_DB:
            yield note


def _extra(harp: Harp, note: HeardNote, event: int, expected: Expected | None) -> Extra:
    near = (expected.move,) if expected else ()
    guess = heard_move(harp, note.pitch_midi, near=near)
    again = expected is not None and min(abs(note.pitch_midi - midi) for midi in expected.midi) < SAME
    move = expected.move if again and expected else guess.move
    cents = (
        guess.cents
        if not again or not expected
        else 100.0 * min((note.pitch_midi - midi for midi in expected.midi), key=abs)
    )
    return Extra(note.start_seconds, note.end_seconds, event, again, move, cents)


def struck_once(lined_up: LinedUp, answers: Sequence[EventAnswer]) -> tuple[tuple[EventAnswer, ...], list[Extra]]:
    """The events cut off before a second strike of the same note, and those strikes as extras."""
    by_index = {expected.index: expected for expected in lined_up.score.events}
    kept, extras = [], []
    for one in answers:
        expected = by_index[one.event]
        played = one.verdict is Verdict.PLAYED and one.cents is not None and len(expected.move.holes) == 1
        again: list[HeardNote] = []
        if played:
            again = list(_second_strikes(lined_up, one, expected.midi[0] + (one.cents or 0.0) / 100.0))
        if again:
            whole = one.end_seconds - one.start_seconds
            cut = again[0].start_seconds - one.start_seconds
            share = (one.held_share or 1.0) * cut / whole
            one = replace(one, end_seconds=again[0].start_seconds, held_share=share)
            extras += [_extra(lined_up.route.harp, note, one.event, expected) for note in again]
        kept.append(one)
    return tuple(kept), extras


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
        extras.append(_extra(lined_up.route.harp, note, event, by_index[event]))
    return extras
