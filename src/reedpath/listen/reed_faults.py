"""What the reeds of an event say of it: a hole of several that is silent, another in its place, or one too many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from reedpath.harp import Move
from reedpath.listen.answer import EventAnswer, Extra, Fault, FaultKind, Verdict
from reedpath.listen.compare import fault_of, off_limit, with_faults
from reedpath.listen.read_again import moved
from reedpath.listen.reeds import ReedHeard, ReedState

__all__ = ["HolesHeard", "holes_heard", "with_reeds", "without_leaks"]

# holes by which one that sounds may lie off one that does not, to be in its place
IN_PLACE_HOLES = 2
# decibels under the loudest reed at which a single note that was asked is itself, with a neighbour louder than it
OWN_DB = -12.0
# faults of pitch that the reeds of several holes judge anew
OF_PITCH = (FaultKind.FLAT, FaultKind.SHARP, FaultKind.ANOTHER)


@dataclass(frozen=True, slots=True)
class HolesHeard:
    """What is wrong with the holes of an event.

    missing : holes that should sound and do not. wrong : pairs of such a hole and the one that sounds in its place.
    too_many : holes that sound beside those asked.
    """

    missing: tuple[int, ...]
    wrong: tuple[tuple[int, int], ...]
    too_many: tuple[int, ...]


def holes_heard(reeds: Sequence[ReedHeard]) -> HolesHeard:
    """What is wrong with the holes of an event: each silent hole with the one next to it that sounds, if any does.

    >>> holes_heard((ReedHeard(1, True, ReedState.SOUNDS), ReedHeard(4, True, ReedState.SILENT),
    ...     ReedHeard(5, False, ReedState.SOUNDS))).wrong
    ((4, 5),)
    """
    missing = [one.hole for one in reeds if one.asked and one.state is ReedState.SILENT]
    beside = [one.hole for one in reeds if not one.asked and one.state is ReedState.SOUNDS]
    wrong = []
    for hole in list(missing):
        near = [other for other in beside if abs(other - hole) <= IN_PLACE_HOLES]
        if near:
            other = min(near, key=lambda one: abs(one - hole))
            wrong.append((hole, other))
            missing.remove(hole)
            beside.remove(other)
    return HolesHeard(tuple(missing), tuple(wrong), tuple(beside))


def _hole_faults(heard: HolesHeard) -> list[Fault]:
    amounts = {
        FaultKind.HOLE_MISSING: len(heard.missing),
        FaultKind.HOLE_WRONG: len(heard.wrong),
        FaultKind.HOLE_TOO_MANY: len(heard.too_many),
    }
    return [fault_of(kind, float(count)) for kind, count in amounts.items() if count]


def _with_verdict(one: EventAnswer, verdict: Verdict, heard: Move) -> EventAnswer:
    """The event with another verdict, its faults of pitch left out."""
    kept = tuple(fault for fault in one.faults if fault.kind not in OF_PITCH)
    return replace(one, verdict=verdict, heard=heard, faults=kept)


def _furthest_cents(reeds: Sequence[ReedHeard]) -> float | None:
    """Cents of the asked reed that is furthest off its pitch, those left out that share theirs with another."""
    told = [one.cents for one in reeds if one.asked and one.cents is not None and one.level_db is not None]
    return max(told, key=abs, default=None)


def _single(one: EventAnswer, reeds: tuple[ReedHeard, ...]) -> EventAnswer:
    own = reeds[0]
    if own.state is not ReedState.SOUNDS:
        return one
    beside = holes_heard(reeds)
    if one.verdict is Verdict.ANOTHER:
        is_beside = one.heard is not None and one.heard.holes[0] in beside.too_many
        if not is_beside or (own.level_db or 0.0) < OWN_DB:
            return one
        one = replace(_with_verdict(one, Verdict.PLAYED, one.move), cents=own.cents, heard_cents=own.cents)
    return with_faults(replace(one, reeds=reeds), _hole_faults(beside))


def _several(one: EventAnswer, reeds: tuple[ReedHeard, ...], seconds: float) -> EventAnswer:
    asked = [reed for reed in reeds if reed.asked]
    silent = all(reed.state is ReedState.SILENT for reed in asked)
    beside = tuple(reed.hole for reed in reeds if not reed.asked and reed.state is ReedState.SOUNDS)
    if silent and (one.verdict is Verdict.ANOTHER or not beside):
        return replace(one, reeds=reeds)
    if silent:
        heard = Move(beside, one.move.breath, embouchure=one.move.embouchure)
        other = replace(_with_verdict(one, Verdict.ANOTHER, heard), cents=None, heard_cents=None, reeds=reeds)
        return with_faults(other, [fault_of(FaultKind.ANOTHER)])
    cents = _furthest_cents(reeds)
    played = replace(_with_verdict(one, Verdict.PLAYED, one.move), cents=cents, heard_cents=cents, reeds=reeds)
    faults = _hole_faults(holes_heard(reeds))
    if cents is not None and abs(cents) > off_limit(seconds):
        faults.append(fault_of(FaultKind.FLAT if cents < 0 else FaultKind.SHARP, abs(cents)))
    return with_faults(played, faults)


def with_reeds(one: EventAnswer, reeds: tuple[ReedHeard, ...], *, tuned_cents: float) -> EventAnswer:
    """The event with what its reeds say of it.

    tuned_cents : by how much the player's harp lies over the lesson's pitch.
    """
    if one.verdict is Verdict.MISSED or not reeds:
        return one
    own = tuple(moved(reed, -tuned_cents) for reed in reeds)
    if len(one.move.holes) == 1:
        return _single(one, own)
    return _several(one, own, one.end_seconds - one.start_seconds)


def without_leaks(extras: Sequence[Extra], answers: Sequence[EventAnswer]) -> list[Extra]:
    """The extras without those that are an event's own reeds, or a hole that sounds along with it."""
    along = [
        (one.start_seconds, one.end_seconds, {reed.hole for reed in one.reeds if reed.state is ReedState.SOUNDS})
        for one in answers
        if len(one.reeds) > 1
    ]
    return [
        extra
        for extra in extras
        if extra.again
        or not any(
            extra.start_seconds < end and start < extra.end_seconds and set(extra.move.holes) <= holes
            for start, end, holes in along
        )
    ]
