"""Reading the reeds: a take is read once more, and the reeds of every event are looked for where it was placed.

Where an octave's upper reed seems silent, since the lower one's partials keep step, their levels are compared with
those of the same reed's single notes elsewhere in the take: two reeds in perfect tune keep step too, but are louder
where they share partials.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from reedpath.harp import Alteration, Breath
from reedpath.listen.expected import Expected
from reedpath.listen.playthrough import LinedUp, Placed
from reedpath.listen.reeds import ReedHeard, ReedState, hear_reeds, lifts_of
from reedpath.listen.steady import steady_parts
from reedpath.signal.samples import Samples

__all__ = ["Reeds", "moved", "reeds_of"]

# seconds at the start and end of an event that are left out (reeds settle, rooms ring), and the most and the least
# that is looked at
START_SECONDS, END_SECONDS, MOST_SECONDS, LEAST_SECONDS = 0.06, 0.02, 1.2, 0.09
# share of a short event that is left out at its start
START_SHARE = 0.2
# semitones round a single note's pitch within which it is steady, and off what was asked within which it is that
STEADY_SEMITONES, OWN_SEMITONES = 0.35, 0.8
# cents off within which natural notes tell how the harp is tuned, and how many must
TUNED_CENTS, TUNED_NOTES = 50.0, 4
# decibels by which shared partials must stand higher than in single notes for a silent reed to be doubted
LIFTED_DB = 3.5

# by play-through and index of the event: the reeds heard in it
Reeds = Mapping[tuple[int, int], tuple[ReedHeard, ...]]


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an event is looked at: its play-through, what is expected, from when to when, and at what pitch."""

    play: int
    expected: Expected
    span: tuple[float, float]
    midi: float | None


def _steady(lined_up: LinedUp, placed: Placed, expected: Expected) -> tuple[tuple[float, float], float | None]:
    """The steady stretch of an event, and the pitch of a single note there."""
    length = placed.end_seconds - placed.start_seconds
    start = placed.start_seconds + min(START_SECONDS, START_SHARE * length)
    end = min(placed.end_seconds - END_SECONDS, start + MOST_SECONDS)
    if len(expected.move.holes) > 1:
        return (start, end), None
    part = lined_up.hearing.curve.span(start, end)
    midi = part.midi
    own = np.abs(midi - expected.midi[0]) < OWN_SEMITONES
    if not own.any():
        return (start, end), None
    level = float(np.median(midi[own]))
    inside = np.concatenate([[False], np.abs(midi - level) < STEADY_SEMITONES, [False]])
    edges = np.flatnonzero(np.diff(inside.astype(np.int8)))
    begins, ends = edges[::2], edges[1::2]
    longest = int((ends - begins).argmax())
    at = part.seconds[begins[longest]], part.seconds[ends[longest] - 1]
    return (max(start, float(at[0])), min(end, float(at[1]))), level


def _places(lined_up: LinedUp) -> list[_Place]:
    by_index = {expected.index: expected for expected in lined_up.score.events}
    found = []
    for number, play in enumerate(lined_up.play_throughs):
        for placed in play.events:
            expected = by_index[placed.event]
            if not placed.played:
                continue
            span, midi = _steady(lined_up, placed, expected)
            if span[1] - span[0] >= LEAST_SECONDS:
                found.append(_Place(number, expected, span, midi))
    return found


def _shift_cents(places: Sequence[_Place]) -> float:
    """By how much the player's harp lies over the lesson's, by its natural single notes."""
    off = [
        100.0 * (one.midi - one.expected.midi[0])
        for one in places
        if one.midi is not None and one.expected.move.alteration is Alteration.NATURAL
    ]
    near = [cents for cents in off if abs(cents) < TUNED_CENTS]
    return float(median(near)) if len(near) >= TUNED_NOTES else 0.0


def _hertz(midi: float) -> float:
    return float(440.0 * 2.0 ** ((midi - 69.0) / 12.0))


def _doubted(reed: ReedHeard, breath: Breath, alone: Mapping[tuple[int, Breath, int], Sequence[float]]) -> ReedHeard:
    """A silent reed, unless what it would share stands higher than the other reed makes it alone."""
    if reed.state is not ReedState.SILENT or reed.lift is None:
        return reed
    usual = alone.get((reed.lift.hole, breath, reed.lift.times))
    if usual and reed.lift.decibels - median(usual) > LIFTED_DB:
        return ReedHeard(reed.hole, reed.asked, ReedState.UNSURE)
    return reed


def reeds_of(lined_up: LinedUp, sound: Samples | Iterable[Samples]) -> Reeds:
    """
    The reeds that sound in every event of every play-through.

    Parameters
    ----------
    sound : of the take, whole or in blocks from its start.
    """
    places = _places(lined_up)
    shift = _shift_cents(places)
    harp = lined_up.score.harp
    heard: dict[tuple[int, int], tuple[ReedHeard, ...]] = {}
    alone: dict[tuple[int, Breath, int], list[float]] = defaultdict(list)
    wanted = _octaves_below(places)
    for number, part, rate in steady_parts(sound, [one.span for one in places]):
        place = places[number]
        move = place.expected.move
        if len(part) < LEAST_SECONDS * rate:
            continue
        hz = None if place.midi is None else _hertz(place.midi)
        reeds = hear_reeds(part, rate, harp, move, shift_cents=shift, heard_hz=hz)
        heard[place.play, place.expected.index] = reeds
        if hz is not None and (move.holes[0], move.breath) in wanted and len(reeds) == 1:
            if move.alteration is Alteration.NATURAL:
                for lift in lifts_of(part, rate, move.holes[0], hz):
                    alone[lift.hole, move.breath, lift.times].append(lift.decibels)
    breaths = {(one.play, one.expected.index): one.expected.move.breath for one in places}
    return {
        key: tuple(moved(_doubted(reed, breaths[key], alone), shift) for reed in reeds) for key, reeds in heard.items()
    }


def _octaves_below(places: Sequence[_Place]) -> set[tuple[int, Breath]]:
    """Holes of chords, whose single notes are worth comparing."""
    return {
        (hole, one.expected.move.breath)
        for one in places
        if len(one.expected.move.holes) > 1
        for hole in one.expected.move.holes
    }


def moved(reed: ReedHeard, cents: float) -> ReedHeard:
    """The reed with so many cents added to its own."""
    return reed if reed.cents is None else replace(reed, cents=reed.cents + cents)
