"""The survey: which harp, position, octave and key play a phrase best.

A route depends only on the tuning and on how far the phrase lies above the harp's key note, so every such case is
searched once, however many harps and shifts lead to it. Three bounds from below keep the work small without changing
the result: what the moves alone must cost orders the cases; the search without air (`relaxed`) bounds those that are
laid out; and only cases whose bound still beats the ranking are searched with air. The ranking is therefore the one
that searching every case in full would give (a test does so).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import nsmallest
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from reedpath.arrange.convention import convention_of
from reedpath.arrange.finding import (
    Way,
    alike_route,
    question_of,
    route_from,
    shifts_of,
    table_for,
    way_losses,
    way_points,
)
from reedpath.arrange.lattice import Case, Question, lattice_of, least_points
from reedpath.arrange.lungs import Air, air_of
from reedpath.arrange.player import Player, Weights, load_player, load_weights
from reedpath.arrange.relaxed import Relaxed, relaxed_costs
from reedpath.arrange.route import Effort, Route
from reedpath.arrange.search import Path, shortest_path
from reedpath.arrange.table import ChoiceTable
from reedpath.harp import Harp, Tuning, load_tuning, make_harp, position_between, reach_of, tuning_names
from reedpath.phrase import Phrase, performed
from reedpath.pitch import pitch_class_name

if TYPE_CHECKING:
    from reedpath.arrange.settling import Settled

Points: TypeAlias = NDArray[np.float64]

# semitones by which a phrase may be moved: whole octaves, small shifts first
OCTAVE_SHIFTS = (0, -12, 12, -24, 24)
# a case is searched where at least this share of the events lies within the harp's reach; common sense, no source
LEAST_SHARE_IN_REACH = 0.5
# cases laid out together; more saves calls, fewer saves work on lost cases (docs/performance.md)
CASES_AT_ONCE = 96
# and of the first of them, among which the best mostly are
FIRST_CASES = 24


@dataclass(frozen=True, slots=True)
class Ranked:
    """One line of a survey.

    harp : the instrument.
    position : 1 to 12, None where the phrase's key is unknown.
    shift_semitones : how far the phrase is moved.
    effort : what the best route costs there, term by term.
    worst : points of its hardest stretch.
    truth : 1 where every note is as given.
    custom : points for what players seldom choose, positions, octaves and tunings (see `convention`).
    held_back : what the score adds to the effort, points by name: ``truth`` and the terms of the custom.
    score : points by which lines are ranked: effort, the price of lost truth, and custom.
    also : other harps and shifts that play by the very same route.
    """

    harp: Harp
    position: int | None
    shift_semitones: int
    effort: Effort
    worst: float
    truth: float
    custom: float
    held_back: Mapping[str, float]
    score: float
    also: tuple[tuple[Harp, int], ...]
    _search: _Search = field(repr=False, compare=False)
    _way: Way = field(repr=False, compare=False)

    def route(self, *, alike: bool = False) -> Route:
        """The best route itself; with figures ``alike`` where that is worth a little more (see `alike`)."""
        search = self._search
        if alike:
            return search.alike_route(self.harp, self.shift_semitones)
        played = search.played.moved(self.shift_semitones)
        return route_from(
            played, self.harp, self.shift_semitones, self._way, search.table, search.question, search.air
        )


class Survey(Struct, frozen=True):
    """What plays a phrase best.

    ranked : best first.
    cases : how many distinct cases were searched.
    exact : how many of them needed the search with air, the others being out of the running by their bound.
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


def _cases(
    question: Question, harps: Sequence[Harp], shifts: Sequence[int]
) -> tuple[list[Case], list[list[tuple[Harp, int]]]]:
    """Cases worth searching, and for each the harps and shifts that lead to it, smallest shift first."""
    weight = np.bincount(question.ask_of, minlength=len(question.asks)) / len(question.ask_of)
    lowest = np.array([ask.pitches[0] for ask in question.asks])
    highest = np.array([ask.pitches[-1] for ask in question.asks])
    by_tuning: dict[Tuning, list[Harp]] = {}
    for harp in harps:
        by_tuning.setdefault(harp.tuning, []).append(harp)
    found: list[tuple[float, Case, list[tuple[Harp, int]]]] = []
    for tuning, tuned in by_tuning.items():
        reach = [pitches[0] for pitches in reach_of(tuning).by_pitches if len(pitches) == 1]
        ways: dict[int, list[tuple[Harp, int]]] = {}
        for shift in sorted(shifts, key=abs):
            for harp in tuned:
                ways.setdefault(shift - harp.key_midi, []).append((harp, shift))
        offsets = np.array(list(ways))[:, None]
        inside = (lowest + offsets >= min(reach)) & (highest + offsets <= max(reach))
        shares = (inside @ weight).tolist()
        found += [(share, Case(tuning, at), ways[at]) for share, at in zip(shares, ways, strict=True)]
    needed = min(LEAST_SHARE_IN_REACH, max((share for share, _, _ in found), default=0.0))
    kept = [(case, ways) for share, case, ways in found if share >= needed]
    return [case for case, _ in kept], [ways for _, ways in kept]


class _Found(Struct, frozen=True):
    """A case made exact."""

    score: float
    case: int
    way: Way

    @property
    def rank(self) -> tuple[float, int]:
        """Order in a survey; scores that differ by rounding alone are equal."""
        return round(self.score, 9), self.case


