"""Score following: which event of the route sounds in which segment of a take, by dynamic programming.

A hidden Markov model of left-to-right score following (Orio, Lemouton & Schwarz, "Score following: state of the
art and new developments", NIME 2003; Cont, ICASSP 2006), decoded exactly. For each event there are two states,
sounding and over, and for the whole one state of nothing to do with the route. As in local alignment (Smith &
Waterman, J. Mol. Biol. 147, 1981) a run may begin at any event and end at any event, and any number of runs may
follow one another; so talk between play-throughs, restarts and takes of a part cost a fixed price only. Events
may be skipped at a price each, any number at once: the best predecessor of every event is a running maximum, so a
step takes time in proportion to the events, not to their square. Ours differs from a follower that runs live in
that it decodes the whole take, on segments of sound instead of frames, and scores against what any other sound would
be given, so that the state of nothing scores zero.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.listen.segments import Segments

Float64 = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# states of an segment beside the indexes of events: nothing to do with the route, and between two of its events
NOTHING, BETWEEN = -1, -2
# how a state was come to: held on from the segment before, or begun out of nothing
HELD, BEGUN = -2, -1
# what one segment may speak for an event at most, and against it: less than a run of its own costs, so that one long
# note that happens to be another event's is a slip and not a new place
MOST_GAIN, MOST_LOSS = 6.0, 3.5
# what an event costs beside for each segment and each event before it: of ways that are worth the same, as where
# several events have one pitch, that counts which begins them soonest and leaves out the last, and not that which
# rounding favours. Far under every other price: 0.01 for an event after three hours
TIE = 1e-7
# frames of sound that an segment must have for an event to begin with it
LEAST_VOICED = 2


@dataclass(frozen=True, slots=True)
class Prices:
    """What a way through a take costs, in log likelihood; found by trial on glued takes, flat within a factor of two.

    skip : for each event not played.
    begin, inside : for a run, and beside for one that does not begin with the first event.
    end, early : for ending it, and beside before the last event.
    strike, slurred : for a note heard to begin within an event, with an attack or without.
    quiet : for an event that is not heard to begin. unheard : beside, where it follows another of its pitch.
    extra : for a frame of sound between events.
    """

    skip: float = 4.0
    begin: float = 4.5
    inside: float = 3.0
    end: float = 1.0
    early: float = 1.0
    strike: float = 1.5
    slurred: float = 0.5
    quiet: float = 1.5
    unheard: float = 2.0
    extra: float = 0.06


@dataclass(frozen=True, slots=True)
class EventRun:
    """A stretch of segments in which the route is played in order.

    spans : for each event played, by its place in the score, its first and last segment; in order.
    after_stop : whether the player had stopped for long before it, so that it is a play-through of its own.
    tried_from : the event that it was to begin with, where that is known: a part's first may be missing or wrong.
    """

    spans: dict[int, tuple[int, int]]
    after_stop: bool = False
    tried_from: int | None = None

    @property
    def first(self) -> int:
        """The first event played."""
        return next(iter(self.spans))

    @property
    def last(self) -> int:
        """The last event played."""
        return next(reversed(self.spans))

    @property
    def first_segment(self) -> int:
        """Where it begins."""
        return self.spans[self.first][0]

    @property
    def last_segment(self) -> int:
        """Where it ends."""
        return self.spans[self.last][1]


@dataclass(frozen=True, slots=True, eq=False)
class SegmentFits:
    """What is needed to walk a take.

    segments : of the take. fit : shape (segments, kinds), as `fit_of` gives it.
    kind_of : shape (events,), likewise.
    voiced : frames of sound in each segment, shape (segments,).
    """

    segments: Segments
    fit: Float64
    kind_of: npt.NDArray[np.intp]
    voiced: Float64

    def part(self, segments: slice, events: slice) -> SegmentFits:
        """A stretch of the take against a stretch of the route."""
        return SegmentFits(
            self.segments.part(segments), self.fit[segments], self.kind_of[events], self.voiced[segments]
        )


@dataclass(frozen=True, slots=True, eq=False)
class FollowedPath:
    """What each segment is: arrays of shape (segments,), and what it is worth.

    event : the event that sounds, by its place in the score, or `NOTHING`, or `BETWEEN`.
    begun : whether a run begins with it.
    gain : how much better the path explains the take than nothing does, in units of log likelihood.
    """

    event: npt.NDArray[np.int32]
    begun: Bools
    gain: float


# price of each event for beginning with each of some segments, shape (segments, events)
Lateness = Callable[[slice], Float64]
# segments that are looked ahead at; a bound on memory
AT_ONCE = 256


class _ForwardPass:
    """The forward pass: best scores so far of each state, and how they were come to."""

    def __init__(self, fits: SegmentFits, prices: Prices, lateness: Lateness | None) -> None:
        self.fits, self.prices, self.lateness = fits, prices, lateness
        count, segments = len(fits.kind_of), len(fits.segments)
        self.events = np.arange(count, dtype=np.int32)
        self.sounding, self.over = np.full(count, -np.inf), np.full(count, -np.inf)
        self.nothing = 0.0
        # an event that follows one of the same pitch must be heard to begin
        self.repeats = np.append(False, fits.kind_of[1:] == fits.kind_of[:-1]) * prices.unheard
        self.skips, self.unheard = prices.skip * self.events, prices.quiet + self.repeats
        whole = lateness is not None
        before = self.events if whole else self.events > 0
        after = self.events[::-1] if whole else self.events < count - 1
        self.begin = prices.begin + (prices.skip if whole else prices.inside) * before
        self.end = prices.end + (prices.skip if whole else prices.early) * after
        self.came_from = np.full((segments, count), HELD, dtype=np.int16 if count < 2**15 else np.int32)
        self.was_over = np.zeros((segments, count), dtype=np.bool_)
        self.ended = np.full(segments + 1, NOTHING, dtype=np.int32)
        self.ended_over = np.zeros(segments + 1, dtype=np.bool_)
        self.known_from = self.known_to = 0
        self.gained = self.late = np.zeros((0, count))

    def look_ahead(self, segment: int) -> None:
        """Reckon for some segments in one go what each event gains there, and what its lateness costs."""
        self.known_from, self.known_to = segment, min(segment + AT_ONCE, len(self.fits.segments))
        some = slice(self.known_from, self.known_to)
        self.gained = np.clip(self.fits.fit[some], -MOST_LOSS, MOST_GAIN)[:, self.fits.kind_of]
        self.late = TIE * np.add.outer(np.arange(self.known_from, self.known_to), self.events)
        if self.lateness is not None:
            self.late += self.lateness(some)

    def step(self, segment: int) -> None:
        """Take in one segment."""
        if segment >= self.known_to:
            self.look_ahead(segment)
        row = segment - self.known_from
        fits, prices, segments = self.fits, self.prices, self.fits.segments
        begins, voiced = bool(segments.begins[segment]), float(fits.voiced[segment])
        is_over = self.over > self.sounding
        left = np.maximum(self.over, self.sounding)
        self.was_over[segment] = is_over
        self.finish(segment, left, is_over)
        self.over = left - prices.extra * voiced
        held = self.sounding
        if begins:
            held = held - (prices.strike if segments.struck[segment] else prices.slurred)
        if voiced < LEAST_VOICED:
            self.sounding = held + self.gained[row]
            return
        arrived, source = self._arrivals(left, heard=begins)
        begun = self.nothing - self.begin
        enter = np.maximum(begun, arrived)
        is_begun = begun > arrived
        enter -= self.late[row]
        entered = enter > held
        source[is_begun] = BEGUN
        self.came_from[segment] = np.where(entered, source, HELD)
        self.sounding = np.maximum(enter, held) + self.gained[row]

    def finish(self, segment: int, left: Float64, is_over: Bools) -> None:
        """Let a run end before an segment, where that is best."""
        ended = left - self.end
        best = int(ended.argmax())
        if ended[best] > self.nothing:
            self.nothing = float(ended[best])
            self.ended[segment] = best
            self.ended_over[segment] = is_over[best]

    def _arrivals(self, left: Float64, *, heard: bool) -> tuple[Float64, npt.NDArray[np.int32]]:
        """Best score of coming to each event from an earlier one, and from which."""
        waiting = left + self.skips
        best = np.maximum.accumulate(waiting)
        at = np.maximum.accumulate(np.where(waiting >= best, self.events, 0))
        arrived, source = np.empty(len(left)), np.empty(len(left), dtype=np.int32)
        arrived[0], source[0] = -np.inf, 0
        np.subtract(best[:-1], self.skips[:-1], out=arrived[1:])
        source[1:] = at[:-1]
        if not heard:
            arrived -= self.unheard
        return arrived, source


def _forward(fits: SegmentFits, prices: Prices, lateness: Lateness | None) -> _ForwardPass:
    walk = _ForwardPass(fits, prices, lateness)
    for segment in range(len(fits.segments)):
        walk.step(segment)
    is_over = walk.over > walk.sounding
    walk.finish(len(fits.segments), np.where(is_over, walk.over, walk.sounding), is_over)
    return walk


def follow(fits: SegmentFits, *, prices: Prices | None = None, lateness: Lateness | None = None) -> FollowedPath:
    """
    The best way of a route through a take.

    Parameters
    ----------
    lateness : what it costs each event to begin with an segment, where its time is known: then the stretch is taken
        to hold the whole of the events given, and each that is missing at the ends is paid for too.
    """
    count = len(fits.segments)
    event, begun = np.full(count, NOTHING, dtype=np.int32), np.zeros(count, dtype=np.bool_)
    if not count or not len(fits.kind_of):
        return FollowedPath(event, begun, 0.0)
    walk = _forward(fits, prices or Prices(), lateness)
    at, over = int(walk.ended[count]), bool(walk.ended_over[count])
    for segment in range(count - 1, -1, -1):
        came = NOTHING
        if at == NOTHING:
            at, over = int(walk.ended[segment]), bool(walk.ended_over[segment])
            continue
        event[segment] = BETWEEN if over else at
        if over:
            over = bool(walk.was_over[segment, at])
            continue
        came = int(walk.came_from[segment, at])
        if came == BEGUN:
            begun[segment] = True
            at, over = int(walk.ended[segment]), bool(walk.ended_over[segment])
        elif came != HELD:
            at, over = came, bool(walk.was_over[segment, came])
    return FollowedPath(event, begun, walk.nothing)


def runs_of(path: FollowedPath) -> list[EventRun]:
    """The runs of a path, in order."""
    runs: list[dict[int, tuple[int, int]]] = []
    for segment in np.flatnonzero(path.event >= 0):
        if path.begun[segment]:
            runs.append({})
        event = int(path.event[segment])
        first = runs[-1].get(event, (int(segment), 0))[0]
        runs[-1][event] = (first, int(segment))
    return [EventRun(spans) for spans in runs]
