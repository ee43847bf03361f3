"""Own partials: how loud those of an event are, moment by moment, and when by them it begins.

A drum, a word or another instrument under the playing raises the level of the whole; the partials of the note that
is asked rise only when its own reed begins. What stands between the partials is taken away. Lining up goes by what is
heard of the whole: it may take a drum for the start of the note that comes a little later, or for a second start of a
note that is only held.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import windows_of
from reedpath.hear.middles import middle_of
from reedpath.hear.peaks import prominent_peaks
from reedpath.listen.reed_spectrum import hann

Float32 = npt.NDArray[np.float32]
Float64 = npt.NDArray[np.float64]

# seconds of the windows, and from one to the next: a tongued reed stops for 30 ms or so
WINDOW_SECONDS, HOP_SECONDS = 0.026, 0.008
# partials that count, and hertz over which none does
PARTIALS, HIGHEST_HZ = 8, 6000.0
# bins of a whole turn in which partials are sought, a power of two: a few to each that a window tells apart
BINS = 2048
# decibels under which nothing is told
LOWEST_DB = -100.0
# decibels by which a note's own level must dip for it to begin anew; tongued reeds in a small room with a quiet
# backing dip by 6 and more (measured on glued takes), held ones by 1 or 2
DIP_DB = 3.5
# seconds before and after a start within which the dip is sought, and before it the level it falls from
DIP_BEFORE, DIP_AFTER, FROM_BEFORE = 0.08, 0.1, 0.15
# seconds after which a note that has begun has no dip of its beginning left
SETTLED_SECONDS = 0.05
# decibels under its usual level from which a note has begun, and seconds by which its own level then lies after its
# start (measured on glued takes)
BEGUN_DB, BEGUN_LATE_SECONDS = 10.0, 0.008
# decibels under it to which others may already have filled its place before it begins
FILLED_DB = 5.0
# decibels of the dips that make a swing (hand or throat tremolo), and how many it takes; seconds from one to the
# next, by which share that may vary, and in how many of the steps it must vary no more; and share of the time that
# lies under the middle: a swing falls as slowly as it rises, a tongued reed stops for a moment. Tremolo is 2.5 to 10
# a second (common practice, no source); the shares are by trial on our own sound
SWING_DB, SWING_DIPS, SWING_SECONDS = 1.5, 3, (0.1, 0.4)
SWING_VARIES, SWING_STEADY, SWING_UNDER = 0.25, 0.6, 0.35
# decibels that a note's own partials may lose and still be the note: as reeds and a band vary; ours
WENT_ON_DB = 6.0
# values that a second start must keep up its level for, half of them (40 ms)
KEPT_UP = 5
# decibels under its usual level to which a note has fallen that begins again; throat and hand tremolo seldom go so
# far (from memory)
FALLEN_DB = 14.0
# seconds by which a start may be off that without being moved, and the most it is moved, later and sooner; and both
# where others play too, whose strikes are taken for it
OFF_SECONDS, MOST_SECONDS, SOONER_SECONDS = 0.035, 0.16, 0.1
LATER_IN_COMPANY, SOONER_IN_COMPANY = 0.22, 0.18
# decibels under its usual level between which a note comes up, and seconds from which that is slow: reeds take up to
# 0.03, also by telephone and in a room, and 0.1 to 0.2 behind a gain that opens in 0.3 (measured on glued takes);
# seconds from its start within which it has
FROM_DB, TO_DB, SLOW_SECONDS, UP_SECONDS = 14.0, 5.0, 0.04, 0.6
# seconds at the start of a note that do not count for its usual level, and share of its values that lie under it
SETTLING_SECONDS, USUAL = 0.03, 0.75
# share of an event's time that its own partials must sound for it to sound; ours
UP_SHARE = 0.6
# share of its length by which a note's start is moved later at most; where others play, whose strikes may lead it
LATEST, LATEST_IN_COMPANY = 0.5, 0.75
# seconds that a note must be long for its start to be moved; where others play, whose strikes may cut it short
LEAST_SECONDS, LEAST_IN_COMPANY = 0.1, 0.05


@dataclass(frozen=True, slots=True, eq=False)
class OwnLevel:
    """The level of an event's own partials, decibels, one value every `HOP_SECONDS` from a time on.

    whole_db : the same with what stands between the partials, which a drum fills so that nothing is left of them;
        None where that is not taken away.
    """

    start_seconds: float
    level_db: Float32
    whole_db: Float32 | None = None

    def between(self, start_seconds: float, end_seconds: float) -> Float32:
        """The values between two times, at least one if there are any."""
        count = len(self.level_db)
        first = min(max(round((start_seconds - self.start_seconds) / HOP_SECONDS), 0), count)
        last = min(max(round((end_seconds - self.start_seconds) / HOP_SECONDS), 0), count)
        return self.level_db[first : max(last, first + 1)]

    def smoothed(self) -> OwnLevel:
        """The level without what lasts for one value only: a drum fills what lies between the partials."""
        wide = np.pad(self.level_db, 1, mode="edge") if len(self.level_db) else self.level_db
        low, high = np.minimum(wide[:-2], wide[2:]), np.maximum(wide[:-2], wide[2:])
        values = np.maximum(low, np.minimum(high, wide[1:-1]))
        return OwnLevel(self.start_seconds, values.astype(np.float32), self.whole_db)

    def seconds_at(self, place: int) -> float:
        """Time of a value."""
        return self.start_seconds + place * HOP_SECONDS


@cache
def _turns() -> npt.NDArray[np.complex64]:
    """All parts of a turn that a bin may advance by from one frame to the next."""
    return np.asarray(np.exp(2j * np.pi * np.arange(BINS) / BINS), dtype=np.complex64)


def _power(windows: Float32, bins: npt.NDArray[np.intp]) -> Float32:
    """Power of each window under Hann's, in some bins of a transform of `BINS`, shape (windows, bins).

    A few bins of many windows are sooner had by their waves than by whole transforms.
    """
    width = windows.shape[1]
    waves = _turns().take(np.multiply.outer(np.arange(width), bins) & (BINS - 1))
    waves *= hann(width)[:, np.newaxis]
    parts = np.square(windows @ np.concatenate([waves.real, waves.imag], axis=1))
    return np.asarray(parts[:, : len(bins)] + parts[:, len(bins) :])


def _decibels(power: Float64) -> Float32:
    level: Float64 = 10.0 * np.log10(np.maximum(power, 10.0 ** (LOWEST_DB / 10.0)))
    return level.astype(np.float32)


def own_level(sound: Float32, rate: int, pitches_hz: Sequence[float], start_seconds: float) -> OwnLevel:
    """
    The level of the partials of some pitches.

    Parameters
    ----------
    sound : one channel. rate : hertz.
    start_seconds : time of its first frame.
    """
    width, hop = int(WINDOW_SECONDS * rate), round(HOP_SECONDS * rate)
    if len(sound) < width:
        return OwnLevel(start_seconds, np.zeros(0, dtype=np.float32))
    windows = np.ascontiguousarray(windows_of(sound, width, hop))
    top, step = min(HIGHEST_HZ, 0.45 * rate), rate / BINS
    places = np.array([hz * n for hz in pitches_hz for n in range(1, PARTIALS + 1) if hz * n < top])
    begins, scale = start_seconds + WINDOW_SECONDS / 2.0, 4.0 / width**2
    bins = np.rint(places / step).astype(np.intp)
    if len(pitches_hz) > 1:
        return OwnLevel(begins, _decibels(_power(windows, bins).sum(axis=1, dtype=np.float64) * scale))
    beside = np.rint((places + pitches_hz[0] / 2.0) / step).astype(np.intp)
    power = _power(windows, np.concatenate([bins, beside]))
    own, between = (
        power[:, part].sum(axis=1, dtype=np.float64) for part in (slice(len(bins)), slice(len(bins), None))
    )
    return OwnLevel(begins, _decibels((own - between) * scale), _decibels(own * scale))


def usual_level(level: OwnLevel, start_seconds: float, end_seconds: float) -> float:
    """The level that an event's own partials keep between two times, decibels."""
    inside = level.between(start_seconds + SETTLING_SECONDS, end_seconds)
    return float(np.sort(inside)[int(USUAL * (len(inside) - 1))]) if len(inside) else -np.inf


