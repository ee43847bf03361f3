"""Feel: how the band's time and force vary, drawn from a seed.

Time wanders slowly, with a spectrum that falls as one over the frequency (Hennig et al., PLoS ONE 6, e26457, 2011):
all players together, and each a little from the others. Force wanders too, and varies from note to note. The numbers
are in `feel.toml`, each with its source.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated

import numpy as np
import numpy.typing as npt
from msgspec import Meta, Struct

from reedpath.data import read_toml, shipped_text
from reedpath.sound.band.sampler import VELOCITY_DB

# points of the wandering in a counted beat; between them it runs straight
POINTS = 2
# standard deviations that nothing wanders further than; and a player from the others: the two of them that wander
# most, guitar and piano, then stay within 19 ms of one another (see `feel.toml`)
FURTHEST, FURTHEST_APART = 2.2, 1.72
# share of the force's variance that wanders slowly; our choice
SLOW_SHARE = 0.4
# MIDI velocities that are played, softest and hardest
SOFTEST, HARDEST = 8, 126
# swing of the ride cymbal: so many over the quarter notes a minute, less 1, between 1 and the most. The short note is
# about 100 ms, the ratio 3.5 near 120, 1 when fast: Friberg & Sundström, Music Perception 19(3), 2002
RIDE_BPM, MOST_RIDE = 600.0, 3.5

Milliseconds = Annotated[float, Meta(ge=0, le=15)]
Decibels = Annotated[float, Meta(ge=-12, le=12)]
Beats = Annotated[float, Meta(ge=0, le=16)]


class _PlayerNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    own_ms: Milliseconds
    force_db: Annotated[float, Meta(ge=0, le=6)]


class FeelNumbers(Struct, frozen=True, forbid_unknown_fields=True):
    """All numbers of a band's feel; what each means stands in `feel.toml`."""

    together_ms: Milliseconds
    growth_db: tuple[Decibels, Decibels, Decibels]
    under_db: Decibels
    room_beats: Beats
    answer_beats: Beats
    players: dict[str, _PlayerNumbers]


def parse_feel(text: str) -> FeelNumbers:
    """Read the numbers of a feel; errors name file, key and value."""
    return read_toml(text, FeelNumbers, file="feel.toml")


@cache
def load_feel() -> FeelNumbers:
    """The feel that ships with the program."""
    return parse_feel(shipped_text("reedpath.sound", "band/feel.toml"))


@dataclass(frozen=True, slots=True)
class BandFeel:
    """How freely a band plays.

    seed : what all chance is drawn from; the same seed gives the same notes.
    looseness : times the usual wandering of time; 0 for a band that stands on the beat.
    lead : seconds between which the phrase sounds, or is the student's to sound: the band leaves room there.
    """

    seed: int = 2
    looseness: float = 1.0
    lead: tuple[tuple[float, float], ...] = ()


def ride_swing(bpm: float) -> float:
    """
    How many times as long the first eighth is as the second on a ride cymbal, at so many quarter notes a minute.

    >>> [round(ride_swing(bpm), 2) for bpm in (100, 160, 200, 240, 300)]
    [3.5, 2.75, 2.0, 1.5, 1.0]
    """
    return min(MOST_RIDE, max(1.0, RIDE_BPM / bpm - 1.0))


def round_level(turn: int, turns: int) -> int:
    """
    How far a round has grown, 0 to 2: up to the third, then down and up again, and all the way for the last of many.

    >>> [round_level(turn, 6) for turn in range(6)]
    [0, 1, 2, 1, 2, 2]
    """
    if turn < 3:
        return max(0, turn)
    return 2 if turn == turns - 1 else 2 - turn % 2


def _random(seed: int, *names: str) -> np.random.Generator:
    return np.random.default_rng([seed, *(zlib.crc32(name.encode()) for name in names)])


def _wandering(random: np.random.Generator, count: int, *, furthest: float = FURTHEST) -> npt.NDArray[np.float64]:
    """A slow wandering of standard deviation 1 about 0, its power falling as one over the frequency."""
    lines = random.standard_normal(count // 2 + 1) + 1j * random.standard_normal(count // 2 + 1)
    lines[0] = 0.0
    lines[1:] /= np.sqrt(np.arange(1, len(lines)))
    course = np.fft.irfft(lines, count)
    return np.asarray(np.clip(course / course.std(), -furthest, furthest))


class PlayerFeel:
    """How one player's time and force vary; notes are to be asked for in their order.

    beats : counted beats that are played. numbers : of each player.
    """

    def __init__(self, feel: BandFeel, player: str, beats: int, numbers: Mapping[str, _PlayerNumbers]) -> None:
        own, count = numbers[player], max(8, (beats + 1) * POINTS)
        together = _wandering(_random(feel.seed, "together"), count) * load_feel().together_ms
        apart = _wandering(_random(feel.seed, player, "time"), count, furthest=FURTHEST_APART) * own.own_ms
        self._late = feel.looseness * (together + apart) / 1000.0
        self._random = _random(feel.seed, player, "force")
        slow = _wandering(self._random, count)
        self._force = slow * own.force_db * SLOW_SHARE**0.5
        self._quick = own.force_db * (1.0 - SLOW_SHARE) ** 0.5

    def late(self, beat: float) -> float:
        """Seconds by which what is to sound on a beat is late, early where negative."""
        return float(np.interp(beat * POINTS, np.arange(len(self._late)), self._late))

    def velocity(self, written: int, beat: float, more_db: float) -> int:
        """The MIDI velocity of a note that is written with another, so many decibels over it."""
        slow = float(np.interp(beat * POINTS, np.arange(len(self._force)), self._force))
        quick = self._quick * min(FURTHEST, max(-FURTHEST, float(self._random.standard_normal())))
        velocity = written * math.pow(10.0, (slow + quick + more_db) / VELOCITY_DB)
        return min(HARDEST, max(SOFTEST, round(velocity)))

    def one_of(self, count: int) -> int:
        """One of so many ways, counted from 0."""
        return int(self._random.integers(count))
