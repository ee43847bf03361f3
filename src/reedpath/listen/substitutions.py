"""In its place: events in whose place something else sounds, or only what came before is held on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from reedpath.listen.answer import EventAnswer, Extra, Verdict
from reedpath.listen.compare import compare_placed
from reedpath.listen.expected import sounding_midi
from reedpath.listen.extras import AFTER_START, again, cut_off
from reedpath.listen.own_partials import OwnLevel, begins_anew
from reedpath.listen.play_through import LinedUp, PlayThrough

__all__ = ["held_over", "in_its_place", "put_back"]

# seconds off an event's time within which a sound is what was played in its place: early or late, but not the next
IN_PLACE_SECONDS = 0.1


def _under_the_last(lined_up: LinedUp, before: EventAnswer | None, one: EventAnswer) -> Extra | None:
    """A soft strike when an event is due, while the one before is still held: the same note once more."""
    if before is None or before.verdict is Verdict.MISSED or before.end_seconds < one.start_seconds + AFTER_START:
        return None
    strikes = lined_up.hearing.soft_strikes
    near = strikes[np.abs(strikes - one.start_seconds) < IN_PLACE_SECONDS]
    near = near[near > before.start_seconds + AFTER_START]
    if not len(near):
        return None
    return again(before, float(near[np.abs(near - one.start_seconds).argmin()]), before.end_seconds)


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


def _is_held_over(lined_up: LinedUp, before: EventAnswer, one: EventAnswer, levels: Mapping[int, OwnLevel]) -> bool:
    """Whether what sounds in place of an event is the one before it, held on."""
    level = levels.get(before.event)
    if one.verdict is not Verdict.ANOTHER or before.verdict is not Verdict.PLAYED or level is None:
        return False
    harp = lined_up.score.harp
    heard = one.heard is not None and sounding_midi(harp, one.heard) == sounding_midi(harp, before.move)
    joined = one.start_seconds - before.end_seconds < AFTER_START
    return heard and joined and not begins_anew(level, one.start_seconds, one.start_seconds + AFTER_START)


def held_over(
    lined_up: LinedUp, play: PlayThrough, answers: Sequence[EventAnswer], levels: Mapping[int, OwnLevel]
) -> tuple[EventAnswer, ...]:
    """The events, those missing in whose place the one before is only held on."""
    kept: list[EventAnswer] = []
    for number, one in enumerate(answers):
        if kept and _is_held_over(lined_up, kept[-1], one, levels):
            kept[-1] = cut_off(kept[-1], one.end_seconds)
            placed = replace(play.events[number], start_seconds=one.start_seconds, played=False)
            one = compare_placed(lined_up, play, number, placed)
        kept.append(one)
    return tuple(kept)


def put_back(
    lined_up: LinedUp, play: PlayThrough, answers: Sequence[EventAnswer], extras: Sequence[Extra]
) -> tuple[tuple[EventAnswer, ...], list[Extra]]:
    """The events, those put back in their time that seem early, after a missing one, and again when they are due:
    there the missing one was played as a note of that very pitch.
    """
    kept, left = list(answers), list(extras)
    for number in range(len(kept) - 1):
        missing, early = kept[number], kept[number + 1]
        if missing.verdict is not Verdict.MISSED or (early.late_seconds or 0.0) > -IN_PLACE_SECONDS:
            continue
        due = early.start_seconds - (early.late_seconds or 0.0)
        own = [one for one in left if one.again and one.after == early.event and _is_near(one.start_seconds, due)]
        if not own or not _is_near(early.start_seconds, missing.start_seconds):
            continue
        spans = (early.start_seconds, early.end_seconds), (own[0].start_seconds, own[0].end_seconds)
        left.remove(own[0])
        for place, (start, end) in zip((number, number + 1), spans, strict=True):
            placed = replace(play.events[place], start_seconds=start, end_seconds=end, played=True)
            kept[place] = compare_placed(lined_up, play, place, placed)
    return tuple(kept), left


def _is_near(at_seconds: float, due_seconds: float) -> bool:
    return abs(at_seconds - due_seconds) < IN_PLACE_SECONDS