def swing_db(level: OwnLevel, start_seconds: float, end_seconds: float) -> float:
    """Decibels by which the level of a note swings regularly between two times, as in a tremolo; 0 where it does not.

    >>> at = np.arange(0.0, 1.0, HOP_SECONDS)
    >>> swinging = OwnLevel(0.0, (-20.0 + 4.0 * np.cos(2 * np.pi * 5.0 * at)).astype(np.float32))
    >>> round(swing_db(swinging, 0.0, 1.0))
    8
    """
    inside = level.between(start_seconds, end_seconds).astype(np.float64)
    if len(inside) < 2:
        return 0.0
    dips, depths = prominent_peaks(-inside, prominence=SWING_DB)
    if len(dips) < SWING_DIPS:
        return 0.0
    steps = np.diff(dips) * HOP_SECONDS
    usual = float(np.median(steps))
    if np.mean(np.abs(steps - usual) < SWING_VARIES * usual) < SWING_STEADY:
        return 0.0
    depth = float(np.median(depths))
    between = inside[dips[0] : dips[-1]]
    under = float(np.mean(between < np.median(inside[dips]) + depth / 2.0))
    return depth if SWING_SECONDS[0] < usual < SWING_SECONDS[1] and under > SWING_UNDER else 0.0


def begins_anew(
    level: OwnLevel | None,
    at_seconds: float,
    until_seconds: float,
    *,
    since_seconds: float = -np.inf,
    swing: float = 0.0,
) -> bool:
    """Whether a note of a pitch that sounded before begins anew at a time; so it is taken where nothing is known.

    since_seconds : when that pitch began to sound. swing : decibels by which it swings anyway, as `swing_db` gives.
    """
    if level is None or not len(level.level_db):
        return True
    before = level.between(at_seconds - FROM_BEFORE, at_seconds)
    first = max(at_seconds - DIP_BEFORE, since_seconds + SETTLED_SECONDS)
    dip = level.between(first, max(at_seconds + DIP_AFTER, first))
    if not len(before) or not len(dip):
        return True
    usual, dipped, came_from = usual_level(level, at_seconds, until_seconds), float(dip.min()), float(before.max())
    return usual - dipped > DIP_DB + swing and (came_from - dipped > DIP_DB or came_from < usual - BEGUN_DB)


