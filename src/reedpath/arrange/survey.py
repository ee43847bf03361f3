"""The survey: which harp, position, octave and key play a phrase best.

A route depends only on the tuning and on how far the phrase lies above the harp's key note, so every such case is
searched once, however many harps and shifts lead to it. All cases are searched without air first (`relaxed`), which
gives a bound from below; going up from the lowest bound, routes are made exact, until no bound left could beat the
ranking. The ranking is therefore the one that searching every case in full would give.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from heapq import nsmallest

import numpy as np

from reedpath.arrange.finding import best_path, question_of, route_from, table_for
from reedpath.arrange.lattice import Case, Lattice, Question, lattice_of
from reedpath.arrange.lungs import Air, air_of, follow
from reedpath.arrange.player import Player, Weights, load_player, load_weights
from reedpath.arrange.relaxed import Relaxed, relaxed_costs
from reedpath.arrange.route import Route
from reedpath.arrange.search import Path
from reedpath.arrange.table import ChoiceTable
from reedpath.harp import Harp, Tuning, load_tuning, make_harp, reach_of, tuning_names
from reedpath.phrase import Phrase, performed
from reedpath.pitch import pitch_class_name

__all__ = ["Ranked", "Survey", "all_harps", "octave_shifts", "survey"]

# semitones; whole octaves, then every key, that a phrase may be moved by
OCTAVE_SHIFTS = (0, -12, 12, -24, 24)
# a case is searched where at least this share of the events lies within the harp's reach; common sense, no source
LEAST_SHARE_IN_REACH = 0.5


@dataclass(frozen=True, slots=True)
class Ranked:
    """One line of a survey.

    harp : the instrument.
    shift_semitones : how far the phrase is moved.
    score : points by which lines are ranked: effort, the price of lost truth, and of moved octaves.
    route : the best route there.
    also : other harps and shifts that play by the very same route.
    """

    harp: Harp
    shift_semitones: int
    score: float
    route: Route
    also: tuple[tuple[Harp, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Survey:
    """What plays a phrase best.

    ranked : best first.
    cases : how many distinct cases were searched.
    exact : how many of them needed the full search or its proof.
    """

    ranked: tuple[Ranked, ...]
    cases: int
    exact: int


def all_harps(tunings: Iterable[Tuning] | None = None) -> tuple[Harp, ...]:
    """A harp in each of the twelve keys, in its customary octave, for every tuning (all shipped ones for None)."""
    chosen = tuple(tunings) if tunings is not None else tuple(map(load_tuning, tuning_names()))
    return tuple(make_harp(pitch_class_name(key), tuning) for tuning in chosen for key in range(12))


def octave_shifts(*, any_key: bool = False) -> tuple[int, ...]:
    """Shifts to survey: whole octaves, or every key the phrase could be moved to, small shifts first."""
    return tuple(sorted(range(-24, 25), key=abs)) if any_key else OCTAVE_SHIFTS


def _share_in_reach(question: Question, case: Case) -> float:
    reach = [pitches[0] for pitches in reach_of(case.tuning).by_pitches if len(pitches) == 1]
    lowest, highest = min(reach), max(reach)
    inside = np.array(
        [lowest <= ask.pitches[0] + case.offset and ask.pitches[-1] + case.offset <= highest for ask in question.asks]
    )
    return float(inside[question.ask_of].mean())


def _cases(question: Question, harps: Sequence[Harp], shifts: Sequence[int]) -> dict[Case, list[tuple[Harp, int]]]:
    ways: dict[Case, list[tuple[Harp, int]]] = {}
    for shift in sorted(shifts, key=abs):
        for harp in harps:
            ways.setdefault(Case(harp.tuning, shift - harp.key_midi), []).append((harp, shift))
    shares = {case: _share_in_reach(question, case) for case in ways}
    needed = min(LEAST_SHARE_IN_REACH, max(shares.values(), default=0.0))
    return {case: found for case, found in ways.items() if shares[case] >= needed}


@dataclass(frozen=True, slots=True)
class _Search:
    """Everything that stays the same over the cases of one survey."""

    table: ChoiceTable
    question: Question
    lattice: Lattice
    relaxed: Relaxed
    air: Air

    def exact(self, case: int) -> Path:
        """The best path of a case: the relaxed one where its air costs nothing, else from the full search."""
        rows = self.relaxed.path(case)
        breathe = np.zeros(len(rows), dtype=np.bool_)
        flow = self.table.columns["flow"][np.array(rows, dtype=np.intp)]
        _, points = follow(self.air, flow, breathe)
        if not points.any():
            return Path(rows, tuple(breathe.tolist()), float(self.relaxed.costs[case]))
        return best_path(self.table, self.question, self.lattice, case, self.air)


def _best(search: _Search, extra: np.ndarray, top: int) -> tuple[list[tuple[float, int, Path]], int]:
    """The ``top`` cases by exact score, and how many were made exact."""
    bounds = search.relaxed.costs + extra
    done: list[tuple[float, int, Path]] = []
    for case in np.argsort(bounds, kind="stable").tolist():
        if len(done) >= top and bounds[case] > nsmallest(top, done)[-1][0]:
            break
        path = search.exact(case)
        done.append((path.cost + float(extra[case]), case, path))
    return nsmallest(top, done, key=lambda one: one[:2]), len(done)


def survey(
    phrase: Phrase,
    harps: Sequence[Harp] | None = None,
    *,
    shifts: Sequence[int] = OCTAVE_SHIFTS,
    player: Player | None = None,
    weights: Weights | None = None,
    top: int = 12,
) -> Survey:
    """Rank harps and shifts for a phrase; exact.

    Parameters
    ----------
    phrase : as given; it is performed first.
    harps : the harps to consider, all keys and shipped tunings for None.
    shifts : semitones by which the phrase may be moved (see `octave_shifts`).
    top : how many lines are wanted.
    """
    player, weights = player or load_player(), weights or load_weights()
    played = performed(phrase)
    if not played.events:
        return Survey((), 0, 0)
    question = question_of(played)
    ways = _cases(question, all_harps() if harps is None else harps, shifts)
    table = table_for(player, weights)
    lattice = lattice_of(table, question, list(ways), price_points=float(weights["fit"]["price_points"]))
    air = air_of(question.pace, weights, player)
    search = _Search(table, question, lattice, relaxed_costs(lattice, question.ask_of), air)
    octave_points = float(weights["fit"]["octave_shift_points"])
    extra = np.array([octave_points * (abs(found[0][1]) // 12) for found in ways.values()])
    best, exact = _best(search, extra, top)
    listed = list(ways.values())
    ranked = []
    for score, case, path in best:
        (harp, shift), *also = listed[case]
        route = route_from(played.moved(shift), harp, shift, path, table, question.pace, air)
        ranked.append(Ranked(harp, shift, score, route, tuple(also)))
    return Survey(tuple(ranked), len(ways), exact)
