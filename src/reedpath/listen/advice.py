"""Advice: the two or three things most worth practising, and the spots that failed.

Faults of one kind on one move are one thing, worth the sum of their weights; so the bend that is flat five times
comes before the one slip. Spots are stretches of faulty events, each with the event that leads into it, as the
arranger's own spots are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from statistics import median

from reedpath.arrange import Effort, Route, Spot
from reedpath.harp import Move
from reedpath.listen.answer import EventAnswer, FaultKind, Practise
from reedpath.listen.reeds import HolesHeard, holes_heard

__all__ = ["OF_HOLES", "failed_spots", "practise_of"]

# things told; more would be forgotten (common practice, no source)
MOST_THINGS = 3
# weight under which a thing is not worth telling; a bend 20 cents flat once weighs a third
LEAST_WEIGHT = 0.25
# right events between two faulty ones that still make one spot; events and spots at most (common practice)
RIGHT_BETWEEN, MOST_EVENTS, MOST_SPOTS = 1, 8, 4
# kinds that belong to the move on which they are made; the others to the playing as a whole
OF_A_MOVE = {FaultKind.FLAT, FaultKind.SHARP, FaultKind.ANOTHER, FaultKind.GLIDE, FaultKind.UNSTEADY}
# kinds that belong to its holes too
OF_HOLES = {FaultKind.HOLE_MISSING, FaultKind.HOLE_WRONG, FaultKind.HOLE_TOO_MANY}
OF_A_MOVE |= OF_HOLES


def _is_leak(one: EventAnswer, kind: FaultKind) -> bool:
    """Whether a single note lets the hole beside sound: one habit, whatever the note."""
    return kind is FaultKind.HOLE_TOO_MANY and len(one.move.holes) == 1


def _only_move(answers: Sequence[EventAnswer], events: Sequence[int], kind: FaultKind) -> Move | None:
    """The move of the notes that leak, where it is one only."""
    moves = {one.move for one in answers if one.event in set(events)}
    return moves.pop() if kind is FaultKind.HOLE_TOO_MANY and len(moves) == 1 else None


def practise_of(answers: Sequence[EventAnswer], *, most: int = MOST_THINGS) -> tuple[Practise, ...]:
    """The things most worth practising, the weightiest first."""
    things: dict[tuple[FaultKind, Move | None, HolesHeard | None], list[tuple[int, float, float]]] = defaultdict(list)
    for one in answers:
        for fault in one.faults:
            move = one.move if fault.kind in OF_A_MOVE and not _is_leak(one, fault.kind) else None
            holes = holes_heard(one.reeds) if fault.kind in OF_HOLES and move is not None else None
            things[fault.kind, move, holes].append((one.event, fault.weight, fault.amount))
    found = [
        Practise(
            kind,
            tuple(event for event, _, _ in of_one),
            sum(weight for _, weight, _ in of_one),
            move or _only_move(answers, [event for event, _, _ in of_one], kind),
            float(median(amount for _, _, amount in of_one)),
        )
        for (kind, move, _), of_one in things.items()
    ]
    worth = [one for one in found if one.weight >= LEAST_WEIGHT]
    return tuple(sorted(worth, key=lambda one: (-one.weight, one.events))[:most])


def _reasons(answers: Sequence[EventAnswer]) -> tuple[str, ...]:
    weights: dict[str, float] = defaultdict(float)
    for one in answers:
        for fault in one.faults:
            weights[fault.kind.value] += fault.weight
    return tuple(sorted(weights, key=lambda kind: -weights[kind]))


def failed_spots(route: Route, answers: Sequence[EventAnswer]) -> tuple[Spot, ...]:
    """The stretches that failed, in order; their reasons are kinds of fault, the heaviest first."""
    stretches: list[list[int]] = []
    for place, one in enumerate(answers):
        if not one.faults:
            continue
        last = stretches[-1] if stretches else None
        if last and place - last[1] <= RIGHT_BETWEEN + 1 and place - last[0] < MOST_EVENTS - 1:
            last[1] = place
        else:
            stretches.append([place, place])
    weighed = sorted(
        stretches,
        key=lambda pair: -sum(fault.weight for one in answers[pair[0] : pair[1] + 1] for fault in one.faults),
    )
    spots = []
    for first, last_place in sorted(weighed[:MOST_SPOTS]):
        begin = max(0, first - 1)
        end = min(len(answers) - 1, last_place + 1) if begin == last_place else last_place
        events = (answers[begin].event, answers[end].event)
        effort = Effort.sum_of(one.effort for one in route.events[events[0] : events[1] + 1]).total
        spots.append(Spot(*events, effort, _reasons(answers[first : last_place + 1])))
    return tuple(spots)
