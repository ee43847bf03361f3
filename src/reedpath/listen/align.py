"""Lining up: where in a take each event of a route is played, play-through by play-through.

Two passes of the same exact decoding (see `course`): the first knows only what should sound in what order, and so
finds every play-through at any tempo; from its onsets the time map of each play-through is fitted (see `timemap`),
and the second pass, with the times at which events are due, decides which of several like notes was the missing
one. A run that goes back a few events and goes on is one play-through with a restart.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.hear import HOP_SECONDS, Observations
from reedpath.listen.atoms import Hearing, atoms_of, heard_in
from reedpath.listen.course import Course, Run, follow, runs_of
from reedpath.listen.expected import Score, pitch_prior, score_of
from reedpath.listen.fit import BEST_FIT, fit_of
from reedpath.listen.playthrough import LinedUp, Placed, PlayThrough, Restart
from reedpath.listen.timemap import Pause, TimeMap, time_map

__all__ = ["line_up"]

Float64 = npt.NDArray[np.float64]

# events that a run must hold, and share of its stretch that must fit well, to be a play-through and no chance
# likeness in talk; found by trial on singing
FEWEST_EVENTS, LEAST_SHARE = 5, 0.5
# events under which a run must fit in a larger share, and be in time: beats that half of its onsets may be off by
SURE_EVENTS, SHORT_SHARE, IN_TIME_BEATS = 8, 0.75, 0.1
# fit of an event, as a share of the best, at which it fits well
FITS_WELL = 0.3
# missing events at the ends of a run that still count as missing rather than as not tried
EDGE = 2
# seconds between two runs within which going back is a restart and not another play-through
RESTART_SECONDS = 5.0
# events that may be lost between two runs that are still one; a bar of eighths would be another place
MOST_LOST = 4
# rounds of the second pass
ROUNDS = 2
# seconds, and beats, by which an onset may miss its time before it speaks against it; the larger counts
TIME_SPREAD_SECONDS, TIME_SPREAD_BEATS = 0.05, 0.1
# what missing it costs, times the logarithm of the square of how far (a heavy tail: a pause is no impossibility)
TIME_PRICE = 1.5
# what a break of the time costs, less than a missing note; and breaks up to which each is doubted by itself
PAUSE_PRICE, MOST_DOUBTED = 1.5, 4
# seconds before a run's first event and after its last in which its missing ends are sought
MARGIN_SECONDS = 1.0
# confidence that a sound of a wrong pitch, clearly heard, still is the event; from memory
WRONG_IS_SURE = 0.4
# seconds by which a voiced stretch outlives its sound (see `reedpath.hear`)
VOICED_LATE_SECONDS = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """What both passes share."""

    score: Score
    course: Course
    hearing: Hearing
    written: Float64
    beats: Float64

    def onsets(self, run: Run) -> tuple[npt.NDArray[np.intp], Float64]:
        """Places of the events of a run, and when they begin."""
        places = np.array(list(run.spans), dtype=np.intp)
        return places, self.course.atoms.seconds[[span[0] for span in run.spans.values()]]

    def fit_share(self, place: int, span: tuple[int, int]) -> float:
        """How well an event fits its atoms, as a share of the best there is."""
        atoms = slice(span[0], span[1] + 1)
        frames = float(self.course.voiced[atoms].sum())
        return float(self.course.fit[atoms, self.course.kind_of[place]].sum()) / (BEST_FIT * max(frames, 1.0))

    def settled(self, place: int, span: tuple[int, int]) -> tuple[int, int]:
        """The atoms of an event without those before its sound: what rings on from another before it is struck."""
        first, last = span
        begins = self.course.atoms.begins
        later = [atom for atom in range(first, last + 1) if begins[atom]]
        if not later or later[0] == first:
            return span
        return span if self.fit_share(place, (first, later[0] - 1)) > FITS_WELL else (later[0], last)

    def mapped(self, run: Run, first: int, last: int, *, unbroken: frozenset[int] = frozenset()) -> TimeMap:
        """The time map of a run."""
        places, seconds = self.onsets(run)
        return time_map(self.written, self.beats, places, seconds, first=first, last=last, unbroken=unbroken)


def _is_playing(table: _Table, run: Run) -> bool:
    well = sum(table.fit_share(place, span) > FITS_WELL for place, span in run.spans.items())
    wanted = min(FEWEST_EVENTS, len(table.score))
    spanned = run.last - run.first + 1
    share = LEAST_SHARE if spanned >= min(SURE_EVENTS, len(table.score)) else SHORT_SHARE
    return well >= wanted and well >= share * spanned


def _is_in_time(table: _Table, play: PlayThrough) -> bool:
    """Whether a short play-through keeps a beat of its own, as no chance likeness does."""
    played = [one for one in play.events if one.played]
    if len(played) >= min(SURE_EVENTS, len(table.score)):
        return True
    beats = {one.index: one.beat_seconds for one in table.score.events}
    off = [abs(one.start_seconds - one.due_seconds) / (beats[one.event] * one.pace) for one in played]
    return float(np.median(off)) < IN_TIME_BEATS


def _grouped(table: _Table, runs: Iterable[Run]) -> list[list[Run]]:
    """Runs that make one play-through together: those that go on where the one before stopped are joined, those
    that go back a little and go on stand beside it.
    """
    groups: list[list[Run]] = []
    seconds = table.course.atoms.seconds
    for run in runs:
        before = groups[-1][-1] if groups else None
        if before is None or seconds[run.first_atom] - seconds[before.last_atom] >= RESTART_SECONDS:
            groups.append([run])
        elif before.last < run.first <= before.last + 1 + MOST_LOST:
            groups[-1][-1] = Run({**before.spans, **run.spans})
        elif groups[-1][0].first < run.first <= before.last < run.last:
            groups[-1].append(run)
        else:
            groups.append([run])
    return groups


def _range_of(table: _Table, run: Run) -> tuple[int, int]:
    """Events that a run tried: those missing at the very ends of the route included."""
    end = len(table.score) - 1
    return (0 if run.first <= EDGE else run.first), (end if run.last >= end - EDGE else run.last)


@dataclass(frozen=True, slots=True, eq=False)
class _Reading:
    """One way to read a run: its events and when they were due, and what that is worth."""

    run: Run
    due: TimeMap
    gain: float


def _read(table: _Table, run: Run, due: TimeMap, bounds: tuple[int, int]) -> _Reading | None:
    """The run found again, knowing when its events are due; within bounds on its atoms."""
    first, last = due.first, due.first + len(due.pace) - 1
    seconds, when = table.course.atoms.seconds, due.due_seconds
    begin = max(bounds[0], min(run.first_atom, int(np.searchsorted(seconds, when[0] - MARGIN_SECONDS))))
    end = min(bounds[1], max(run.last_atom + 1, int(np.searchsorted(seconds, when[-1] + MARGIN_SECONDS))))
    part = table.course.part(slice(begin, end), slice(first, last + 1))
    spread = np.maximum(TIME_SPREAD_SECONDS, TIME_SPREAD_BEATS * table.beats[first : last + 1] * due.pace)
    at = seconds[begin:end]

    def lateness(atom: int) -> Float64:
        return np.asarray(TIME_PRICE * np.log1p(np.square((at[atom] - when) / spread)))

    path = follow(part, lateness=lateness)
    found = runs_of(path)
    if not found:
        return None
    best = max(found, key=lambda one: len(one.spans))
    spans = {place + first: (a + begin, b + begin) for place, (a, b) in best.spans.items()}
    settled = Run({place: table.settled(place, span) for place, span in spans.items()})
    return _Reading(settled, due, path.gain - PAUSE_PRICE * len(due.pauses))


def _readings(table: _Table, run: Run, bounds: tuple[int, int]) -> list[_Reading]:
    """Ways to read a run: with every break of its time that it seems to have, and with each of them doubted."""
    first, last = _range_of(table, run)
    due = table.mapped(run, first, last)
    places = frozenset(pause.before for pause in due.pauses)
    doubted = {places, *(frozenset({place}) for place in places)} if len(places) <= MOST_DOUBTED else {places}
    maps = [due, *(table.mapped(run, first, last, unbroken=doubt) for doubt in doubted if doubt)]
    readings = [_read(table, run, one, bounds) for one in maps]
    return [one for one in readings if one is not None]


def _second_pass(table: _Table, run: Run, bounds: tuple[int, int]) -> tuple[Run, TimeMap]:
    """The best reading of a run, and when its events were due."""
    due = table.mapped(run, *_range_of(table, run))
    for _ in range(ROUNDS):
        readings = _readings(table, run, bounds)
        if not readings:
            break
        best = max(readings, key=lambda one: one.gain)
        unbroken = frozenset(best.run.spans) - {pause.before for pause in best.due.pauses}
        run = best.run
        due = table.mapped(run, *_range_of(table, run), unbroken=unbroken)
    return run, due


def _end_seconds(table: _Table, span: tuple[int, int]) -> float:
    """When the sound of some atoms ends."""
    atoms, curve = table.course.atoms, table.hearing.curve
    first, last = int(atoms.cuts[span[0]]), int(atoms.cuts[span[1] + 1])
    sounding = np.flatnonzero(curve.voiced[first:last])
    whole = float(atoms.seconds[span[1] + 1]) if span[1] + 1 < len(atoms) else len(curve) * HOP_SECONDS
    if not len(sounding):
        return whole
    heard = (first + int(sounding[-1]) + 1) * HOP_SECONDS
    if heard >= last * HOP_SECONDS - HOP_SECONDS / 2 and last < len(curve) and curve.voiced[last]:
        return whole
    return max(min(whole, heard) - VOICED_LATE_SECONDS, float(atoms.seconds[span[0]]) + HOP_SECONDS)


def _placed(table: _Table, run: Run, due: TimeMap, place: int) -> Placed:
    expected = table.score.events[place]
    when, pace = float(due.due_seconds[place - due.first]), float(due.pace[place - due.first])
    span = run.spans.get(place)
    if span is None:
        length = (expected.end_seconds - expected.start_seconds) * pace
        return Placed(expected.index, when, when + length, played=False, due_seconds=when, pace=pace, confidence=0.0)
    start = float(table.course.atoms.seconds[span[0]])
    frames = slice(*table.course.atoms.cuts[[span[0], span[1] + 1]])
    heard = float(table.hearing.curve.confidence[frames][table.hearing.curve.voiced[frames]].mean())
    fits = float(np.clip(table.fit_share(place, span), 0.0, 1.0))
    sure = heard * (WRONG_IS_SURE + (1.0 - WRONG_IS_SURE) * fits)
    end = _end_seconds(table, span)
    return Placed(expected.index, start, end, played=True, due_seconds=when, pace=pace, confidence=sure)


def _with_doubts(events: list[Placed]) -> tuple[Placed, ...]:
    """A missing event is as sure as its neighbours that sound are."""
    sure = [one.confidence for one in events if one.played]
    usual = float(np.median(sure)) if sure else 0.0
    return tuple(one if one.played else replace(one, confidence=usual) for one in events)


def _play_through(table: _Table, group: list[Run], bounds: tuple[int, int]) -> PlayThrough:
    events: list[Placed] = []
    pauses: list[Pause] = []
    restarts: list[Restart] = []
    paces: list[tuple[float, int]] = []
    for number, first_found in enumerate(group):
        begin = bounds[0] if number == 0 else first_found.first_atom
        end = bounds[1] if number == len(group) - 1 else group[number + 1].first_atom
        run, due = _second_pass(table, first_found, (begin, end))
        first, last = _range_of(table, run)
        first = run.first if number else first
        last = run.last if number < len(group) - 1 else last
        if number:
            back_to = table.score.events[first].index
            kept = [one for one in events if one.event < back_to]
            if len(kept) < len(events):
                at = float(table.course.atoms.seconds[run.first_atom])
                dropped = min(one.start_seconds for one in events if one.event >= back_to)
                restarts.append(Restart(dropped, at, events[-1].event, back_to))
            events = kept
        events += [_placed(table, run, due, place) for place in range(first, last + 1)]
        pauses += [replace(one, before=table.score.events[one.before].index) for one in due.pauses]
        paces.append((due.steady_pace, len(run.spans)))
    placed = _with_doubts(events)
    sounding = [one for one in placed if one.played]
    total = sum(count for _, count in paces)
    return PlayThrough(
        start_seconds=min(one.start_seconds for one in sounding),
        end_seconds=max(one.end_seconds for one in sounding),
        tempo_factor=total / sum(pace * count for pace, count in paces),
        events=placed,
        whole=len(placed) == len(table.score),
        pauses=tuple(pauses),
        restarts=tuple(restarts),
        confidence=float(np.mean([one.confidence for one in placed])),
    )


def line_up(seen: Observations, route: Route) -> LinedUp:
    """
    Line a take up with a route.

    Parameters
    ----------
    seen : what `reedpath.hear.observe` sees in the take.

    Returns
    -------
    The play-throughs found, in order; none for silence, for other music, and for an empty route.
    """
    score = score_of(route)
    hearing = heard_in(seen, prior=pitch_prior(route.harp))
    curve = hearing.curve
    if not len(score) or not curve.voiced.any():
        return LinedUp(route, score, hearing, ())
    atoms = atoms_of(hearing)
    fit, kind_of = fit_of(score, curve, atoms)
    voiced = np.add.reduceat(curve.voiced.astype(np.float64), atoms.cuts[:-1])
    course = Course(atoms, fit, kind_of, voiced)
    table = _Table(score, course, hearing, score.array("start_seconds"), score.array("beat_seconds"))
    runs = [run for run in runs_of(follow(course)) if _is_playing(table, run)]
    groups = _grouped(table, runs)
    bounds = [group[0].first_atom for group in groups] + [len(atoms)]
    found = []
    for number, group in enumerate(groups):
        lower = 0 if number == 0 else groups[number - 1][-1].last_atom + 1
        found.append(_play_through(table, group, (lower, bounds[number + 1])))
    return LinedUp(route, score, hearing, tuple(play for play in found if _is_in_time(table, play)))