def sounds_on(level: OwnLevel, at_seconds: float) -> float:
    """Until when an event's own partials are still as loud as before a time: that time where they fall at it.

    No longer than they are known, which is a little beyond the event.

    >>> at = np.arange(0.0, 1.0, HOP_SECONDS)
    >>> level = OwnLevel(0.0, np.where(at < 0.7, -20.0, -60.0).astype(np.float32))
    >>> round(sounds_on(level, 0.5), 1), round(sounds_on(level, 0.7), 1)
    (0.7, 0.7)
    """
    before, after = (
        level.between(at_seconds - FROM_BEFORE, at_seconds),
        level.level_db[max(0, round((at_seconds - level.start_seconds) / HOP_SECONDS)) :],
    )
    known = level.level_db[: len(level.level_db) - len(after)]
    if not len(before) or np.median(before) < known.max() - FALLEN_DB:
        return at_seconds
    down = np.flatnonzero(after < np.median(before) - WENT_ON_DB)
    count = int(down[0]) if len(down) else len(after)
    return at_seconds + count * HOP_SECONDS


def is_filled(level: OwnLevel, at_seconds: float, until_seconds: float, *, swing: float = 0.0) -> bool:
    """Whether a note dips at a time only since a drum fills what stands between its partials: with that it does not,
    or no more than it swings anyway.

    swing : decibels by which it swings, as `swing_db` gives.

    >>> at = np.arange(0.0, 1.0, HOP_SECONDS)
    >>> dipped = np.where(abs(at - 0.5) < 0.02, -100.0, -20.0).astype(np.float32)
    >>> is_filled(OwnLevel(0.0, dipped, np.full(len(at), -20.0, dtype=np.float32)), 0.5, 0.9)
    True
    >>> is_filled(OwnLevel(0.0, dipped, dipped), 0.5, 0.9)
    False
    """
    if level.whole_db is None:
        return False
    whole = OwnLevel(level.start_seconds, level.whole_db)
    first, last = at_seconds - DIP_BEFORE, at_seconds + DIP_AFTER
    own, held = level.between(first, last), whole.between(first, last)
    if not len(own):
        return False
    place = int(own.argmin())
    lowest = float(held[max(0, place - 1) : place + 2].min())
    return lowest > usual_level(whole, at_seconds, until_seconds) - DIP_DB - swing


def own_start(level: OwnLevel, start_seconds: float, end_seconds: float, *, company: bool = False) -> float:
    """When an event's own partials begin; from after their last dip, where they sounded before.

    start_seconds, end_seconds : where it was placed, which stays where nothing speaks against it.
    company : whether others play too, so that something may sound in its place before it begins.
    """
    if end_seconds - start_seconds < (LEAST_IN_COMPANY if company else LEAST_SECONDS):
        return start_seconds
    usual = usual_level(level, start_seconds, end_seconds)
    share, most_seconds = (LATEST_IN_COMPANY, LATER_IN_COMPANY) if company else (LATEST, MOST_SECONDS)
    most = min(most_seconds, share * (end_seconds - start_seconds))
    sooner = SOONER_IN_COMPANY if company else SOONER_SECONDS
    near = level.between(start_seconds - sooner, start_seconds + most)
    still = np.flatnonzero(near < usual - BEGUN_DB)
    if not len(still) and company:
        still = np.flatnonzero(near[: round(sooner / HOP_SECONDS)] < usual - FILLED_DB)
    if not len(still) or still[-1] + 1 == len(near):
        return start_seconds
    first = max(level.start_seconds, start_seconds - sooner) + (int(still[-1]) + 1) * HOP_SECONDS
    late = first - BEGUN_LATE_SECONDS - start_seconds
    if abs(late) < OFF_SECONDS or (late > 0.0 and not company and _has_come_up(level, start_seconds, first, usual)):
        return start_seconds
    return start_seconds + late


