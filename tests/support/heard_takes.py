"""Takes as they were heard, made by hand without any sound: pitches between two times, lined up with a route."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from msgspec import structs

from reedpath.arrange import Route
from reedpath.hear import HOP_SECONDS, Condition, HeardNote, PitchCurve
from reedpath.listen import Answer, LinedUp, PlacedEvent, PlayThrough, ReadAgain, ReedHeard, answer_of
from reedpath.listen.company import Company
from reedpath.listen.expected import score_of
from reedpath.listen.own_partials import HOP_SECONDS as LEVEL_HOP_SECONDS
from reedpath.listen.own_partials import OwnLevel
from reedpath.listen.segments import Hearing

USUAL_DB = -20.0


@dataclass(frozen=True)
class Sound:
    """What sounds from one time to another: MIDI number with its fraction, or one for each frame; its level."""

    start: float
    end: float
    midi: float | np.ndarray
    level_db: float = USUAL_DB
    confidence: float = 0.95
    begins: bool = True


def _curve(sounds: Sequence[Sound], seconds: float) -> PitchCurve:
    at = np.arange(round(seconds / HOP_SECONDS)) * HOP_SECONDS
    midi, energy = np.full(len(at), np.nan), np.full(len(at), -90.0)
    for one in sounds:
        inside = slice(round(one.start / HOP_SECONDS), round(one.end / HOP_SECONDS))
        midi[inside] = one.midi
        energy[inside] = one.level_db
    voiced = ~np.isnan(midi)
    return PitchCurve(at, 440.0 * 2.0 ** ((midi - 69.0) / 12.0), 1.0 * voiced, voiced, energy)


def _note(one: Sound) -> HeardNote:
    pitch = float(np.median(one.midi))
    whole = round(pitch)
    cents = 100.0 * (pitch - whole)
    at = np.arange(one.start, one.end, HOP_SECONDS) if np.ndim(one.midi) else np.zeros(0)
    contour = np.asarray(one.midi, dtype=np.float64)[: len(at)] if len(at) else at
    return HeardNote(
        one.start, one.end, whole, cents, one.confidence, one.level_db, True, at[: len(contour)], contour
    )


def own_level(start: float, end: float, *, dips: Sequence[tuple[float, float, float]] = ()) -> OwnLevel:
    """The level of an event's own partials: even, with so many decibels less between each two times."""
    at = np.arange(start, end, LEVEL_HOP_SECONDS)
    level = np.full(len(at), USUAL_DB)
    for first, last, decibels in dips:
        level[(at >= first) & (at < last)] -= decibels
    return OwnLevel(start, level.astype(np.float32))


class HeardTake:
    """A take of a route, played as asked but for what is changed.

    >>> from support.built_routes import built_route
    >>> [one.verdict.value for one in HeardTake(built_route("4d 5d")).answer().plays[0].events]
    ['played', 'played']
    """

    def __init__(self, route: Route, *, start: float = 0.5, gap: float = 0.02) -> None:
        self.route, self.score = route, score_of(route)
        self.due = [start + one.start_seconds for one in self.score.events]
        self.end = [start + one.end_seconds for one in self.score.events]
        self.sounds: dict[int | str, Sound] = {
            number: Sound(due, end - gap, one.midi[0])
            for number, (due, end, one) in enumerate(zip(self.due, self.end, self.score.events, strict=True))
        }
        self.placed = {
            number: PlacedEvent(one.index, due, end - gap, True, due, 1.0, 0.9)
            for number, (due, end, one) in enumerate(zip(self.due, self.end, self.score.events, strict=True))
        }
        self.strikes: list[float] = []
        self.soft_strikes: list[float] = []
        self.reeds: dict[int, tuple[ReedHeard, ...]] = {}
        self.levels: dict[int, OwnLevel] = {}

    def sounding(self, number: int | str, **changes: object) -> HeardTake:
        """The take with other than what is asked in a place; a name is a sound that belongs to no event."""
        old = self.sounds.get(number) or Sound(0.0, 0.0, 0.0)
        self.sounds[number] = replace(old, **changes)  # type: ignore[arg-type]
        return self

    def silent(self, number: int) -> HeardTake:
        """The take with nothing placed for an event, and no sound of it."""
        self.sounds.pop(number, None)
        due, end = self.due[number], self.end[number]
        self.placed[number] = structs.replace(
            self.placed[number], start_seconds=due, end_seconds=end, played=False, confidence=0.9
        )
        return self

    def placing(self, number: int, start: float, end: float) -> HeardTake:
        """The take with an event placed elsewhere."""
        self.placed[number] = structs.replace(self.placed[number], start_seconds=start, end_seconds=end, played=True)
        return self

    def lined_up(self, recorded_seconds: float | None = None) -> LinedUp:
        """The take lined up; it is recorded for a second after its last note, unless its length is given."""
        sounds = sorted(self.sounds.values(), key=lambda one: one.start)
        notes = tuple(_note(one) for one in sounds if one.begins)
        hearing = Hearing(
            seen=None,  # type: ignore[arg-type]
            curve=_curve(sounds, recorded_seconds or max(self.end) + 1.0),
            notes=notes,
            attacks=np.zeros(0, dtype=np.intp),
            strikes=np.array(self.strikes),
            soft_strikes=np.array(self.soft_strikes),
            hard_strikes=np.zeros(0),
        )
        events = tuple(self.placed.values())
        start = min(one.start_seconds for one in events if one.played)
        end = max(one.end_seconds for one in events if one.played)
        play = PlayThrough(start, end, 1.0, events, True, (), (), 0.9)
        return LinedUp(self.route, self.score, hearing, (play,))

    def answer(
        self,
        *,
        company: bool = False,
        levels: Mapping[int, OwnLevel] | None = None,
        covered: Mapping[int, OwnLevel] | None = None,
        instead: Mapping[int, OwnLevel] | None = None,
        company_db: float = 0.0,
        ringing: tuple[tuple[float, float], ...] = (),
        recorded_seconds: float | None = None,
    ) -> Answer:
        """The answer to it."""
        known = {**self.levels, **(levels or {})}
        again = ReadAgain(
            {(0, event): reeds for event, reeds in self.reeds.items()},
            {(0, event): level for event, level in known.items()},
            Company(company, company_db),
            covered={(0, event): level for event, level in (covered or {}).items()},
            instead={(0, event): level for event, level in (instead or {}).items()},
            ringing=ringing,
        )
        return answer_of(
            self.lined_up(recorded_seconds), Condition(max(self.end) + 1.0, 44_100, 1, 0.5, 0.0, 0.9), again
        )
