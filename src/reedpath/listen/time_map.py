"""The time map: how the written time of a route runs in a play-through, its tempo and its pauses.

Onsets are fitted by local lines, weighed by nearness (tricube) and by how well they agree (bisquare): robust
locally weighted regression (Cleveland, J. Am. Stat. Assoc. 74, 1979). So a note that comes late by itself does
not bend the tempo, and a tempo that grows is followed. Two additions: the slope is held to the median pace round
about where few onsets are near, and the line is broken where everything after an onset is later (a pause) or earlier
than before: there the median of the following onsets has moved with the onset itself.

Lines that are held to what is round about show less of a tempo that grows than there is, at the ends above all. So
by how much it grows is told by one curve through all onsets: time as a polynomial of the second degree in the written
time, with the same bisquare weights. A tempo that sways is followed by curves (see `swaying_tempo`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from reedpath.hear.frames import windows_of
from reedpath.hear.middles import middle_of
from reedpath.listen.bisquare import ROUNDS, bisquare_weights
from reedpath.listen.swaying_tempo import SWAYS, local_curves, pace_beside, sway_of

Float64 = npt.NDArray[np.float64]

# onsets that a local line is fitted to; Cleveland's choice is a share of all, ours a player's memory of the beat
NEAR_ONSETS = 11
# seconds of written time by which the median pace round about counts in each local line
SLOPE_HOLD = 1.0
# seconds, and beats, by which what follows must have moved for a pause; the larger counts
PAUSE_SECONDS, PAUSE_BEATS = 0.14, 0.25
# share of the jump that the following onsets must keep, and onsets on either side that are asked
PAUSE_KEPT, PAUSE_ONSETS = 0.6, 4
# seconds and beats beyond which even a last note is taken for a pause rather than for late
LONE_SECONDS, LONE_BEATS = 0.6, 1.0
# onsets that a curve through all of them must have, and those at either end without which it is asked again
FEWEST_OF_A_CURVE, ENDS = 6, 4
# factor by which the pace of a place may differ from that of the whole; common practice, no source
MOST_DRIFT = 1.8
# intervals on either side that tell the pace round one, and that must be there
PACED, FEWEST_PACED = 8, 5
# what lies before the first interval and after the last
_NO_PACE, _NO_RISE = np.full(PACED, np.inf), np.zeros(PACED)
# times the share by which a tempo sways by which an interval may be longer or shorter for it to be no break; ours
SWAY_ALLOWED = 2.0
# intervals between onsets that tell a pause from the tempo; ours: two of three are alike
FEWEST_INTERVALS = 3
# tempo that is believed, as a share of the written one; common practice, no source
SLOWEST, FASTEST = 0.2, 3.0


class Pause(Struct, frozen=True):
    """A place where the playing stopped and went on, or left out time that it should have kept.

    before : the event that comes after it: its place in the score, in a play-through its index in the route.
    seconds : how much later, negative for earlier, all comes from there on.
    """

    before: int
    seconds: float


@dataclass(frozen=True, slots=True, eq=False)
class TimeMap:
    """When each event is due in a play-through; arrays by place in the score, from `first`.

    first : place of the first event.
    due_seconds : when it is due. pace : seconds that a written second takes there.
    steady_pace : of the whole. pauses : where the time was broken.
    sway : by how much the tempo goes up and down, as a share either way.
    written_seconds, joined_seconds : onsets of the events heard, as written and as played with its pauses left out.
    """

    first: int
    due_seconds: Float64
    pace: Float64
    steady_pace: float
    pauses: tuple[Pause, ...]
    written_seconds: Float64
    joined_seconds: Float64
    sway: float = 0.0

    @property
    def growth(self) -> float:
        """Growth of the tempo from the first onset to the last, as a share."""
        return _growth(self.written_seconds, self.joined_seconds)


def _weighted_median(values: Float64, weights: Float64) -> float:
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(total, total[-1] / 2.0)])


def _is_rest(rise: Float64, took: Float64) -> npt.NDArray[np.bool_]:
    """Whether the time between an onset and the next is so long that it tells nothing of the tempo.

    Among few notes more pairs lie across one long pause than beside it, and it would pass for a slow tempo.
    """
    good = rise > 1e-6
    if good.sum() < FEWEST_INTERVALS:
        return np.zeros(len(rise), dtype=bool)
    usual = _weighted_median(took[good] / rise[good], rise[good]) * rise
    return np.asarray((took > FASTEST * usual) & (took - usual > LONE_SECONDS))


def _steady_pace(written: Float64, heard: Float64) -> float:
    """Median of the paces between onsets, each weighed by its length; 1 for fewer than two onsets."""
    if len(written) < 2:
        return 1.0
    reach = [lag for lag in (1, 2, 3, 5, 8) if lag < len(written)]
    rise = np.concatenate([written[lag:] - written[:-lag] for lag in reach])
    took = np.concatenate([heard[lag:] - heard[:-lag] for lag in reach])
    rests = np.concatenate([[0], np.cumsum(_is_rest(np.diff(written), np.diff(heard)))])
    over_rest = np.concatenate([rests[lag:] > rests[:-lag] for lag in reach])
    good = (rise > 1e-6) & ~over_rest
    if not good.any():
        return 1.0
    return float(np.clip(_weighted_median(took[good] / rise[good], rise[good]), 1 / FASTEST, 1 / SLOWEST))


def _local_pace(written: Float64, heard: Float64, steady: float) -> Float64:
    """Pace round each interval between onsets: the weighted median of its neighbours."""
    rise, took = np.diff(written), np.diff(heard)
    paces, good = np.full(len(rise), steady), rise > 1e-6
    values = np.concatenate([_NO_PACE, np.divide(took, rise, out=np.full(len(rise), np.inf), where=good), _NO_PACE])
    near, weights = (
        windows_of(one, 2 * PACED + 1) for one in (values, np.concatenate([_NO_RISE, rise * good, _NO_RISE]))
    )
    order = np.argsort(near, axis=1)
    total = np.cumsum(np.take_along_axis(weights, order, axis=1), axis=1)
    middle = (total >= total[:, -1:] / 2.0).argmax(axis=1)
    at = np.arange(len(rise))
    told = np.isfinite(near).sum(axis=1) >= FEWEST_PACED
    paces[told] = near[at, order[at, middle]][told]
    return np.asarray(np.clip(paces, steady / MOST_DRIFT, steady * MOST_DRIFT))


def _breaks(written: Float64, heard: Float64, beats: Float64, paces: Float64, sway: float) -> list[tuple[int, float]]:
    """Onsets at which the time is broken, and by how many seconds; `paces` are those round each interval.

    sway : share by which the tempo goes up and down, 0 where it does not.
    """
    found: list[tuple[int, float]] = []
    start = 0
    for index in range(1, len(written)):
        pace = paces[index - 1]
        jump = heard[index] - heard[index - 1] - pace * (written[index] - written[index - 1])
        beat = beats[index] * pace
        allowed = SWAY_ALLOWED * sway * pace * (written[index] - written[index - 1])
        if abs(jump) < max(PAUSE_SECONDS, PAUSE_BEATS * beat) + allowed:
            continue
        before = slice(max(start, index - PAUSE_ONSETS), index)
        after = slice(index, index + PAUSE_ONSETS)
        level = heard - pace * written
        moved = middle_of(level[after]) - middle_of(level[before])
        few = min(len(level[after]), index - start) < 2
        if few and abs(jump) < max(LONE_SECONDS, LONE_BEATS * beat):
            continue
        if moved * np.sign(jump) >= PAUSE_KEPT * abs(jump):
            found.append((index, moved))
            start = index
    return _without_detours(found)


def _without_detours(breaks: list[tuple[int, float]]) -> list[tuple[int, float]]:
    """The breaks without those that the next one soon takes back: there a few onsets were mistaken, not the time."""
    kept: list[tuple[int, float]] = []
    for index, moved in breaks:
        if kept and index - kept[-1][0] <= PAUSE_ONSETS and moved * kept[-1][1] < 0:
            kept.pop()
        else:
            kept.append((index, moved))
    return kept


def _held_slopes(written: Float64, places: Float64, steady: float, paces: Float64) -> Float64:
    """The pace round each place, to which its line is held."""
    if len(written) < 2:
        return np.full(len(places), steady)
    return np.asarray(np.interp(places, (written[1:] + written[:-1]) / 2, paces))


def _local_lines(
    written: Float64, heard: Float64, at: Float64, steady: float, paces: Float64
) -> tuple[Float64, Float64]:
    """Value and slope, at the places wanted, of robust local lines through the onsets."""
    near = min(len(written), NEAR_ONSETS)
    trust = np.ones(len(written))
    places = np.concatenate([at, written])
    apart = written[np.newaxis, :] - places[:, np.newaxis]
    reach = np.partition(np.abs(apart), near - 1, axis=1)[:, near - 1 : near] * 1.1 + 1e-6
    nearness = np.power(np.maximum(1.0 - np.power(np.abs(apart) / reach, 3), 0.0), 3)
    held = _held_slopes(written, places, steady, paces)
    value, slope = np.zeros(len(places)), held
    for _ in range(ROUNDS):
        weights = nearness * trust + 1e-12
        total = weights.sum(axis=1)
        middle = (weights * apart).sum(axis=1) / total
        level = (weights * heard).sum(axis=1) / total
        off = apart - middle[:, np.newaxis]
        rise = (weights * off * (heard - level[:, np.newaxis])).sum(axis=1)
        spread = (weights * np.square(off)).sum(axis=1)
        slope = (rise + SLOPE_HOLD**2 * held) / (spread + SLOPE_HOLD**2)
        value = level - slope * middle
        stray = np.abs(heard - value[len(at) :])
        trust = bisquare_weights(stray)
    return value[: len(at)], slope[: len(at)]


def _curve_growth(written: Float64, heard: Float64) -> float:
    """Growth of the tempo from the first onset to the last, as a share, by one curve through all onsets."""
    place = (written - written[0]) / (written[-1] - written[0])
    powers, trust = np.vander(place, 3, increasing=True), np.ones(len(place))
    curve = np.zeros(3)
    for _ in range(ROUNDS):
        weights = np.sqrt(trust)[:, np.newaxis]
        curve = np.linalg.lstsq(powers * weights, heard * weights[:, 0], rcond=None)[0]
        stray = np.abs(heard - powers @ curve)
        trust = bisquare_weights(stray)
    begin, end = float(curve[1]), float(curve[1] + 2.0 * curve[2])
    return begin / end - 1.0 if min(begin, end) > 0 else 0.0


def _growth(written: Float64, heard: Float64) -> float:
    """
    Growth of the tempo from the first onset to the last, as a share; 0 where it cannot be told.

    A curve is bent by its ends: a last bar that comes late by a slip is no growth. So it is also asked without the
    first and without the last onsets, and the least of the three counts, none where they disagree.
    """
    count = len(written)
    if count < FEWEST_OF_A_CURVE:
        return 0.0
    spans = [(0, count)]
    if count >= FEWEST_OF_A_CURVE + ENDS:
        spans += [(ENDS, count), (0, count - ENDS)]
    found = []
    for first, last in spans:
        span = float(written[last - 1] - written[first])
        if span <= 0:
            return 0.0
        growth = _curve_growth(written[first:last], heard[first:last])
        found.append(growth * float(written[-1] - written[0]) / span)
    return min(found, key=abs) if min(found) * max(found) > 0 else 0.0


def time_map(
    written_seconds: Float64,
    beat_seconds: Float64,
    played: npt.NDArray[np.intp],
    heard_seconds: Float64,
    *,
    first: int,
    last: int,
    unbroken: frozenset[int] = frozenset(),
) -> TimeMap:
    """
    The time map of a play-through.

    Parameters
    ----------
    written_seconds, beat_seconds : onset of every event at the written tempo, and length of its beat.
    played : places in the score of the events that were heard, ascending, at least one.
    heard_seconds : their onsets in the take.
    first, last : places between which events are due, heard or not.
    unbroken : places before which the time is taken not to be broken, whatever it looks like.
    """
    written = written_seconds[played]
    steady = _steady_pace(written, heard_seconds)
    beats = beat_seconds[played]
    beat, sway = middle_of(beats), sway_of(written, heard_seconds, middle_of(beats))
    sways = sway >= SWAYS
    paces = pace_beside(written, heard_seconds, beat) if sways else _local_pace(written, heard_seconds, steady)
    broken = _breaks(written, heard_seconds, beats, paces, sway if sways else 0.0)
    broken = [(index, moved) for index, moved in broken if int(played[index]) not in unbroken]
    joined = heard_seconds.copy()
    for index, moved in broken:
        joined[index:] -= moved
    if broken:
        steady = _steady_pace(written, joined)
    due, pace = np.zeros(last - first + 1), np.zeros(last - first + 1)
    starts = [0, *(index for index, _ in broken)]
    ends = [*(index for index, _ in broken), len(played)]
    for start, end in zip(starts, ends, strict=True):
        begin = int(played[start]) if start else first
        events = slice(begin - first, (int(played[end]) if end < len(played) else last + 1) - first)
        at = written_seconds[first : last + 1][events]
        own, heard = written[start:end], heard_seconds[start:end]
        if sways:
            due[events], pace[events] = local_curves(own, heard, at, beat, steady)
            continue
        near = _local_pace(own, heard, steady) if broken else paces
        due[events], pace[events] = _local_lines(own, heard, at, steady, near)
    pauses = tuple(Pause(int(played[index]), moved) for index, moved in broken)
    return TimeMap(first, due, pace, steady, pauses, written, joined, sway)
