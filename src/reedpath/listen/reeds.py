"""Reeds: which reeds sound in an event, among those that were asked and those of the holes beside.

A reed is told by partials that it shares with no other that sounds: they must stand out, agree on one pitch, and be
as loud as a reed is. Where another reed has all of them (octaves, twelfths), by whether they keep step with it (see
`reed_spectrum`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from reedpath.data import replace
from reedpath.harp import Breath, Harp, Move, sound_of
from reedpath.listen.reed_spectrum import ReedSpectrum, UnsharedPartials, octave_stray

Float32 = npt.NDArray[np.float32]

# decibels under the loudest reed at which one still sounds, and under which it is silent; by trial
SOUNDS_DB, SILENT_DB = -17.0, -22.0
# decibels under the loudest reed at which a reed that was not asked is told
LEAKS_DB = -16.0
# share of a reed's lone partials that must be there, and under which it is not
SUPPORT, NO_SUPPORT = 0.5, 0.34
# cents off a whole number of times another's pitch within which a reed is hidden in it
HIDDEN_CENTS = 30.0
# decibels of straying, and by how much more than the reed's own partials stray, from which the shared ones tell of a
# second reed: pairs of which both must hold; likewise under which they tell of none, with the seconds of sound that
# takes (measured on glued takes: two reeds in perfect tune are rare, and need time to stray from each other)
STRAYS = ((-18.0, 6.0), (-27.0, 15.0))
KEEPS = ((-18.0, 9.0, 0.25), (-28.0, 12.0, 0.18))
# confidence over which a reed that was not asked, and is hidden in another, is told
HIDDEN_SURE = 0.65
# holes to either side that a mouth may reach unasked; cents within which a pitch is one that sounds anyway
MOUTH_REACH, SAME_CENTS = 2, 60.0
# holes by which one that sounds may lie off one that does not, to be in its place
IN_PLACE_HOLES = 2
# decibels to spare that make a verdict twice as sure
SURE_DB = 20.0


class ReedState(StrEnum):
    """Whether a reed sounds."""

    SOUNDS = "sounds"
    SILENT = "silent"
    UNSURE = "unsure"


class Lift(Struct, frozen=True):
    """By how many decibels the partials of a hole's reed that one so many times higher shares stand over the rest."""

    hole: int
    times: int
    decibels: float


class ReedHeard(Struct, frozen=True):
    """One reed of an event.

    hole : that it belongs to. asked : whether it should sound. state : whether it does.
    level_db : under the loudest reed of the event; None where it cannot be told.
    cents : off its own pitch; None where it is silent or its pitch cannot be told.
    confidence : 0 to 1; 0 where nothing can be told.
    lift : for a reed told by whether another's partials keep step.
    """

    hole: int
    asked: bool
    state: ReedState
    level_db: float | None = None
    cents: float | None = None
    confidence: float = 0.0
    lift: Lift | None = None


def _sure(margin_db: float) -> float:
    """Confidence of a verdict that a measure gives with so many decibels to spare; ours."""
    return min(1.0, max(0.5, 0.5 + margin_db / SURE_DB))


@lru_cache(maxsize=16)
def _natural_hz(harp: Harp, breath: Breath) -> tuple[float, ...]:
    """Hertz of each hole's reed of a breath, the lowest hole first."""
    return tuple(sound_of(harp, Move((hole,), breath)).hz[0] for hole in range(1, harp.tuning.holes + 1))


@lru_cache(maxsize=64)
def reed_pitches(harp: Harp, move: Move, shift_cents: float) -> Mapping[int, float]:
    """Hertz of each hole's reed of that breath: those of the move as it asks, the others natural."""
    shift = 2.0 ** (shift_cents / 1200.0)
    found = {hole: hz * shift for hole, hz in enumerate(_natural_hz(harp, move.breath), start=1)}
    if len(move.holes) == 1:
        found[move.holes[0]] = sound_of(harp, move).hz[0] * shift
    return found