def _has_come_up(level: OwnLevel, at_seconds: float, until_seconds: float, usual_db: float) -> bool:
    """Whether a note comes up from nothing about a time, and only dips a little until another, as under hands."""
    before = level.between(at_seconds - OFF_SECONDS, at_seconds)
    after = level.between(at_seconds + OFF_SECONDS, until_seconds)
    return bool(before.min() < usual_db - FALLEN_DB < after.min() and after.max() >= usual_db - TO_DB)


def nearest_start(
    level: OwnLevel, starts: Sequence[float], end_seconds: float, *, since_seconds: float, due_seconds: float
) -> float:
    """When an event over others' playing begins that may have begun at any time between some moments.

    Its own partials must sound from then on: the time nearest to when it was due, since nothing speaks against it.

    Parameters
    ----------
    starts : moments at which it seems to begin, by one evidence and another.
    end_seconds : where it ends. since_seconds : before which something else is known to have sounded in its place.

    >>> up = np.where(np.arange(0.0, 1.0, HOP_SECONDS) < 0.2, -60.0, -20.0).astype(np.float32)
    >>> level = OwnLevel(0.0, up)
    >>> [round(nearest_start(level, (0.4,), 0.9, since_seconds=0.1, due_seconds=due), 2) for due in (0.1, 0.3)]
    [0.22, 0.3]
    """
    last = max(starts)
    usual = usual_level(level, last, max(end_seconds, last + LEAST_SECONDS))
    begins = max(since_seconds, level.start_seconds, min(starts) - SOONER_IN_COMPANY)
    if begins < min(starts):
        down = np.flatnonzero(level.between(begins, min(starts)) < usual - BEGUN_DB)
        begins += (int(down[-1]) + 1) * HOP_SECONDS - BEGUN_LATE_SECONDS if len(down) else 0.0
    return float(np.clip(due_seconds, min(begins, *starts), last))


def is_up(level: OwnLevel, start_seconds: float, end_seconds: float, usual_db: float) -> bool:
    """Whether an event's own partials sound most of the time between two times, as loud as others of its kind."""
    return bool(np.mean(level.between(start_seconds, end_seconds) > usual_db - BEGUN_DB) > UP_SHARE)


def slow_rise(level: OwnLevel, start_seconds: float, end_seconds: float) -> tuple[float, float] | None:
    """When a note begins to come up, and when it has, if it does so more slowly than a reed: hands, or a recorder's
    gain, open over it.

    >>> at = np.arange(0.0, 1.2, HOP_SECONDS)
    >>> faded = OwnLevel(0.0, np.minimum(-20.0, -60.0 + 200.0 * (at - 0.2)).astype(np.float32))
    >>> [round(at, 2) for at in slow_rise(faded, 0.3, 1.1)]
    [0.34, 0.38]
    >>> slow_rise(OwnLevel(0.0, np.where(at < 0.3, -60.0, -20.0).astype(np.float32)), 0.3, 1.1) is None
    True
    """
    usual = usual_level(level, start_seconds, end_seconds)
    begins = max(level.start_seconds, start_seconds - SOONER_IN_COMPANY)
    near = level.between(begins, min(end_seconds, start_seconds + UP_SECONDS))
    up = np.flatnonzero(near >= usual - TO_DB)
    low = np.flatnonzero(near[: up[0]] < usual - FROM_DB) if len(up) else up
    if not len(low) or (int(up[0]) - int(low[-1]) - 1) * HOP_SECONDS < SLOW_SECONDS:
        return None
    return float(begins + (int(low[-1]) + 1) * HOP_SECONDS), float(begins + int(up[0]) * HOP_SECONDS)


def second_starts(level: OwnLevel, start_seconds: float, end_seconds: float, *, swing: float = 0.0) -> list[float]:
    """When a note of one pitch begins again within an event: where its own level has fallen far and rises anew.

    swing : decibels by which it swings anyway, as `swing_db` gives.
    """
    usual = usual_level(level, start_seconds, end_seconds)
    inside = level.between(start_seconds, end_seconds)
    fell, found = False, []
    for place, decibels in enumerate(inside):
        if decibels < usual - max(FALLEN_DB, swing + DIP_DB):
            fell = True
        elif fell and middle_of(inside[place : place + KEPT_UP]) > usual - BEGUN_DB < decibels:
            found.append(start_seconds + place * HOP_SECONDS - BEGUN_LATE_SECONDS)
            fell = False
    return found
