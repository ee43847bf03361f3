"""What a route lets one expect to hear: for every event its pitches, the course they may take, and its time."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Choice, Route
from reedpath.harp import Alteration, Harp, Move, inventory, sound_of
from reedpath.phrase import timing_of

# semitones round the harp's reach within which a pitch is taken for one of its own; half the smallest interval
BEYOND_REACH = 0.6
# semitones beyond that in which a voice or a backing may still be heard as itself rather than as the harp
ELSEWHERE = 30.0
# log prior of a pitch outside the reach: talk is heard, but the harp is preferred (by trial, flat from -1 to -4)
ELSEWHERE_LOG = -2.0


@dataclass(frozen=True, slots=True)
class Expected:
    """What one event of a route lets one expect.

    index : of the route's event.
    move : how it is sounded.
    midi : pitch of each sounding reed in the harp's own temperament, MIDI numbers with their fraction.
    low, high : MIDI numbers between which its pitch may move: glides and runs included, and for a bend its
        natural note, from which players slide.
    start_seconds, end_seconds : when it sounds at the written tempo, from beat 0.
    beat_seconds : length of a beat there.
    lead_in, lead_out : pitches of the moves that are run through before and after its own, MIDI numbers.
    """

    index: int
    move: Move
    midi: tuple[float, ...]
    low: float
    high: float
    start_seconds: float
    end_seconds: float
    beat_seconds: float
    lead_in: tuple[float, ...] = ()
    lead_out: tuple[float, ...] = ()

    def tuned(self, cents: float) -> Expected:
        """The same on a harp that lies so much higher."""
        shift = cents / 100.0
        midi, lead_in, lead_out = (
            tuple(one + shift for one in pitches) for pitches in (self.midi, self.lead_in, self.lead_out)
        )
        low, high = self.low + shift, self.high + shift
        return replace(self, midi=midi, low=low, high=high, lead_in=lead_in, lead_out=lead_out)


@dataclass(frozen=True, slots=True)
class Score:
    """The events of a route that sound, in order.

    harp : the instrument.
    events : what each lets one expect; silent events of the route are left out.
    tuned_cents : by how much the player's harp lies over the pitch that the lesson gives it; its events hold it.
    """

    harp: Harp
    events: tuple[Expected, ...]
    tuned_cents: float = 0.0

    def __len__(self) -> int:
        return len(self.events)

    def tuned(self, cents: float) -> Score:
        """The same events on a harp that lies so much higher."""
        events = tuple(one.tuned(cents) for one in self.events)
        return Score(self.harp, events, self.tuned_cents + cents)

    def array(self, name: str) -> npt.NDArray[np.float64]:
        """One field of all events, shape (events,)."""
        return np.array([getattr(event, name) for event in self.events], dtype=np.float64)


def sounding_midi(harp: Harp, move: Move) -> tuple[float, ...]:
    """Pitch of each sounding hole of a move, MIDI numbers with their fraction."""
    sound = sound_of(harp, move)
    return tuple(midi + cents / 100.0 for midi, cents in zip(sound.midi, sound.cents, strict=True))


def _run_midi(harp: Harp, moves: tuple[Move, ...]) -> tuple[float, ...]:
    return tuple(midi for move in moves for midi in sounding_midi(harp, move))


def _course(harp: Harp, move: Move, choice: Choice) -> tuple[float, float]:
    """Lowest and highest pitch on the way through an event."""
    own = sounding_midi(harp, move)
    pitches = list(own)
    pitches += [pitch + glide for pitch in own for glide in (choice.attack_semitones, choice.fall_semitones)]
    for run in (*choice.lead_in, *choice.lead_out):
        pitches += sounding_midi(harp, run)
    if move.alteration is Alteration.BEND:
        pitches += sounding_midi(harp, Move(move.holes, move.breath))
    return min(pitches), max(pitches)


def score_of(route: Route) -> Score:
    """What a route lets one expect, at the tempo that its phrase is written in."""
    timing = timing_of(route.phrase)
    found = []
    for index, one in enumerate(route.events):
        move, event = one.choice.move, one.event
        if move is None:
            continue
        low, high = _course(route.harp, move, one.choice)
        found.append(
            Expected(
                index,
                move,
                sounding_midi(route.harp, move),
                low,
                high,
                timing.seconds_at(event.onset),
                timing.seconds_at(event.end),
                60.0 / timing.bpm_at(event.onset),
                _run_midi(route.harp, one.choice.lead_in),
                _run_midi(route.harp, one.choice.lead_out),
            )
        )
    return Score(route.harp, tuple(found))


def pitch_prior(harp: Harp) -> npt.NDArray[np.float64]:
    """What a harp can sound, as the prior over pitch that `reedpath.hear` takes: shape (n, 2)."""
    pitches = [
        midi + cents / 100.0 for sound in inventory(harp) for midi, cents in zip(sound.midi, sound.cents, strict=True)
    ]
    low, high = min(pitches) - BEYOND_REACH, max(pitches) + BEYOND_REACH
    return np.array(
        [
            (low - ELSEWHERE, ELSEWHERE_LOG),
            (low - 0.1, ELSEWHERE_LOG),
            (low, 0.0),
            (high, 0.0),
            (high + 0.1, ELSEWHERE_LOG),
            (high + ELSEWHERE, ELSEWHERE_LOG),
        ]
    )