class _EventSpectrum:
    """The reeds of a breath in the spectrum of one event."""

    def __init__(
        self, sound: Float32, rate: int, pitches: Mapping[int, float], spectrum: ReedSpectrum | None
    ) -> None:
        self.sound, self.rate, self.pitches = sound, rate, pitches
        self.spectrum = ReedSpectrum(sound, rate) if spectrum is None else spectrum

    def unshared(self, hole: int, others: Sequence[int], *, least_db: float = -np.inf) -> UnsharedPartials:
        beside = [self.pitches[one] for one in others if one != hole]
        return self.spectrum.unshared(self.pitches[hole], beside, least_db=least_db)

    def heard(self, hole: int, lone: UnsharedPartials, loudest_db: float, *, asked: bool) -> ReedHeard:
        """A reed judged by its lone partials."""
        level = lone.level_db - loudest_db
        cents = 1200.0 * float(np.log2(lone.hz / self.pitches[hole])) if lone.support > 0 else None
        if lone.support >= SUPPORT and level > SOUNDS_DB:
            sure = lone.support * _sure(level - SOUNDS_DB)
            return ReedHeard(hole, asked, ReedState.SOUNDS, level, cents, sure)
        if lone.support < NO_SUPPORT or level < SILENT_DB:
            return ReedHeard(hole, asked, ReedState.SILENT, confidence=_sure(max(0.0, SILENT_DB - level)))
        return ReedHeard(hole, asked, ReedState.UNSURE)

    def hiding(self, hole: int, others: Sequence[int]) -> tuple[int, int] | None:
        """The hole whose partials hide those of another, and how many times higher that lies."""
        for other in sorted(others, key=lambda one: -self.pitches[one]):
            ratio = self.pitches[hole] / self.pitches[other]
            times = round(ratio)
            if times > 1 and abs(1200.0 * np.log2(ratio / times)) < HIDDEN_CENTS:
                return other, times
        return None

    def hidden(self, hole: int, sounding: Sequence[int]) -> ReedHeard:
        """A reed that shares all its partials, judged by whether they keep step with another's."""
        unsure = ReedHeard(hole, asked=True, state=ReedState.UNSURE)
        by = self.hiding(hole, [one for one in sounding if one != hole])
        if by is None:
            return unsure
        other, times = by
        lower = self.unshared(other, [*sounding, hole])
        third = [self.pitches[one] for one in sounding if one not in (hole, other)]
        hz = lower.hz if lower.support > 0 else self.pitches[other]
        heard = octave_stray(self.sound, self.rate, hz, times, third)
        if heard is None:
            return unsure
        more, lift = heard.shared_db - heard.own_db, self.spectrum.lift_db(hz, times)
        told = Lift(other, times, lift)
        if any(heard.shared_db > least_db and more > beyond_db for least_db, beyond_db in STRAYS):
            off = 1200.0 * float(np.log2(hz * times / self.pitches[hole])) + heard.cents
            sure = _sure(more - STRAYS[0][1])
            return replace(unsure, state=ReedState.SOUNDS, cents=off, confidence=sure, lift=told)
        seconds = len(self.sound) / self.rate
        if any(
            heard.shared_db < most_db and more < beyond_db and seconds > least for most_db, beyond_db, least in KEEPS
        ):
            sure = _sure(KEEPS[0][0] - heard.shared_db)
            return replace(unsure, state=ReedState.SILENT, confidence=sure, lift=told)
        return unsure


class _Judging:
    """One event's reeds being judged, those that are easily told first."""

    def __init__(self, spectra: _EventSpectrum, asked: Sequence[int], count: int) -> None:
        self.spectra, self.asked, self.count = spectra, asked, count
        self.told: dict[int, ReedHeard] = {}
        self.near = [hole for hole in range(asked[0] - 1, asked[-1] + 2) if hole not in asked and 1 <= hole <= count]
        spectra.spectrum.look_at([spectra.pitches[hole] for hole in (*asked, *self.near)])
        self.loudest_db = max(spectra.spectrum.total_db(spectra.pitches[hole]) for hole in (*asked, *self.near))

    def sounding(self) -> list[int]:
        """Holes that sound or may."""
        return [hole for hole, one in self.told.items() if one.state is not ReedState.SILENT]

    def judged(self) -> tuple[ReedHeard, ...]:
        """All reeds asked, and those that sound beside them."""
        self.judge_clear(self.asked)
        hidden = [hole for hole in self.asked if hole not in self.told]
        self.seek_extras(self.near, [*self.sounding(), *hidden])
        extras = [hole for hole in self.told if hole not in self.asked]
        if extras:
            self.judge_clear([*self.asked, *extras])
        for hole in hidden:
            self.judge_hidden(hole)
        missing = [hole for hole in self.asked if self.told[hole].state is ReedState.SILENT]
        further = {hole + step for hole in missing for step in (-2, 2)} - {*self.asked, *self.near}
        within = [hole for hole in (*self.near, *sorted(further)) if 1 <= hole <= self.count]
        self.seek_extras(within, self.sounding())
        self.seek_hidden()
        extras = sorted(hole for hole in self.told if hole not in self.asked)
        return tuple(self.told[hole] for hole in (*self.asked, *extras))

    def judge_clear(self, others: Sequence[int]) -> None:
        """Judge the asked reeds that have partials of their own beside the others."""
        for hole in self.asked:
            lone = self.spectra.unshared(hole, others)
            if lone.enough:
                self.told[hole] = self.spectra.heard(hole, lone, self.loudest_db, asked=True)

    def judge_hidden(self, hole: int) -> None:
        """Judge an asked reed whose partials all belong to another, if that one sounds."""
        sounding = self.sounding()
        own = self.spectra.unshared(hole, sounding)
        if own.enough:
            self.told[hole] = self.spectra.heard(hole, own, self.loudest_db, asked=True)
        else:
            self.told[hole] = self.spectra.hidden(hole, sounding)

    def seek_hidden(self) -> None:
        """Find the holes beside whose reeds sound unasked, all their partials shared with another."""
        for hole in self.near:
            sounding = self.sounding()
            if hole in self.told or self.spectra.unshared(hole, sounding, least_db=np.inf).enough:
                continue
            heard = self.spectra.hidden(hole, sounding)
            if heard.state is ReedState.SOUNDS and heard.confidence > HIDDEN_SURE:
                self.told[hole] = replace(heard, asked=False)

    def seek_extras(self, near: Sequence[int], sounding: Sequence[int]) -> None:
        """Find the reeds that sound unasked, the loudest first; each explains what the next shares with it."""
        left = [hole for hole in near if hole not in self.told]
        others = list(sounding)
        while left:
            heard = {hole: self.spectra.unshared(hole, others, least_db=self.loudest_db + LEAKS_DB) for hole in left}
            hole = max(left, key=lambda one: heard[one].level_db if heard[one].support >= SUPPORT else -np.inf)
            lone = heard[hole]
            if lone.support < SUPPORT or not lone.enough or lone.level_db - self.loudest_db < LEAKS_DB:
                return
            self.told[hole] = self.spectra.heard(hole, lone, self.loudest_db, asked=False)
            others.append(hole)
            left.remove(hole)


