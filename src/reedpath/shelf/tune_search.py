"""Search by tune: which of thousands of melodies holds these few notes, in any key, at any tempo, with mistakes.

A query is laid along every melody at once by dynamic programming over *anchors*: notes of the query that are notes
of the melody. From one anchor to the next either side goes on by one note, or one side by two or three where a note
was added, left out, or sung as one. What an anchor costs is told by the interval from the anchor before, so the key
does not matter, and a wrong note, which is no anchor, costs once. The few melodies that cost least are then weighed
again with their rhythm: for each of several tempos, the logarithm of the time from anchor to anchor against the
melody's.

The method is that of alignment in music retrieval (Mongeau & Sankoff, "Comparison of musical sequences", 1990, whose
consolidation and fragmentation are steps here; from memory), over a whole library at once in numpy. docs/shelf.md
says how often it finds a tune.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from functools import cached_property
from itertools import chain, pairwise
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.shelf.melodies import ENOUGH_NOTES, FEWEST_NOTES, Melody, TuneFound

# notes from one anchor to the next, of the query and of the melody, and what that costs beside the interval; as the
# costs below tuned on queries with known mistakes (bench/tune_search.py)
STEPS = (((1, 1), 0.0), ((1, 2), 1.0), ((2, 1), 1.0), ((2, 2), 1.1), ((1, 3), 1.9), ((2, 3), 2.0))
# cost of an interval that is wrong by so many semitones; more than the last costs that
INTERVAL_COSTS = (0.0, 1.5, 1.8, 2.4, 2.6, 2.8, 3.0)
# cost of a first or a last note of the query that is no anchor
END_COST = 1.2
# cost of each doubling that a length is off from what the length before leads one to expect, and doublings that count
RATIO_COST, MOST_RATIO = 0.5, 2.0
# cost by the square of the doublings from anchor to anchor at one tempo, and the most of it
TIME_COST, MOST_TIME_COST = 1.0, 1.0
# tempos that are tried, as shares of the melody's own: whole stretch in doublings to both sides, and how many
TEMPO_SPAN, TEMPOS = 1.2, 13
# melodies that are weighed again
WEIGHED = 200

# a cost of 1 in the whole numbers of the first pass, and what nothing reaches
_UNIT, _NEVER = 20, 255
# between melodies: notes, as many as the longest step
_GAP = 3
# semitones of an interval that is told apart, and where 0 lies in a byte; a byte that is no interval
_WIDEST, _MIDDLE, _NO_INTERVAL = 60, 100, 255
# steps of a doubling of lengths, where 0 lies, and the widest
_RATIO_STEPS, _RATIO_MIDDLE, _WIDEST_RATIO = 8, 50, 40
# seconds or beats under which two onsets count as so far apart
_SHORTEST = 1e-3

Bytes: TypeAlias = NDArray[np.uint8]
Costs: TypeAlias = NDArray[np.uint16]
Floats: TypeAlias = NDArray[np.float32]


def _interval_table(semitones: int, step_cost: float) -> bytes:
    """Cost of each interval of melodies against one of the query, for `bytes.translate`."""
    off = np.minimum(np.abs(np.arange(256) - _MIDDLE - semitones), len(INTERVAL_COSTS) - 1)
    costs = np.round((np.array(INTERVAL_COSTS)[off] + step_cost) * _UNIT)
    costs[_NO_INTERVAL] = _NEVER
    return costs.astype(np.uint8).tobytes()


def _ratio_table(doublings: float) -> bytes:
    """Cost of each ratio of lengths of melodies against one of the query."""
    off = np.abs((np.arange(256) - _RATIO_MIDDLE) / _RATIO_STEPS - doublings)
    return np.round(_UNIT * RATIO_COST * np.minimum(off, MOST_RATIO)).astype(np.uint8).tobytes()


def _from_anchors(size: int, at: int) -> Iterable[tuple[int, int, float]]:
    """Steps that lead to a note of the query, as (notes of the query, of the melody, cost)."""
    return ((queried, sung, cost) for (queried, sung), cost in STEPS if queried <= at < size)


def _semitones_higher(midi: NDArray[np.int64], than: NDArray[np.int16]) -> int:
    """How much higher most notes of a line are than those at about the same place of another."""
    at = np.linspace(0, len(than) - 1, len(midi))
    apart = midi[:, None] - than[None, :]
    near = np.abs(at[:, None] - np.arange(len(than))[None, :]) <= 1
    values, counts = np.unique(apart[near], return_counts=True)
    return int(values[counts.argmax()])


class _Weighed(NamedTuple):
    """Melodies weighed: the least cost of each, places of the first and the last note there, doublings of lengths."""

    costs: Floats
    first: NDArray[np.int64]
    last: NDArray[np.int64]
    doublings: Floats


class TuneIndex:
    """Melodies, ready to be searched.

    melodies : in the order of their numbers; one without notes is never found.
    """

    def __init__(self, melodies: Iterable[Melody]) -> None:
        kept = list(melodies)
        self._sizes = np.array([len(one.midi) for one in kept], dtype=np.int64)
        notes = int(self._sizes.sum())
        # where each melody begins, with a gap before it and one at the end
        self._starts = _GAP + np.concatenate([[0], np.cumsum(self._sizes + _GAP)[:-1]]) if kept else np.empty(0, int)
        self._midi = np.zeros(notes + _GAP * (len(kept) + 1), dtype=np.int16)
        self._lengths = np.ones(len(self._midi), dtype=np.float32)
        self._is_note = np.zeros(len(self._midi), dtype=bool)
        places = self._places(range(len(kept)), before=0)
        self._midi[places] = np.fromiter(chain.from_iterable(one.midi for one in kept), np.int16, notes)
        lengths = (one.lengths or (1.0,) * len(one.midi) for one in kept)
        self._lengths[places] = np.fromiter(chain.from_iterable(lengths), np.float32, notes)
        self._is_note[places] = True

    def __len__(self) -> int:
        return len(self._sizes)

    def _places(self, numbers: Sequence[int] | NDArray[np.int64], *, before: int) -> NDArray[np.int64]:
        """Places of the notes of some melodies, one after another, and so many before each."""
        spans = [np.arange(self._starts[one] - before, self._starts[one] + self._sizes[one]) for one in numbers]
        return np.concatenate(spans) if spans else np.empty(0, dtype=np.int64)

    @cached_property
    def _intervals(self) -> dict[int, bytes]:
        """For steps of 1, 2 and 3 notes, the interval that leads to each note, as a byte."""
        found = {}
        for step in range(1, _GAP + 1):
            apart = np.zeros(len(self._midi), dtype=np.int16)
            apart[step:] = self._midi[step:] - self._midi[:-step]
            known = np.zeros(len(self._midi), dtype=bool)
            known[step:] = self._is_note[step:] & self._is_note[:-step]
            known &= np.abs(apart) <= _WIDEST
            found[step] = np.where(known, apart + _MIDDLE, _NO_INTERVAL).astype(np.uint8).tobytes()
        return found

    @cached_property
    def _ratios(self) -> bytes:
        """For each note, how many times as long the note before lasted as the one before that, as a byte."""
        logs = np.log2(np.maximum(self._lengths, _SHORTEST))
        doublings = np.zeros(len(logs))
        doublings[2:] = logs[1:-1] - logs[:-2]
        steps = np.clip(np.round(doublings * _RATIO_STEPS), -_WIDEST_RATIO, _WIDEST_RATIO)
        return (steps + _RATIO_MIDDLE).astype(np.uint8).tobytes()

    def _first_costs(self, query: Melody) -> Costs:
        """Cost of the query ending at each note, in whole numbers, by its intervals and ratios of lengths."""
        size, notes = len(query.midi), len(self._midi)
        logs = np.log2(np.maximum(query.lengths, _SHORTEST)) if query.lengths else None
        ends: list[Costs] = [np.zeros(notes, dtype=np.uint16)]
        for at in range(1, size):
            best = np.full(notes, round(END_COST * _UNIT) if at == 1 else _NEVER, dtype=np.uint16)
            for queried, sung, step_cost in _from_anchors(size, at):
                table = _interval_table(query.midi[at] - query.midi[at - queried], step_cost)
                cost = np.frombuffer(self._intervals[sung].translate(table), np.uint8).astype(np.uint16)
                if logs is not None and queried == sung == 1 and at > 1:
                    cost += np.frombuffer(self._ratios.translate(_ratio_table(logs[at - 1] - logs[at - 2])), np.uint8)
                cost[sung:] += ends[at - queried][:-sung]
                np.minimum(best[sung:], cost[sung:], out=best[sung:])
            ends.append(np.minimum(best, _NEVER, out=best))
        if size > ENOUGH_NOTES // 2:
            np.minimum(ends[-1], ends[-2] + np.uint16(round(END_COST * _UNIT)), out=ends[-1])
        return ends[-1]

    def _nearest(self, query: Melody, count: int, among: Collection[int] | None) -> NDArray[np.int64]:
        """Numbers of the melodies that cost least in the first pass."""
        costs = self._first_costs(query)
        costs[~self._is_note] = _NEVER
        there = np.flatnonzero(self._sizes)
        least = np.minimum.reduceat(costs, self._starts[there])
        if among is not None:
            is_asked = np.isin(there, np.fromiter(among, np.int64, len(among)))
            there, least = there[is_asked], least[is_asked]
        if len(there) > count:
            there = there[np.argpartition(least, count)[:count]]
        return np.sort(there)

    def find(self, query: Melody, *, top: int = 10, among: Collection[int] | None = None) -> list[TuneFound]:
        """The melodies that hold the query best, the nearest first; none for a query under three notes.

        A melody that is too short for the query, whatever is left out or added, is never found.

        top : how many at most.
        among : numbers of the melodies that are asked about, None for all.
        """
        if len(query.midi) < FEWEST_NOTES or not self._sizes.any():
            return []
        numbers = self._nearest(query, max(top, WEIGHED), among)
        if not len(numbers):
            return []
        costs = self._weighed(query, numbers).costs
        order = np.argsort(costs, kind="stable")[:top]
        best = numbers[order[np.isfinite(costs[order])]]
        if not len(best):
            return []
        weighed = self._weighed(query, best, with_starts=True)
        found = [self._found(query, int(number), weighed, at) for at, number in enumerate(best)]
        return sorted(found, key=lambda one: one.cost)

    def _found(self, query: Melody, number: int, weighed: _Weighed, at: int) -> TuneFound:
        first, last = weighed.first[at], weighed.last[at]
        higher = _semitones_higher(np.array(query.midi), self._midi[first : last + 1])
        start = self._starts[number]
        return TuneFound(
            number, float(weighed.costs[at]), int(first - start), int(last - start), higher,
            float(2.0 ** weighed.doublings[at]),
        )  # fmt: skip

    def _weighed(self, query: Melody, numbers: NDArray[np.int64], *, with_starts: bool = False) -> _Weighed:
        """Some melodies weighed with their rhythm at each tempo.

        with_starts : whether it is also kept where the query begins, which takes longer; else as where it ends.
        """
        places = self._places(numbers, before=_GAP)
        doublings = np.linspace(-TEMPO_SPAN, TEMPO_SPAN, TEMPOS) if query.lengths else np.zeros(1)
        tempos = doublings.astype(np.float32)[:, None]
        time_cost = self._time_costs(query, places, tempos)
        intervals = {step: np.frombuffer(self._intervals[step], np.uint8)[places] for step in self._intervals}
        costs: list[Floats] = [np.zeros((len(tempos), len(places)), dtype=np.float32)]
        starts = [np.broadcast_to(np.arange(len(places)), costs[0].shape)]
        for at in range(1, len(query.midi)):
            best = np.full(costs[0].shape, END_COST if at == 1 else np.inf, dtype=np.float32)
            start = starts[0].copy() if with_starts else starts[0]
            for queried, sung, step_cost in _from_anchors(len(query.midi), at):
                asked = _interval_table(query.midi[at] - query.midi[at - queried], step_cost)
                table = np.frombuffer(asked, np.uint8).astype(np.float32) / _UNIT
                table[_NO_INTERVAL] = np.inf
                cost = time_cost(at, queried, sung) + table[intervals[sung]][None]
                here = cost[:, sung:]
                here += costs[at - queried][:, :-sung]
                if with_starts:
                    is_better = here < best[:, sung:]
                    start[:, sung:][is_better] = starts[at - queried][:, :-sung][is_better]
                np.minimum(best[:, sung:], here, out=best[:, sung:])
            costs.append(best)
            starts.append(start)
        whole, begun = costs[-1], starts[-1]
        if len(query.midi) > ENOUGH_NOTES // 2:
            cut = costs[-2] + np.float32(END_COST)
            whole, begun = np.minimum(cut, whole), np.where(cut < whole, starts[-2], begun)
        # of each melody the least over places and tempos
        rows = whole.argmin(axis=0)
        least = whole[rows, np.arange(len(places))]
        edges = np.concatenate([[0], np.cumsum(self._sizes[numbers] + _GAP)])
        last = np.array([edge + least[edge:stop].argmin() for edge, stop in pairwise(edges)])
        return _Weighed(least[last], places[begun[rows[last], last]], places[last], tempos[rows[last], 0])

    def _time_costs(
        self, query: Melody, places: NDArray[np.int64], tempos: Floats
    ) -> Callable[[int, int, int], Floats]:
        """What the time between two anchors costs: by the query's note, its step and the melody's, at each tempo."""
        if not query.lengths:
            return lambda at, queried, sung: np.zeros(1, dtype=np.float32)
        asked = np.concatenate([[0.0], np.cumsum(query.lengths)])
        onsets = np.cumsum(self._lengths[places], dtype=np.float64)
        logs: dict[int, Floats] = {}
        for step in range(1, _GAP + 1):
            apart = np.ones(len(places))
            apart[step:] = (onsets - self._lengths[places])[step:] - (onsets - self._lengths[places])[:-step]
            logs[step] = np.log2(np.maximum(apart, _SHORTEST)).astype(np.float32)

        def cost(at: int, queried: int, sung: int) -> Floats:
            length = np.float32(np.log2(max(_SHORTEST, asked[at] - asked[at - queried])))
            off = length - logs[sung][None] - tempos
            return np.minimum(TIME_COST * off * off, MOST_TIME_COST)

        return cost