@dataclass(slots=True)
class _Search:
    """The cases of one survey, searched from the most promising on.

    cases : what to search, in the order of their ways.
    customs : points by name that custom adds to each case's score, and ``extra`` their sums.
    price_points : effort that a whole event's truth is worth.
    found : cases made exact.
    """

    played: Phrase
    table: ChoiceTable
    question: Question
    air: Air
    cases: Sequence[Case]
    customs: Sequence[Mapping[str, float]]
    extra: Points
    price_points: float
    found: list[_Found] = field(default_factory=list)
    _known: dict[bytes, Path] = field(default_factory=dict)

    def _out(self, bound: float, top: int) -> bool:
        """Whether a case with that bound can no longer come among the ``top``."""
        return len(self.found) >= top and round(bound, 9) > self.best(top)[-1].rank[0]

    def best(self, top: int) -> list[_Found]:
        """The best so far."""
        return nsmallest(top, self.found, key=lambda one: one.rank)

    def _exact(self, relaxed: Relaxed, index: int) -> tuple[float, Way]:
        flow = self.table.columns["flow"]
        likeness = relaxed.likeness(index, flow)
        path = self._known.get(likeness)
        if path is None:
            path = self._known[likeness] = shortest_path(relaxed.layers(index, flow), self.air)
        return path.cost, Way(relaxed.rows(index, path), path.breathe, path.start)

    def alike_route(self, harp: Harp, shift_semitones: int) -> Route:
        """The best route on a harp with figures alike where that is worth it."""
        return alike_route(
            self.played, harp, shift_semitones, self.table, self.question, self.air, price_points=self.price_points
        )

    def run(self, top: int) -> None:
        """Search until no case left can come among the ``top``."""
        least = self.extra + least_points(self.table, self.question, self.cases, price_points=self.price_points)
        order = np.argsort(least, kind="stable")
        done, size = 0, FIRST_CASES
        while done < len(order):
            batch = order[done : done + size]
            done += len(batch)
            size = CASES_AT_ONCE - done % CASES_AT_ONCE
            if self._out(float(least[batch[0]]), top):
                return
            cases = [self.cases[case] for case in batch]
            relaxed = relaxed_costs(lattice_of(self.table, self.question, cases, price_points=self.price_points))
            bounds = relaxed.costs + self.extra[batch]
            for index in np.argsort(bounds, kind="stable").tolist():
                if self._out(float(bounds[index]), top):
                    break
                cost, way = self._exact(relaxed, index)
                case = int(batch[index])
                self.found.append(_Found(cost + float(self.extra[case]), case, way))

    def ranked(self, found: _Found, ways: list[tuple[Harp, int]]) -> Ranked:
        """The line of a survey for a case and the harps and shifts that lead to it."""
        (harp, shift), *also = ways
        terms, _ = way_points(self.table, found.way, self.question, self.air)
        each = np.sum(list(terms.values()), axis=0)
        window = min(self.table.weights.spot.window_events, len(each))
        key = self.played.key
        lost = float(way_losses(self.table, found.way, self.question).sum())
        held_back = {"truth": self.price_points * lost} | dict(self.customs[found.case])
        return Ranked(
            harp=harp,
            position=None if key is None else position_between(harp.key_midi, key.moved(shift).tonic),
            shift_semitones=shift,
            effort=Effort({name: float(points.sum()) for name, points in terms.items() if points.any()}),
            worst=float(np.convolve(each, np.ones(window), "valid").max()),
            truth=max(0.0, 1.0 - lost / len(each)),
            custom=float(self.extra[found.case]),
            held_back={name: points for name, points in held_back.items() if points > 0},
            score=found.score,
            also=tuple(also),
            _search=self,
            _way=found.way,
        )


def ranked_as(phrase: Phrase, settled: Settled) -> Ranked:
    """The line of a survey for a phrase settled in one way, whatever the survey itself would find."""
    played, harp, shift = performed(phrase), settled.harp, settled.shift_semitones
    weights, player = settled.table.weights, settled.table.player
    customs = convention_of(played, player, weights).terms(harp, shift)
    search = _Search(
        played=played,
        table=settled.table,
        question=question_of(played),
        air=settled.passes.air,
        cases=[Case(harp.tuning, shift - harp.key_midi)],
        customs=[customs],
        extra=np.array([sum(customs.values())]),
        price_points=weights.fit.price_points,
    )
    found = _Found(settled.cost + float(search.extra[0]), 0, settled.way())
    return search.ranked(found, [(harp, shift)])


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

    phrase : as given; it is performed first.
    harps : the harps to consider, all keys and shipped tunings for None.
    shifts : semitones by which the phrase may be moved (see `octave_shifts`).
    top : how many lines are wanted.

    Raises `PhraseError` where the phrase can be moved by none of the shifts.
    """
    player, weights = player or load_player(), weights or load_weights()
    played = performed(phrase)
    if not played.events:
        return Survey((), 0, 0)
    question = question_of(played)
    cases, ways = _cases(question, all_harps() if harps is None else harps, shifts_of(played, shifts))
    convention = convention_of(played, player, weights)
    customs = [convention.terms(*pairs[0]) for pairs in ways]
    search = _Search(
        played=played,
        table=table_for(player, weights),
        question=question,
        air=air_of(question.pace, weights, player),
        cases=cases,
        customs=customs,
        extra=np.array([sum(terms.values()) for terms in customs]),
        price_points=weights.fit.price_points,
    )
    search.run(top)
    ranked = tuple(search.ranked(found, ways[found.case]) for found in search.best(top))
    return Survey(ranked, len(cases), len(search.found))