def hear_reeds(
    sound: Float32,
    rate: int,
    harp: Harp,
    move: Move,
    *,
    shift_cents: float = 0.0,
    heard_hz: float | None = None,
    spectrum: ReedSpectrum | None = None,
) -> tuple[ReedHeard, ...]:
    """
    Which reeds sound in the steady part of one event.

    Parameters
    ----------
    sound : one channel. rate : hertz.
    move : what was asked.
    shift_cents : by how much the player's harp lies over its pitch.
    heard_hz : the pitch of a single note, as far as it is known: a bend may lie off its own.
    spectrum : of the sound, where it is there already.

    Returns
    -------
    The holes asked, and those that sound beside them.
    """
    pitches = reed_pitches(harp, move, shift_cents)
    own = move.holes[0]
    if heard_hz is None or len(move.holes) > 1:
        return _Judging(_EventSpectrum(sound, rate, pitches, spectrum), move.holes, harp.tuning.holes).judged()
    off = 1200.0 * float(np.log2(heard_hz / pitches[own]))
    event = _EventSpectrum(sound, rate, {**pitches, own: heard_hz}, spectrum)
    judged = _Judging(event, move.holes, harp.tuning.holes).judged()
    return tuple(
        replace(one, cents=one.cents + off) if one.hole == own and one.cents is not None else one for one in judged
    )


def lifts_of(spectrum: ReedSpectrum, hole: int, hz: float) -> tuple[Lift, ...]:
    """How the partials of a single note stand to each other: what its reed makes alone."""
    lifts = (Lift(hole, times, spectrum.lift_db(hz, times)) for times in (2, 3, 4))
    return tuple(lift for lift in lifts if np.isfinite(lift.decibels))


@dataclass(frozen=True, slots=True)
class HolesHeard:
    """What is wrong with the holes of an event.

    missing : holes that should sound and do not. wrong : pairs of such a hole and the one that sounds in its place.
    too_many : holes that sound beside those asked.
    """

    missing: tuple[int, ...]
    wrong: tuple[tuple[int, int], ...]
    too_many: tuple[int, ...]


def holes_heard(reeds: Sequence[ReedHeard]) -> HolesHeard:
    """What is wrong with the holes of an event: each silent hole with the one next to it that sounds, if any does.

    >>> holes_heard((ReedHeard(1, True, ReedState.SOUNDS), ReedHeard(4, True, ReedState.SILENT),
    ...     ReedHeard(5, False, ReedState.SOUNDS))).wrong
    ((4, 5),)
    """
    missing = [one.hole for one in reeds if one.asked and one.state is ReedState.SILENT]
    beside = [one.hole for one in reeds if not one.asked and one.state is ReedState.SOUNDS]
    wrong = []
    for hole in list(missing):
        near = [other for other in beside if abs(other - hole) <= IN_PLACE_HOLES]
        if near:
            other = min(near, key=lambda one: abs(one - hole))
            wrong.append((hole, other))
            missing.remove(hole)
            beside.remove(other)
    return HolesHeard(tuple(missing), tuple(wrong), tuple(beside))
