"""The lattice: the choices of every event for many harps at once, and the cost of every step between them.

A phrase has few distinct asks and few distinct kinds of step (ask before, ask, times), however long it is. Costs are
computed once per kind of step and per case, in one flat array over all cases: a case is a tuning and the distance
of the phrase from the harp's key, which is all that a route depends on.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from reedpath.arrange.contour import contour_loss
from reedpath.arrange.demands import Ask, Pace, Standing
from reedpath.arrange.expression import worth_of
from reedpath.arrange.table import ChoiceTable
from reedpath.arrange.terms import Transition, transition_points
from reedpath.harp import Tuning

Ints: TypeAlias = NDArray[np.intp]
Points: TypeAlias = NDArray[np.float64]


class Case(Struct, frozen=True):
    """One thing to search: a tuning, and how far the phrase lies above the harp's key note.

    offset : semitones added to the phrase's MIDI numbers to count from the key note.
    """

    tuning: Tuning
    offset: int


class Question(Struct, frozen=True):
    """What a phrase asks, whatever the harp.

    asks : the distinct asks, MIDI numbers.
    ask_of : shape (n,), which ask each event has.
    pace : the times of each event.
    standing : where each event stands in the phrase.
    scale : pitch classes of the phrase's own notes.
    """

    asks: tuple[Ask, ...]
    ask_of: Ints
    pace: Pace
    standing: Standing
    scale: frozenset[int]

    @property
    def needs_tongue(self) -> bool:
        """Whether anything is struck together, so that keeping the tongue on may pay."""
        return any(len(ask.pitches) > 1 or any(move.is_split for move in ask.also) for ask in self.asks)

    def moved_scale(self, offset: int) -> frozenset[int]:
        """The phrase's pitch classes counted from the key note of a case."""
        return frozenset((pitch + offset) % 12 for pitch in self.scale)


class Lattice(Struct, frozen=True):
    """Choices and step costs of every case, flat.

    pool : rows of choices, one run per (case, ask).
    first, count : shape (cases, asks + 1), where each run starts in the pool and how long it is; the last ask is
        silence, before the first event.
    kind_of : shape (n,), kind of step that leads to each event.
    kinds : shape (kinds, 2), ask before and ask of each kind of step.
    costs : points of every pair of choices, one run per (kind, case), before-choices outside, here-choices inside.
    cost_first : shape (kinds, cases), where each run starts.
    """

    pool: Ints
    first: Ints
    count: Ints
    kind_of: Ints
    kinds: Ints
    costs: Points
    cost_first: Ints

    def layer(self, case: int, ask: int) -> Ints:
        """Rows of the choices for an ask in a case."""
        start = self.first[case, ask]
        return self.pool[start : start + self.count[case, ask]]

    def step_costs(self, case: int, kind: int) -> Points:
        """Points of each pair of a kind of step in a case, shape (before, here)."""
        before, here = self.kinds[kind]
        shape = (self.count[case, before], self.count[case, here])
        start = self.cost_first[kind, case]
        return self.costs[start : start + shape[0] * shape[1]].reshape(shape)


def _runs(table: ChoiceTable, question: Question, cases: Sequence[Case], *, octaves: bool) -> tuple[Ints, Ints, Ints]:
    """Choices of every case, with ``octaves`` where a part may have to move: those of `Lattice`."""
    found: list[Ints] = []
    silence = np.zeros(1, dtype=np.intp)
    tunings = {tuning: table.tuned(tuning, tongue=question.needs_tongue) for tuning in {c.tuning for c in cases}}
    scales = [question.moved_scale(step) for step in range(12)]
    for case in cases:
        tuned, scale = tunings[case.tuning], scales[case.offset % 12]
        rows = [tuned.rows_for(ask, case.offset, scale) for ask in question.asks]
        if octaves and any(map(tuned.stands_in, rows)):
            rows = [tuned.rows_with_octaves(ask, case.offset, scale) for ask in question.asks]
        found += rows
        found.append(silence)
    count = np.fromiter(map(len, found), dtype=np.intp, count=len(found))
    first = np.cumsum(count) - count
    shape = (len(cases), len(question.asks) + 1)
    return np.concatenate(found), first.reshape(shape), count.reshape(shape)


def least_points(table: ChoiceTable, question: Question, cases: Sequence[Case], *, price_points: float) -> Points:
    """For each case, points that every route must cost: the moves and the lost truth alone, shape (cases,).

    A note that could stay and is moved by an octave costs the truth of an octave at least, so those choices need no
    look.
    """
    pool, first, _ = _runs(table, question, cases, octaves=False)
    columns = table.columns
    own = columns["steady_points"] + columns["settle_points"] + price_points * columns["loss"]
    least = np.minimum.reduceat(own[pool], first.reshape(-1)).reshape(first.shape)
    fit = table.weights.fit
    could_stay = least <= fit.offer_from_points * table.player.move_factor
    least = np.where(could_stay, np.minimum(least, price_points * fit.octave), least)
    result: Points = least[:, :-1] @ np.bincount(question.ask_of, minlength=len(question.asks))
    return result


def _kinds(question: Question, worth: Points) -> tuple[Ints, Ints, Ints]:
    """Kinds of step: for each event its kind, for each kind its two asks and one event that shows its times."""
    silence = len(question.asks)
    before = np.concatenate(([silence], question.ask_of[:-1])).astype(np.intp)
    pace = question.pace
    seen = np.column_stack((before, question.ask_of, pace.have, pace.gap, pace.duration, worth))
    _, example, kind_of = np.unique(np.round(seen, 9), axis=0, return_index=True, return_inverse=True)
    kinds = np.column_stack((before[example], question.ask_of[example]))
    return kind_of.reshape(-1), kinds, example


def lattice_of(table: ChoiceTable, question: Question, cases: Sequence[Case], *, price_points: float) -> Lattice:
    """Lay out the choices of every case and weigh every step.

    price_points : effort that a whole event's truth is worth.
    """
    pool, first, count = _runs(table, question, cases, octaves=True)
    worth = worth_of(question.standing, question.pace, table.weights)
    kind_of, kinds, example = _kinds(question, worth)
    before, here = kinds[:, 0], kinds[:, 1]
    count_before, count_here = count[:, before].T, count[:, here].T  # (kinds, cases)
    sizes = (count_before * count_here).reshape(-1)
    cost_first = np.cumsum(sizes) - sizes
    run = np.repeat(np.arange(len(sizes)), sizes)
    local = np.arange(len(run)) - cost_first[run]
    inner = count_here.reshape(-1)[run]
    before_local = local // inner
    rows_before = pool[first[:, before].T.reshape(-1)[run] + before_local]
    rows_here = pool[first[:, here].T.reshape(-1)[run] + local - before_local * inner]
    event = example[run // len(cases)]
    pace = question.pace
    step = Transition(
        table.columns, rows_before, rows_here, pace.have[event], pace.gap[event], pace.duration[event],
        table.weights, table.player, worth[event],
    )  # fmt: skip
    costs = transition_points(step) + price_points * (step.now("loss") + contour_loss(step))
    return Lattice(pool, first, count, kind_of, kinds, costs, cost_first.reshape(len(kinds), len(cases)))
