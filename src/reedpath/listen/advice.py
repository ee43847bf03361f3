"""Advice: the two or three things most worth practising, and the spots that failed.

Faults of one kind on one move are one thing, worth the sum of their weights; so the bend that is flat five times
comes before the one slip. Tempo, air and swing are things of the playing as a whole; swing comes first, since it is
in every beat. Spots are stretches of faulty events, each with the event that leads into it, as the
arranger's own spots are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from statistics import median

import numpy as np

from reedpath.arrange import Effort, Route, Spot
from reedpath.harp import Move
from reedpath.hear.middles import quantiles_of
from reedpath.listen.answer import BreathBalance, EventAnswer, Practise, SwingHeard, TempoHeard
from reedpath.listen.answer_kinds import FaultKind
from reedpath.listen.letting_ring import DETACHED_MIDDLE, DETACHED_UPPER
from reedpath.listen.reeds import HolesHeard, holes_heard

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
# kinds that belong to no note by itself
OF_SWING = {
    FaultKind.NOT_SWUNG,
    FaultKind.SWINGS_LESS,
    FaultKind.SWINGS_MORE,
    FaultKind.SWUNG,
    FaultKind.SHORT_FIRST,
    FaultKind.LONG_FIRST,
}
# and to the tempo
OF_TEMPO = {FaultKind.RUSHES, FaultKind.DRAGS, FaultKind.SWAYS}
# and to the air
OF_AIR = {FaultKind.AIR_FULL, FaultKind.AIR_EMPTY}
OF_THE_WHOLE = OF_SWING | OF_TEMPO | OF_AIR | {FaultKind.DETACHED}
# litres of air beyond which the player is told: half of what the arranger lets anybody use with ease; and share of
# the tempo under which: what the phrase takes at its own tempo is the lesson's, a slower one takes more. Ours
AIR_LITRES, AIR_TEMPO = 1.05, 0.95
# kinds that make a note seem to end sooner
_STRUCK = {FaultKind.EXTRA, FaultKind.ANOTHER, FaultKind.MISSED}
# notes that must tell whether they are let ring; common practice, no source
FEWEST_RINGING = 6
# what each second half of a beat weighs that is not as asked, air, and each note that is cut short where it could
# ring; and the growth of the tempo that weighs as much as a wrong note: twice what is noticed (see
# `tempo_and_breath`); ours
SWING_WEIGHT, AIR_WEIGHT, SHORT_WEIGHT, GROWTH_OF_A_NOTE = 0.3, 0.5, 0.08, 0.12


def _is_leak(one: EventAnswer, kind: FaultKind) -> bool:
    """Whether a single note lets the hole beside sound: one habit, whatever the note."""
    return kind is FaultKind.HOLE_TOO_MANY and len(one.move.holes) == 1


def _only_move(answers: Sequence[EventAnswer], events: Sequence[int], kind: FaultKind) -> Move | None:
    """The move of the notes that leak, where it is one only."""
    moves = {one.move for one in answers if one.event in set(events)}
    return moves.pop() if kind is FaultKind.HOLE_TOO_MANY and len(moves) == 1 else None


def detached_in(answers: Sequence[EventAnswer]) -> tuple[int, ...]:
    """Indexes of the events that are cut short though they could ring until the next; none unless most are."""
    known = [one for one in answers if one.rings_share is not None and not _STRUCK & {it.kind for it in one.faults}]
    if len(known) < FEWEST_RINGING:
        return ()
    shares = np.array([one.rings_share for one in known], dtype=np.float64)
    middle, upper = quantiles_of(shares, (0.5, 0.75))
    if middle > DETACHED_MIDDLE or upper > DETACHED_UPPER:
        return ()
    return tuple(one.event for one, share in zip(known, shares, strict=True) if share <= DETACHED_UPPER)


def pair_of(one: EventAnswer) -> tuple[int, int]:
    """Indexes of an event and of the one with which it was swapped, in the order in which they are asked."""
    other = one.event if one.swapped_with is None else one.swapped_with
    return min(one.event, other), max(one.event, other)


def things_of_the_whole(
    answers: Sequence[EventAnswer], tempo: TempoHeard, air: BreathBalance, swing: SwingHeard | None
) -> tuple[Practise, ...]:
    """What is to be practised in the playing as a whole: its swing, its tempo and its air."""
    found: list[Practise] = []
    if swing is not None and swing.kind is not None:
        found.append(Practise(swing.kind, swing.events, SWING_WEIGHT * len(swing.events), None, swing.heard))
    if not tempo.kept:
        kind = FaultKind.SWAYS if tempo.sways else FaultKind.RUSHES if tempo.drift > 0 else FaultKind.DRAGS
        share = tempo.sway if tempo.sways else abs(tempo.drift)
        ends, weight = (answers[0].event, answers[-1].event), share / GROWTH_OF_A_NOTE
        found.append(Practise(kind, ends, weight, None, 100.0 * share))
    detached = detached_in(answers)
    if detached:
        share = float(np.median([one.rings_share for one in answers if one.event in detached]))
        found.append(Practise(FaultKind.DETACHED, detached, SHORT_WEIGHT * len(detached), None, 100.0 * share))
    if tempo.factor < AIR_TEMPO:
        sides = [
            (FaultKind.AIR_FULL, air.fullest_at, air.highest_litres),
            (FaultKind.AIR_EMPTY, air.emptiest_at, -air.lowest_litres),
        ]
        found += [
            Practise(kind, (event,), AIR_WEIGHT, None, litres)
            for kind, event, litres in sides
            if event is not None and litres > AIR_LITRES
        ]
    return tuple(found)


def practise_of(
    answers: Sequence[EventAnswer], *, most: int = MOST_THINGS, whole: Sequence[Practise] = ()
) -> tuple[Practise, ...]:
    """The things most worth practising, swing before all others, the weightiest first.

    whole : those of the playing as a whole.
    """
    things: dict[tuple[FaultKind, Move | None, HolesHeard | Move | None], list[tuple[int, float, float]]]
    things, asked = defaultdict(list), {one.event: one.move for one in answers}
    for one in answers:
        for fault in one.faults:
            move = one.move if fault.kind in OF_A_MOVE and not _is_leak(one, fault.kind) else None
            beside: HolesHeard | Move | None = None
            if fault.kind in OF_HOLES and move is not None:
                beside = holes_heard(one.reeds)
            elif fault.kind is FaultKind.SWAPPED:
                move, beside = (asked.get(event) for event in pair_of(one))
            things[fault.kind, move, beside].append((one.event, fault.weight, fault.amount))
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
    worth = [one for one in (*found, *whole) if one.weight >= LEAST_WEIGHT]
    ordered = sorted(worth, key=lambda one: (one.kind not in OF_SWING, -one.weight, one.events))
    return tuple(ordered[:most])


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
