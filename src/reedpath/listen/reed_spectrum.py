"""The spectrum of one event: where each reed's partials stand in it, and whether one reed or two make them.

Reeds an octave or a twelfth apart share all partials of the upper one, so a level cannot tell whether it sounds.
But what one reed makes is periodic: the phase of its partial h runs h times as fast as that of its first, whatever
its pitch and level do. A second reed, tuned by ear and so never quite on the partials of the first, makes those
that it shares run ahead or behind, by a cycle for every beat. `octave_stray` measures by how much.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import isnan, log10
from statistics import fmean
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import windows_of
from reedpath.hear.middles import middle_of

Float32 = npt.NDArray[np.float32]
Float64 = npt.NDArray[np.float64]

# partials of each reed that are looked at, and hertz over which none is
PARTIALS, HIGHEST_HZ = 12, 7000.0
# cents round its place in which a partial is sought: reeds of played harps are this far off (common practice)
SOUGHT_CENTS = 30.0
# cents, and widths of a spectral line, by which partials of two reeds must lie apart to be told apart
APART_CENTS, APART_LINES = 45.0, 2.2
# decibels under the loudest partial, and times the floor, down to which a recording's band is taken to reach; and
# hertz up to which its lower end may lie
BAND_DB, BAND_OVER, BOTTOM_HZ = 42.0, 3.0, 400.0
# bins that are held against the floor at a time
AT_ONCE = 32
# decibels over the floor from which a partial stands out
OVER_FLOOR_DB = 10.0
# share of its frequency, and widths of a line, by which a partial may be off the others of its reed
ALIKE_SHARE, ALIKE_LINES = 0.006, 0.5
# partials of its own that a reed must have to be judged by them, and of all from which that holds: a high reed has
# few, the more so by telephone
FEWEST_LONE, MANY = 2, 4
# partials that another reed would not fill from which their share is asked for
FEWEST_OF_A_PART = 2
# hertz of spectrum that give the floor about each place, and values that they must be
FLOOR_HZ, FLOOR_BINS = 150.0, 8
# seconds of the windows whose phases are followed, and from one to the next; hertz that keep two partials apart there
WINDOW_SECONDS, HOP_SECONDS, APART_HZ = 0.09, 0.015, 30.0
# windows that phases must be followed over, partials that are followed, and hertz over which none is
FEWEST_WINDOWS, FOLLOWED, FOLLOWED_HZ = 4, 16, 6000.0
# decibels by which rounding may be out, and more, where what may be so loud is asked
SHARE_SPARE_DB = 1.0
# numbers of the partials; shares of a frequency that SOUGHT_CENTS and APART_CENTS are
NUMBERS = np.arange(1, PARTIALS + 1, dtype=np.float64)
SOUGHT_SHARE = 2.0 ** (SOUGHT_CENTS / 1200.0) - 1.0
APART_SHARE = 2.0 ** (APART_CENTS / 1200.0) - 1.0
# decibels under the strongest partial at which one still counts
DEPTH_DB = 32.0
# partials whose levels are compared
LIFTED = 8
# cents off a perfect octave between which the upper reed's own pitch is sought, and their step
DETUNED_CENTS = np.arange(-16.0, 16.01, 0.25)


class ReedPartials(NamedTuple):
    """The partials of a reed in a spectrum, `PARTIALS` of each; those over the top left out as NaN.

    hz : of the reed, as it should be. level_db : of each partial. at_hz : where it stands, NaN where no peak is.
    over_db : over the floor there. power : of each, 0 for those left out. apart_hz : places of those that are not
    left out, and how far each must stand from another reed's to be told from it.
    """

    hz: float
    level_db: list[float]
    at_hz: list[float]
    over_db: list[float]
    power: list[float]
    apart_hz: list[tuple[int, float]]


@dataclass(frozen=True, slots=True)
class UnsharedPartials:
    """What the partials say that a reed shares with no other.

    support : share of them that stand out and agree on one pitch; the least share, where only those are asked that a
        reed an octave or a twelfth higher does not fill.
    enough : whether there are so many that the reed can be judged by them.
    level_db : of those together. hz : their pitch, NaN for none.
    """

    support: float
    level_db: float
    hz: float
    enough: bool = False


def _decibels(powers: Iterable[float]) -> float:
    """Level of some powers together, minus infinity for none."""
    power = sum(powers)
    return 10.0 * log10(power) if power > 0.0 else -np.inf


@lru_cache(maxsize=8)
def hann(count: int) -> Float32:
    """Hann's window of so many frames, which is the same from either end."""
    half = (count + 1) // 2
    first = np.arange(1 - count, 2 * half - count, 2, dtype=np.float32)
    first *= np.float32(np.pi / max(count - 1, 1))
    np.cos(first, out=first)
    first += np.float32(1.0)
    first *= np.float32(0.5)
    return np.concatenate([first, first[: count - half][::-1]])


