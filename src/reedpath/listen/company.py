"""Company: whether other instruments play in a take, and how loud they are beside the harp.

A mouth draws or blows, and reaches a few holes. A tone that stands in an event at a pitch that none of these reeds
has is another instrument's. In most notes over a band there is one, in one of forty without; so a share of the events
tells, whatever the others play. What the harp seems to play too much is then theirs, unless it is louder than they.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from reedpath.harp import Harp, Move
from reedpath.listen.reed_spectrum import ReedSpectrum
from reedpath.listen.reeds import LEAKS_DB, MOUTH_REACH, SAME_CENTS, SUPPORT, reed_pitches

Float64 = npt.NDArray[np.float64]

# MIDI numbers between which other tones are sought: in a tenth of a second lower ones are not told apart, and higher
# ones have too few partials
LOWEST_MIDI, HIGHEST_MIDI = 52, 84
# decibels by which two sums of the same powers may differ
ROUNDING_DB = 1e-6
# decibels under an event's own at which a tone is another instrument's, their share of the events that tells of
# company, and events that must have one. Over our own band it is 0.53 to 0.98 of them, in takes without one 0 to
# 0.03, also in a room, over mains hum and by telephone (bench/own_takes.py, bench/listen_faults.py --tuning)
OTHERS_DB, OTHERS_SHARE, FEWEST_OTHERS = -20.0, 0.2, 3
# events with a reed too many in which another instrument sounds as loud as a leak, and their share of all such
# events, that tell of company too. In 190 such events without a band it was never heard
LEAKY_OTHERS, LEAKY_SHARE = 1, 0.15
# share of the events' loudest other tones under which the company's level lies; decibels over it that another of its
# tones may have, and all its players together between the harp's notes (by trial on our own band)
LEVEL_QUANTILE, TONE_DB, TOGETHER_DB = 0.9, 6.0, 12.0
# decibels over that level under which a note in place of another may be the company's: over our own band wrong notes
# of the player's stand 5.7 over it and more, what it plays where a note is left out 0.5 under it at most
INSTEAD_DB = 3.0
# decibels by which what is taken for the harp is softer than in the loudest play-through, and the loudest other tones
# (their `LEVEL_QUANTILE`) are louder beside it than beside the harp, for it to be the company's alone: 7 to 13 and up
# to 15 for our own band between rounds, 1 and 2 from round to round
SOFTER_DB, MORE_OTHERS_DB = 6.0, 8.0
# events that must be so soft, and share of them under which what was asked sounds in so few that nobody plays it: a
# third to a half for our own band's chords, nearly all where a player fades out
FEWEST_SOFT, ITSELF_SHARE = 2, 0.7
# decibels that stand for nothing heard
FLOOR_DB = -120.0


@dataclass(frozen=True, slots=True)
class OthersHeard:
    """Of one event: the loudest tone that is not the harp's, decibels under the event's own, and whether a reed seems
    to sound in it that was not asked.
    """

    level_db: float
    has_reed_too_many: bool


@dataclass(frozen=True, slots=True)
class BesideOthers:
    """How loud an event that was placed between two times is.

    own_db : of its own partials, decibels; None where something else or nothing sounds.
    others_db : the loudest other tone, decibels over them.
    after_pause : whether the time is broken before it.
    """

    start_seconds: float
    end_seconds: float
    own_db: float | None = None
    others_db: float = -np.inf
    after_pause: bool = False


@dataclass(frozen=True, slots=True)
class Company:
    """What else plays.

    is_heard : whether anything does. level_db : how loud it is under the harp, where it is heard.
    """

    is_heard: bool = False
    level_db: float = -np.inf

    def may_sound(self, level_db: float | None) -> bool:
        """Whether a tone of so many decibels under the harp's may be the company's; None where it is not known."""
        return self.is_heard and (level_db is None or level_db < self.level_db + TONE_DB)

    def may_stand_for(self, level_db: float) -> bool:
        """Whether a note in place of one that was asked, so many decibels over the harp's, may be one of theirs."""
        return self.is_heard and level_db < self.level_db + INSTEAD_DB

    def may_play(self, level_db: float) -> bool:
        """Whether a note between the harp's own, so many decibels over them, may be all of the company's together."""
        return self.is_heard and level_db < self.level_db + TOGETHER_DB


NO_COMPANY = Company()


@lru_cache(maxsize=8)
def _chromatic(a4_hz: float) -> tuple[Float64, Float64]:
    """Hertz of all semitones in which others may play, at a reference pitch, and their logarithms."""
    hz = np.array([a4_hz * 2.0 ** ((midi - 69) / 12.0) for midi in range(LOWEST_MIDI, HIGHEST_MIDI + 1)])
    return hz, np.log2(hz)


