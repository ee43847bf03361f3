"""Company: whether other instruments play in a take, and how loud they are beside the harp.

A mouth draws or blows, and reaches a few holes. A tone that stands in an event at a pitch that none of these reeds
has is another instrument's. In most notes over a band there is one, in one of forty without; so a share of the events
tells, whatever the others play. What the harp seems to play too much is then theirs, unless it is louder than they.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.harp import Harp, Move
from reedpath.listen.reed_spectrum import ReedSpectrum
from reedpath.listen.reeds import LEAKS_DB, MOUTH_REACH, SAME_CENTS, SUPPORT, reed_pitches

__all__ = ["NO_COMPANY", "Company", "OthersHeard", "alone_in", "company_of", "others_db"]

Float32 = npt.NDArray[np.float32]

# MIDI numbers between which other tones are sought: in a tenth of a second lower ones are not told apart, and higher
# ones have too few partials
LOWEST_MIDI, HIGHEST_MIDI = 52, 84
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
# decibels by which what is taken for the harp is softer than in the loudest play-through, and other tones are louder
# beside it than in the one where they are softest, for a play-through to be the company's alone: 13 and 14 for our
# own band between rounds, 1 and 2 from round to round
SOFTER_DB, MORE_OTHERS_DB = 8.0, 8.0
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
class Company:
    """What else plays.

    is_heard : whether anything does. level_db : how loud it is under the harp, where it is heard.
    """

    is_heard: bool = False
    level_db: float = -np.inf

    def may_sound(self, level_db: float | None) -> bool:
        """Whether a tone of so many decibels under the harp's may be the company's; None where it is not known."""
        return self.is_heard and (level_db is None or level_db < self.level_db + TONE_DB)

    def may_play(self, level_db: float) -> bool:
        """Whether a note between the harp's own, so many decibels over them, may be all of the company's together."""
        return self.is_heard and level_db < self.level_db + TOGETHER_DB


NO_COMPANY = Company()


def _chromatic_hz(harp: Harp) -> list[float]:
    """Hertz of all semitones in which others may play, at the harp's reference pitch."""
    return [harp.a4_hz * 2.0 ** ((midi - 69) / 12.0) for midi in range(LOWEST_MIDI, HIGHEST_MIDI + 1)]


def others_db(
    sound: Float32,
    rate: int,
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
    sound : the steady part of one event, one channel. rate : hertz.
    move : what was asked. sounding_hz : pitches of the reeds that sound in it.
    ringing_hz : those of the event before, which a room may hold on.
    shift_cents : by how much the player's harp lies over its pitch.

    Returns
    -------
    Decibels under the event's own loudest reed, minus infinity where there is none.
    """
    first, last = move.holes[0] - MOUTH_REACH, move.holes[-1] + MOUTH_REACH
    within = [hz for hole, hz in reed_pitches(harp, move, shift_cents).items() if first <= hole <= last]
    own = np.array([*sounding_hz, *within, *ringing_hz])
    tones = [hz for hz in _chromatic_hz(harp) if np.abs(1200.0 * np.log2(hz / own)).min() > SAME_CENTS]
    spectrum = ReedSpectrum(sound, rate)
    spectrum.look_at([*sounding_hz, *tones])
    loudest = max(spectrum.total_db(hz) for hz in sounding_hz)
    found = (spectrum.unshared(hz, sounding_hz, least_db=loudest + OTHERS_DB) for hz in tones)
    return max((one.level_db - loudest for one in found if one.enough and one.support >= SUPPORT), default=-np.inf)


def company_of(heard: Sequence[OthersHeard]) -> Company:
    """Whether others play, from what is heard in each event."""
    levels = [one.level_db for one in heard if one.level_db >= OTHERS_DB]
    leaky = [one.level_db >= LEAKS_DB for one in heard if one.has_reed_too_many]
    is_heard = len(levels) >= max(FEWEST_OTHERS, OTHERS_SHARE * len(heard)) or (
        sum(leaky) >= max(LEAKY_OTHERS, LEAKY_SHARE * len(leaky))
    )
    return Company(is_heard=True, level_db=float(np.quantile(levels, LEVEL_QUANTILE))) if is_heard else NO_COMPANY


def alone_in(heard: Mapping[int, Sequence[tuple[float, float]]]) -> frozenset[int]:
    """
    The play-throughs in which no harp plays: chords of the company that are likened to the route.

    Parameters
    ----------
    heard : of each play-through, for each event the level of the loudest other tone under its own, and its own, in
        decibels.

    >>> over_a_band, band_alone = [(-16.0, -26.0)] * 9, [(-1.0, -39.0)] * 9
    >>> sorted(alone_in({0: over_a_band, 1: band_alone, 2: over_a_band}))
    [1]
    """
    middle = {
        play: tuple(float(np.median([max(one[side], FLOOR_DB) for one in events])) for side in (0, 1))
        for play, events in heard.items()
    }
    if not middle:
        return frozenset()
    least_others, loudest = min(one[0] for one in middle.values()), max(one[1] for one in middle.values())
    return frozenset(
        play
        for play, (others, own) in middle.items()
        if others > least_others + MORE_OTHERS_DB and own < loudest - SOFTER_DB
    )
