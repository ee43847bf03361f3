"""The ladder: tempos from slow to full.

The slowest is where nearly every change leaves the time to think it, and no faster than where the search finds
that speed alone makes nothing hard for the player's level; from there the tempos rise by equal ratios,
since tempo is heard as a ratio, and each rung stands well above the change that is just heard (6 % for a single
interval: "Tempo sensitivity in auditory sequences", Drake & Botte 1993, abstract). Tempos are those of a
mechanical metronome's scale, which every student's metronome has.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Collection, Sequence
from fractions import Fraction
from itertools import pairwise

from reedpath.arrange import Route, RouteEvent
from reedpath.errors import SettingsError
from reedpath.harp import Alteration
from reedpath.lesson.model import Rung, RungName
from reedpath.phrase import Timing, metre_at, practice_beat, timing_of

# seconds from one note to the next that leave a learner time to think the change; common practice, no source
PLAIN_SECONDS, ALTERED_SECONDS = 0.4, 0.6
# share of the changes that may be quicker than that at the slowest tempo; common practice, no source
QUICK_SHARE = 0.1
# shares of full tempo between which a lesson's slowest tempo lies, and a spot's; common practice, no source
SLOWEST, FASTEST_SLOW = 0.4, 0.75
SPOT_SLOWEST, SPOT_FASTEST_SLOW = 0.35, 0.7
# share of its own thinking tempo at which a spot is begun, to be slower than the whole; common practice, no source
SPOT_SHARE = 0.85
# ratio from rung to rung that is not passed while there are rungs left; common practice, no source
WIDEST_STEP = 1.22
# ratio under which two tempos are felt as one; Drake & Botte 1993, single interval (abstract)
FELT_STEP = 1.06
# names of the rungs by their number; keys of the catalogues
RUNG_NAMES: dict[int, tuple[RungName, ...]] = {
    2: ("slow", "full"),
    3: ("slow", "faster", "full"),
    4: ("slow", "faster", "nearly", "full"),
    5: ("slow", "faster", "faster-still", "nearly", "full"),
}
# beats a minute; the scale of the mechanical metronome (common practice, no source)
METRONOME = (
    *range(40, 60, 2),
    *range(60, 72, 3),
    *range(72, 120, 4),
    *range(120, 144, 6),
    *range(144, 209, 8),
)


def metronome_bpm(bpm: float) -> float:
    """
    The nearest tempo on a metronome's scale; a whole number beyond its ends.

    >>> metronome_bpm(61.2), metronome_bpm(99), metronome_bpm(33.4)
    (60.0, 100.0, 33.0)
    """
    if not METRONOME[0] <= bpm <= METRONOME[-1]:
        return max(1.0, float(round(bpm)))
    place = bisect_left(METRONOME, bpm)
    around = METRONOME[max(0, place - 1) : place + 1]
    return float(min(around, key=lambda tempo: abs(tempo - bpm)))


def _thinking_seconds(event: RouteEvent) -> float:
    choice = event.choice
    bent = choice.move is not None and choice.move.alteration is not Alteration.NATURAL
    plain = not (bent or choice.attack_semitones or choice.lead_in)
    return PLAIN_SECONDS if plain else ALTERED_SECONDS


def _slow_factor(events: Sequence[RouteEvent], timing: Timing, *, slowest: float, fastest: float) -> float:
    """Share of full tempo at which nearly all changes leave time to think, held between two shares."""
    factors = []
    for before, now in pairwise(events):
        if now.choice == before.choice or now.event.grace or before.event.grace:
            continue
        seconds = timing.seconds_at(now.event.onset) - timing.seconds_at(before.event.onset)
        factors.append(seconds / _thinking_seconds(now))
    if not factors:
        return fastest
    needed = sorted(factors)[int(QUICK_SHARE * len(factors))]
    return min(fastest, max(slowest, needed))


def _rungs(full_bpm: float, beat: float, slow: float) -> tuple[Rung, ...]:
    """Rungs from a slowest share up to full tempo.

    full_bpm : quarter notes a minute.
    beat : quarter notes in a counted beat.
    """
    most = max(RUNG_NAMES)
    count = min(most, max(3, 1 + math.ceil(math.log(1 / slow) / math.log(WIDEST_STEP) - 1e-9)))
    full = full_bpm / beat
    tempos: list[float] = []
    for step in range(count - 1):
        tempo = metronome_bpm(full * slow ** (1 - step / (count - 1)))
        felt = not tempos or tempo >= tempos[-1] * FELT_STEP
        if felt and tempo * FELT_STEP <= full:
            tempos.append(tempo)
    return rungs_up_to(full_bpm, beat, tempos)


def rungs_up_to(full_bpm: float, beat: float, tempos: Sequence[float]) -> tuple[Rung, ...]:
    """Rungs of rising tempos in counted beats a minute, then full tempo; numbers are those of `_rungs`."""
    full = full_bpm / beat
    names = RUNG_NAMES[len(tempos) + 1] if tempos else ()
    below = [Rung(name, tempo / full, tempo * beat) for name, tempo in zip(names, tempos, strict=False)]
    return (*below, Rung("full", 1.0, full_bpm))


def _full_bpm(route: Route, first: int) -> tuple[float, float]:
    """Quarter notes a minute, and in a counted beat, where an event begins (the phrase, for the first)."""
    onset = route.events[first].event.onset if first else Fraction(0)
    return timing_of(route.phrase).bpm_at(onset), float(practice_beat(metre_at(route.phrase, onset)))


def ladder_of(route: Route) -> tuple[Rung, ...]:
    """The ladder of a whole route, slow to full."""
    slow = _slow_factor(route.events, timing_of(route.phrase), slowest=SLOWEST, fastest=FASTEST_SLOW)
    slow = max(SLOWEST, min(slow, route.comfortable))
    return _rungs(*_full_bpm(route, 0), slow)


def spot_ladder(route: Route, first: int, last: int) -> tuple[Rung, ...]:
    """The ladder of a stretch of a route, by the tempo where it begins; it may begin slower than the whole."""
    events = route.events[first : last + 1]
    own = _slow_factor(events, timing_of(route.phrase), slowest=SPOT_SLOWEST, fastest=SPOT_FASTEST_SLOW)
    slow = max(SPOT_SLOWEST, SPOT_SHARE * own)
    return _rungs(*_full_bpm(route, first), slow)


def rungs_named(ladder: Sequence[Rung], names: Collection[str]) -> tuple[Rung, ...]:
    """The rungs of those names in the ladder's order, all for no names.

    Raises `SettingsError` for a name that the ladder does not have.
    """
    known = [rung.name for rung in ladder]
    for name in names:
        if name not in known:
            raise SettingsError("lesson.unknown_rung", name=name, known=known)
    return tuple(rung for rung in ladder if not names or rung.name in names)