def others_db(
    spectrum: ReedSpectrum,
    harp: Harp,
    move: Move,
    sounding_hz: Sequence[float],
    *,
    ringing_hz: Sequence[float] = (),
    shift_cents: float = 0.0,
) -> float:
    """
    How loud the loudest tone is that no reed of this breath within the mouth's reach makes.

    Parameters
    ----------
    spectrum : of the steady part of one event.
    move : what was asked. sounding_hz : pitches of the reeds that sound in it.
    ringing_hz : those of the event before, which a room may hold on.
    shift_cents : by how much the player's harp lies over its pitch.

    Returns
    -------
    Decibels under the event's own loudest reed, minus infinity where there is none.
    """
    first, last = move.holes[0] - MOUTH_REACH, move.holes[-1] + MOUTH_REACH
    within = [hz for hole, hz in reed_pitches(harp, move, shift_cents).items() if first <= hole <= last]
    own = np.log2([*sounding_hz, *within, *ringing_hz])
    every, octaves = _chromatic(harp.a4_hz)
    off = 1200.0 * np.abs(octaves[:, np.newaxis] - own).min(axis=1)
    spectrum.look_at(sounding_hz)
    loudest = max(spectrum.total_db(hz) for hz in sounding_hz)
    least = loudest + OTHERS_DB
    apart = every[off > SAME_CENTS]
    tones: list[float] = apart[spectrum.may_reach(apart, sounding_hz, least)].tolist()
    if not tones:
        return -np.inf
    spectrum.look_at(tones)
    at_most = spectrum.lone_db(tones, sounding_hz)  # what of it agrees with a reed's places is no more
    found = -np.inf
    for number in np.argsort(-at_most):
        if at_most[number] < max(least, found) - ROUNDING_DB:
            break
        one = spectrum.unshared(tones[number], sounding_hz, least_db=least)
        if one.enough and one.support >= SUPPORT:
            found = max(found, one.level_db)
    return found - loudest


def company_of(heard: Sequence[OthersHeard]) -> Company:
    """Whether others play, from what is heard in each event."""
    levels = [one.level_db for one in heard if one.level_db >= OTHERS_DB]
    leaky = [one.level_db >= LEAKS_DB for one in heard if one.has_reed_too_many]
    is_heard = len(levels) >= max(FEWEST_OTHERS, OTHERS_SHARE * len(heard)) or (
        sum(leaky) >= max(LEAKY_OTHERS, LEAKY_SHARE * len(leaky))
    )
    return Company(is_heard=True, level_db=float(np.quantile(levels, LEVEL_QUANTILE))) if is_heard else NO_COMPANY


def _loud_db(events: Sequence[BesideOthers]) -> float:
    """How loud the loudest other tones are beside some events."""
    return float(np.quantile([max(one.others_db, FLOOR_DB) for one in events], LEVEL_QUANTILE))


def _soft_ends(events: Sequence[BesideOthers], soft_db: float) -> list[tuple[int, int]]:
    """The first events of a play-through and its last, as far as they are soft: from which on, and before which."""
    loud = [number for number, one in enumerate(events) if one.own_db is not None and one.own_db >= soft_db]
    if not loud:
        return [(0, len(events))]
    return [(0, loud[0]), (loud[-1] + 1, len(events))]


def _is_theirs(events: Sequence[BesideOthers], usual_others_db: float, theirs_db: float, *, is_parted: bool) -> bool:
    """Whether soft events are the company's: few of them are what was asked, or other tones are as loud.

    theirs_db : under which one may be the company's. is_parted : whether a pause parts them from the rest, so that
        even one of them is no last note, and is the company's if it is no louder than they.
    """
    itself = [one for one in events if one.own_db is not None]
    if is_parted and 0 < len(itself) < FEWEST_SOFT and max(one.own_db or 0.0 for one in itself) < theirs_db:
        return True
    if len(itself) < (1 if is_parted else FEWEST_SOFT):
        return False
    return len(itself) < ITSELF_SHARE * len(events) or _loud_db(itself) > usual_others_db + MORE_OTHERS_DB


def _is_parted(events: Sequence[BesideOthers], first: int, last: int) -> bool:
    """Whether the time is broken between some events at an end of a play-through and the others."""
    beyond = events[last : last + 1] if first == 0 else events[first : first + 1]
    return any(one.after_pause for one in beyond)


def _between(events: Sequence[BesideOthers], harps: Sequence[BesideOthers]) -> tuple[float, float]:
    """From when to when some events last, without what the harp plays before and after."""
    itself = [one.start_seconds for one in events if one.own_db is not None]
    start, end = min(one.start_seconds for one in events), max(one.end_seconds for one in events)
    before = [one.end_seconds for one in harps if one.start_seconds < itself[0]]
    after = [one.start_seconds for one in harps if one.start_seconds > itself[-1]]
    return max([start, *before]), min([end, *after])


def alone_in(plays: Sequence[Sequence[BesideOthers]], company: Company) -> tuple[tuple[float, float], ...]:
    """
    Stretches in which no harp plays, though their sound was likened to the route: the company's own chords.

    Parameters
    ----------
    plays : of each play-through, the events in order.

    >>> over_a_band = [BesideOthers(at, at + 1.0, -26.0, -9.0) for at in (0.0, 1.0, 2.0)]
    >>> band_alone = [BesideOthers(at, at + 1.0, -39.0, 2.0) for at in (3.0, 4.0)]
    >>> alone_in([over_a_band, band_alone], Company(is_heard=True, level_db=-9.0))
    ((3.0, 5.0),)
    """
    sounding = [events for play in plays if (events := [one for one in play if one.own_db is not None])]
    if not company.is_heard or not sounding:
        return ()
    usual_db = max(float(np.median([one.own_db for one in events if one.own_db is not None])) for events in sounding)
    soft_db = usual_db - max(SOFTER_DB, -company.level_db - TONE_DB)
    harps = [one for events in plays for one in events if one.own_db is not None and one.own_db >= soft_db]
    others_db = _loud_db(harps)
    return tuple(
        _between(events[first:last], harps)
        for events in plays
        for first, last in _soft_ends(events, soft_db)
        if _is_theirs(
            events[first:last],
            others_db,
            usual_db + company.level_db + INSTEAD_DB,
            is_parted=_is_parted(events, first, last),
        )
    )