class ReedSpectrum:
    """The spectrum of the steady part of one event.

    sound : one channel. rate : hertz. `loudest` is the highest of its lines, as large as `magnitude`; `high` are
        the bins of those that are within `BAND_DB` of it.
    """

    def __init__(self, sound: Float32, rate: int) -> None:
        from scipy import fft

        count = len(sound)
        size = fft.next_fast_len(count, real=True)
        spectrum = fft.rfft(sound * hann(count), size)
        used = spectrum[: int(min(HIGHEST_HZ, 0.45 * rate) * 1.1 * size / rate) + 2 * FLOOR_BINS]
        self.magnitude: Float32 = np.abs(used) * np.float32(4.0 / count)
        self.step = rate / size
        self.line_hz = rate / count
        self.top_hz = min(HIGHEST_HZ, 0.45 * rate)
        self.bottom_hz, self.loudest = 0.0, np.float32(0.0)
        self._middles, self._medians = self._floor()
        self._find_band()
        self._seen: dict[float, ReedPartials] = {}
        self._told: dict[tuple[float, frozenset[float], float], UnsharedPartials] = {}

    def _floor(self) -> tuple[npt.NDArray[np.floating], npt.NDArray[np.floating]]:
        """Middles of some stretches, and the median of each, or of the softer beside it where it is louder by far."""
        width = max(FLOOR_BINS, int(FLOOR_HZ / self.step))
        used = self.magnitude[: int(self.top_hz / self.step) + 2 * width]
        blocks = len(used) // width
        ordered = np.sort(used[: blocks * width].reshape(blocks, width), axis=1)  # sooner done than parting in two
        medians = (ordered[:, (width - 1) // 2] + ordered[:, width // 2]) / np.float32(2)
        around = np.concatenate([medians[-1:], medians, medians[:1]])
        beside = np.float32(4.0) * np.minimum(around[:-2], around[2:])
        self._floor_bins = len(used)
        return (np.arange(blocks) + 0.5) * width, np.minimum(medians, beside)

    def _floor_at(self, bins: npt.NDArray[np.intp]) -> Float64:
        """The floor in some bins."""
        return np.asarray(np.interp(bins, self._middles, self._medians) + 1e-9)

    def _find_band(self) -> None:
        """Where the recording ends: it may come by telephone, and a dull reed has few partials."""
        used = self.magnitude[: self._floor_bins]
        self.loudest = used.max()
        high = self.high = np.flatnonzero(used > self.loudest * np.float32(10.0 ** (-BAND_DB / 20.0)))
        last = self._first_over_floor(high[::-1])
        if last is not None:
            self.top_hz = min(self.top_hz, last * self.step + 2.0 * self.line_hz)
            self.bottom_hz = min(BOTTOM_HZ, (self._first_over_floor(high) or 0) * self.step - 2.0 * self.line_hz)

    def _first_over_floor(self, bins: npt.NDArray[np.intp]) -> int | None:
        """The first of some bins that stands over the floor; it is among the first few."""
        for at in range(0, len(bins), AT_ONCE):
            some = bins[at : at + AT_ONCE]
            stands = self.magnitude[some] > BAND_OVER * self._floor_at(some)
            if stands.any():
                return int(some[stands.argmax()])
        return None

    def partials(self, hz: float) -> ReedPartials:
        """The partials of a reed of that pitch."""
        if hz not in self._seen:
            self.look_at([hz])
        return self._seen[hz]

    def look_at(self, pitches_hz: Sequence[float]) -> None:
        """Measure the partials of some reeds in one go: the highest point near each one's place."""
        new = [hz for hz in pitches_hz if hz not in self._seen]
        if not new:
            return
        centre = np.array(new)[:, np.newaxis] * NUMBERS
        inside = (centre < self.top_hz) & (centre > self.bottom_hz)
        peak = np.ones(centre.shape, dtype=np.intp)
        peak[inside] = self._highest(centre[inside])
        before, there, after = (self.magnitude[peak + shift].astype(np.float64) + 1e-12 for shift in (-1, 0, 1))
        level = np.where(inside, 20.0 * np.log10(there), np.nan)
        over = level - 20.0 * np.log10(self._floor_at(np.minimum(peak, self._floor_bins - 1)))
        bow = np.log(before * after / np.square(there))
        tip = np.where(bow < 0.0, 0.5 * np.log(before / after) / np.minimum(bow, -1e-9), 0.0)
        is_peak = inside & (there >= before) & (there >= after)
        at = np.where(is_peak, (peak + tip) * self.step, np.nan)
        power = np.where(inside, 10.0 ** (level / 10.0), 0.0)
        columns = zip(*(one.tolist() for one in (level, at, over, power, inside, self._apart(centre))), strict=True)
        for hz, (level_db, at_hz, over_db, powers, is_inside, apart) in zip(new, columns, strict=True):
            kept = [(one, apart[one]) for one in range(PARTIALS) if is_inside[one]]
            self._seen[hz] = ReedPartials(hz, level_db, at_hz, over_db, powers, kept)

    def _apart(self, places_hz: Float64) -> Float64:
        """How far partials at some places must stand from another reed's to be told from them, hertz."""
        return np.asarray(np.maximum(APART_LINES * self.line_hz, APART_SHARE * places_hz))

    def _highest(self, places_hz: Float64) -> npt.NDArray[np.intp]:
        """Where the spectrum is highest near each of some places."""
        last = len(self.magnitude) - 2
        low, high = self._sought(places_hz)
        bounds = zip(np.minimum(low, last).tolist(), np.minimum(high, last + 1).tolist(), strict=True)
        # one by one: they are few, and of very unlike lengths
        found = [first + int(self.magnitude[first:end].argmax()) if end > first else first for first, end in bounds]
        return np.array(found, dtype=np.intp)

    def unshared(self, hz: float, others: Sequence[float], *, least_db: float = -np.inf) -> UnsharedPartials:
        """What the partials of a reed say that it shares with none of the others; nothing, where they are softer
        than `least_db` together.
        """
        key = hz, frozenset(others), least_db
        if key not in self._told:
            self._told[key] = self._unshared(self.partials(hz), others, least_db)
        return self._told[key]

    def _unshared(self, seen: ReedPartials, others: Sequence[float], least_db: float) -> UnsharedPartials:
        free = self._lone(seen, others)
        nothing = UnsharedPartials(
            0.0, -np.inf, np.nan, len(free) >= (FEWEST_LONE if len(seen.apart_hz) >= MANY else 1)
        )
        if not free or (least_db > -np.inf and _decibels([seen.power[one] for one in free]) < least_db):
            return nothing
        deep = max([seen.level_db[one] for one in free]) - DEPTH_DB
        clear = [
            (one + 1, seen.at_hz[one] / (one + 1), seen.power[one])
            for one in free
            if seen.over_db[one] > OVER_FLOOR_DB and seen.level_db[one] > deep and not isnan(seen.at_hz[one])
        ]
        if not clear:
            return nothing
        best = self._agreeing(seen.hz, clear)
        weights = [power * number**2 for number, _, power in best]
        own_hz = sum([pitch * weight for (_, pitch, _), weight in zip(best, weights, strict=True)]) / sum(weights)
        support = self._support([one + 1 for one in free], {number for number, _, _ in best})
        return UnsharedPartials(support, _decibels([power for _, _, power in best]), own_hz, nothing.enough)

    def _agreeing(self, hz: float, clear: Sequence[tuple[int, float, float]]) -> Sequence[tuple[int, float, float]]:
        """Those of the partials of a reed, as number, pitch and power, that agree on one pitch and are loudest."""
        slack = [max(ALIKE_SHARE * hz, ALIKE_LINES * self.line_hz / number) for number, _, _ in clear]
        best, loudest = clear, -1.0
        for _, pitch, _ in clear:
            agree = [one for one, within in zip(clear, slack, strict=True) if abs(pitch - one[1]) < within]
            if len(agree) == len(clear):
                return agree
            power = sum([one[2] for one in agree])
            if power > loudest:
                best, loudest = agree, power
        return best

    @staticmethod
    def _lone(seen: ReedPartials, others: Sequence[float]) -> list[int]:
        """Places of a reed's partials that are not left out and stand far enough from those of the others."""
        found = []
        for one, least in seen.apart_hz:
            place = seen.hz * (one + 1)
            for other in others:
                if abs(place - other * (round(place / other) or 1)) <= least:
                    break
            else:
                found.append(one)
        return found

    @staticmethod
    def _support(free: Sequence[int], alike: Collection[int]) -> float:
        """Share of the partials of some numbers that are there: of all, or of those that a reed an octave or a
        twelfth higher would not fill, whichever is least.
        """
        shares = [len(alike) / len(free)]
        for times in (2, 3):
            part = [number for number in free if number % times]
            if len(part) >= FEWEST_OF_A_PART:
                shares.append(sum(number in alike for number in part) / len(part))
        return min(shares)

    def lift_db(self, hz: float, times: int) -> float:
        """By how much every partial in so many of a reed stands over the others, NaN where there are none."""
        heard = [(number, one) for number, one in enumerate(self.partials(hz).level_db[:LIFTED], 1) if not isnan(one)]
        least = max((one for _, one in heard), default=0.0) - DEPTH_DB
        shared = [max(one, least) for number, one in heard if number % times == 0]
        own = [max(one, least) for number, one in heard if number % times]
        return fmean(shared) - fmean(own) if shared and own else float("nan")

    def total_db(self, hz: float) -> float:
        """Level of all that stands where a reed of that pitch has its partials."""
        return 10.0 * log10(sum(self.partials(hz).power) + 1e-20)

    def lone_db(self, pitches_hz: Sequence[float], others: Sequence[float]) -> Float64:
        """Level of the partials of each of some reeds that stand apart from all of the others', together; minus
        infinity where there are none. Shape (reeds,).
        """
        powers = np.array([self.partials(hz).power for hz in pitches_hz]).reshape(-1, PARTIALS)
        lone = self._are_lone(np.asarray(pitches_hz)[:, np.newaxis], others)
        with np.errstate(divide="ignore"):
            return np.asarray(10.0 * np.log10(np.where(lone, powers, 0.0).sum(axis=1)))

    def may_reach(
        self, pitches_hz: Sequence[float], others: Sequence[float], least_db: float
    ) -> npt.NDArray[np.bool_]:
        """Whether those partials of each of some reeds that stand apart from the others' may be so loud together.

        For then one of them is no softer than its share of that.
        """
        centre = np.asarray(pitches_hz)[:, np.newaxis] * NUMBERS
        counts = (centre < self.top_hz) & (centre > self.bottom_hz) & self._are_lone(centre[:, :1], others)
        low, high = self._sought(centre)
        share = 10.0 ** ((least_db - 10.0 * np.log10(PARTIALS) - SHARE_SPARE_DB) / 20.0)
        louder = np.concatenate([[0], np.cumsum(self.magnitude > share)])
        last = len(self.magnitude)
        reached = louder[np.minimum(high, last)] > louder[np.minimum(low, last)]
        return np.asarray((counts & reached).any(axis=1))

    def _sought(self, places_hz: Float64) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
        """From where, and to before where, the spectrum is looked through for what has its place there."""
        low = np.maximum(1, (places_hz * (1.0 - SOUGHT_SHARE) / self.step).astype(np.intp))
        return low, (places_hz * (1.0 + SOUGHT_SHARE) / self.step).astype(np.intp) + 2

    def _are_lone(self, hz: float | Float64, others: Sequence[float]) -> npt.NDArray[np.bool_]:
        """Whether each partial of a reed, or of several in a column, stands far enough from those of the others."""
        places = hz * NUMBERS
        lone = np.ones(places.shape, dtype=np.bool_)
        least = self._apart(places)
        for other in others:
            lone &= np.abs(places - other * np.maximum(1.0, np.rint(places / other))) > least
        return lone


@dataclass(frozen=True, slots=True)
class PhaseStray:
    """How much partials stray from what one reed would make.

    shared_db, own_db : share of their power that does not keep step with the lower reed's first partial: of those
        that the upper reed shares, and of the others.
    cents : by how much the upper reed lies off its place over the lower one, where it beats clearly; else NaN.
    """

    shared_db: float
    own_db: float
    cents: float


def _followed(sound: Float32, rate: int, hz: Float64) -> tuple[npt.NDArray[np.complex128], Float64] | None:
    """ReedPartials over time, each turned back by its own frequency, shape (windows, partials), and the times."""
    from scipy import fft

    width, hop = int(WINDOW_SECONDS * rate), int(HOP_SECONDS * rate)
    if len(sound) < width + (FEWEST_WINDOWS - 1) * hop:
        return None
    windows = windows_of(sound, width, hop) * hann(width)
    size = fft.next_fast_len(width, real=True)
    bins = np.rint(hz * size / rate).astype(np.intp)
    at = np.arange(len(windows)) * hop / rate
    return fft.rfft(windows, size, axis=1)[:, bins] * np.exp(-2j * np.pi * np.outer(at, hz)), at


def _followed_numbers(hz: float, top_hz: float, others: Sequence[float]) -> npt.NDArray[np.intp]:
    """Numbers of a reed's partials that none of the others comes near."""
    numbers = [n for n in range(1, FOLLOWED + 1) if n * hz < top_hz]
    near = [n for n in numbers for other in others if abs(n * hz - other * max(1, round(n * hz / other))) <= APART_HZ]
    return np.array([n for n in numbers if n not in near], dtype=np.intp)


def _detuned(shared: npt.NDArray[np.complex128], at: Float64, hz: Float64) -> float:
    """Cents between the upper reed and the lower one's partial: those whose beats explain the partials best."""
    turns = hz[np.newaxis, :] * (np.exp2(DETUNED_CENTS[:, np.newaxis] / 1200.0) - 1.0)
    # windows lie evenly apart: from one to the next each beat turns by as much
    beats = np.repeat(np.exp(2j * np.pi * (at[1] - at[0]) * turns)[:, np.newaxis, :], len(at), axis=1)
    beats[:, 0] = 1.0
    np.cumprod(beats, axis=1, out=beats)
    still = shared - shared.mean(axis=0)
    moving = beats - beats.mean(axis=1, keepdims=True)
    power = np.square(np.abs(moving)).sum(axis=1) + 1e-6 * len(at)
    explained = np.square(np.abs((np.conj(moving) * still).sum(axis=1))) / power
    return float(DETUNED_CENTS[int(explained.sum(axis=1).argmax())])


def octave_stray(
    sound: Float32, rate: int, lower_hz: float, times: int, others: Sequence[float] = ()
) -> PhaseStray | None:
    """
    How much the partials that a reed shares with one `times` as high stray from what it would make alone.

    Parameters
    ----------
    lower_hz : pitch of the lower reed, as exactly as it is known.
    others : pitches of more reeds that sound; partials near theirs are left out.

    Returns
    -------
    None where the sound is too short, or no partial can be told apart.
    """
    free = _followed_numbers(lower_hz, min(FOLLOWED_HZ, 0.45 * rate), others)
    if not len(free) or not (free % times).any() or (free % times).all():
        return None
    found = _followed(sound, rate, free.astype(np.float64) * lower_hz)
    if found is None:
        return None
    tracks, at = found
    level = 10.0 * np.log10(np.square(np.abs(tracks)).mean(axis=0) + 1e-20)
    counts = level > level.max() - DEPTH_DB
    own, shared = counts & (free % times > 0), counts & (free % times == 0)
    if not own.any() or not shared.any():
        return None
    power = 10.0 ** ((level[own] - level[own].max()) / 10.0)
    phases = np.unwrap(np.angle(tracks[:, own]), axis=0)
    phases = phases - phases.mean(axis=0)
    phase = (phases * (power * free[own])).sum(axis=1) / (power * np.square(free[own])).sum()
    loud = (np.abs(tracks[:, own]) / np.abs(tracks[:, own]).mean(axis=0) * power).sum(axis=1) / power.sum()
    kept = tracks * np.exp(-1j * np.outer(phase, free)) / np.maximum(loud, 0.05)[:, np.newaxis]
    stray = 1.0 - np.square(np.abs(kept.mean(axis=0))) / (np.square(np.abs(kept)).mean(axis=0) + 1e-20)
    stray_db = 10.0 * np.log10(np.maximum(stray, 1e-6))
    cents = _detuned(kept[:, shared], at, free[shared] * lower_hz)
    return PhaseStray(middle_of(stray_db[shared]), middle_of(stray_db[own]), cents)
