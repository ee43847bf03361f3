"""Rhythm grids: heard onsets, in beats that waver, onto the rhythm that was most likely meant.

For each beat a division is chosen (whole, halves, triplets, quarters ...), and a place of it for each onset,
so that the sum over all beats is least of

    (onset - place)^2 / (2 sigma^2)  +  price of the division  +  price of changing between binary and ternary

with onsets strictly in order, by dynamic programming over the beats. Weighing how far the notes are moved
against how simple the rhythm is, as a likelihood and a prior, is the view of Cemgil, Desain and Kappen,
"Rhythm quantization for transcription", Computer Music J. 24(2), 2000 (from memory); the prices are ours.
Swing is one of several ratios for the whole phrase: binary divisions are then looked for where they would be
played swung, while triplets stay where they are.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise

from reedpath.errors import PhraseError
from reedpath.phrase.timing import BeatTimes, swung

# price of each division of a beat, in units of the sum above; ours, simple rhythms first
DIVISIONS = {1: 0.0, 2: 0.5, 3: 1.5, 4: 1.5, 6: 3.5, 8: 3.5, 12: 6.0, 16: 6.0, 32: 9.0, 64: 12.0}
# price of a step from a binary to a ternary beat or back, same unit; a shuffle has it for nothing; ours
CHANGE_PRICE = 0.5
# price of a note on the second quarter of a beat and none on the third, same unit; a triplet is likelier; ours
SYNCOPE_PRICE = 1.0
# price of quarters of a beat and finer in a swung phrase, same unit; triplets are what is meant there; ours
SWUNG_FINER_PRICE = 1.5
# ratios of the halves of a beat that are tried, straight to hard (from memory, Friberg and Sundstrom, Music
# Perception 19(3), 2002: about 1 to 3.5), and the price of taking a phrase for swung so, same unit; ours,
# the shuffle of triplets first
SWINGS = {Fraction(1): 0.0, Fraction(2): 2.0, Fraction(3, 2): 2.5, Fraction(5, 2): 3.0, Fraction(3): 3.0}
# the same for any other ratio that a caller asks for
OTHER_SWING_PRICE = 3.0
# beats; how far players stray from the grid, about 25 ms at 120 to the minute; from memory
SIGMA_BEATS = 0.05
# beats; a shorter silence before the next note is how it was played, not what was meant; ours
LEGATO_BEATS = Fraction(1, 4)
# parts of a beat; finer divisions are tried only where so many notes need them; ours
MOST_USUAL_DIVISION = 16


@dataclass(frozen=True, slots=True)
class Gridded:
    """Notes on a grid.

    onsets, durations : exact beats, written straight.
    swing : ratio of the halves of a beat at which they were played.
    stray_beats : root mean square of how far the onsets lay from where the grid has them played, beats.
    """

    onsets: tuple[Fraction, ...]
    durations: tuple[Fraction, ...]
    swing: Fraction
    stray_beats: float


@dataclass(frozen=True, slots=True)
class _Fit:
    """A way to place the onsets of the beats so far.

    cost : the sum so far.
    beat : number of the last beat placed.
    division : of that beat.
    places : written places of its onsets, 0 to 1.
    before : the same for the beats before.
    """

    cost: float
    beat: int = 0
    division: int = 1
    places: tuple[Fraction, ...] = ()
    before: _Fit | None = None

    def steps(self) -> list[_Fit]:
        """All steps up to here, in order."""
        found: list[_Fit] = []
        step: _Fit | None = self
        while step is not None and step.before is not None:
            found.append(step)
            step = step.before
        return found[::-1]


def beats_of(seconds: Sequence[float], beat_seconds: Sequence[float]) -> tuple[float, ...]:
    """
    Moments in beats, given when each beat fell; before the first and after the last beat time runs on.

    >>> beats_of([0.25, 1.0, 2.5], [0.0, 0.5, 1.5])
    (0.5, 1.5, 3.0)

    Raises `PhraseError` when there are fewer than two beats, or they do not ascend.
    """
    if len(beat_seconds) < 2 or any(b <= a for a, b in pairwise(beat_seconds)):
        raise PhraseError("phrase.beats_unknown")
    fell = BeatTimes(tuple(map(float, range(len(beat_seconds)))), tuple(beat_seconds))
    return tuple(fell.beats_at(moment) for moment in seconds)


@cache
def _places(division: int, swing: Fraction) -> tuple[tuple[Fraction, float], ...]:
    """Written place and sounding place of each point of a division, both ends included."""
    written = [Fraction(index, division) for index in range(division + 1)]
    if division % 3 == 0:
        return tuple((place, float(place)) for place in written)
    return tuple((place, swung(float(place), float(swing))) for place in written)


def _cheapest(
    onsets: Sequence[float], division: int, swing: Fraction, sigma: float, *, first: int
) -> tuple[float, tuple[int, ...]] | None:
    """Least cost and the points for the onsets of one beat, strictly ascending from point ``first``."""
    points = _places(division, swing)
    best: list[tuple[float, tuple[int, ...]] | None] = [(0.0, ())] * (len(points) + 1)
    for onset in onsets:
        reached: list[tuple[float, tuple[int, ...]] | None] = [None] * (len(points) + 1)
        for index in range(first, len(points)):
            before, here = best[index], reached[index]
            stray = (onset - points[index][1]) / sigma
            if before is not None:
                cost = before[0] + stray * stray / 2
                if here is None or cost < here[0]:
                    here = (cost, (*before[1], index))
            reached[index + 1] = here
        best = reached
    return best[-1]


def _price(division: int, swing: Fraction) -> float:
    finer = swing != 1 and division % 3 != 0 and division > 2
    return DIVISIONS[division] + (SWUNG_FINER_PRICE if finer else 0.0)


def _options(
    onsets: Sequence[float], swing: Fraction, sigma: float, *, taken: bool
) -> list[tuple[float, int, tuple[Fraction, ...]]]:
    """Ways to place one beat's onsets: cost, division and places.

    A division is passed over where its price alone is more than a way already found can ever cost.
    """
    found: list[tuple[float, int, tuple[Fraction, ...]]] = []
    enough = math.inf
    for division in DIVISIONS:
        price = _price(division, swing)
        if price >= enough or (division > MOST_USUAL_DIVISION and len(onsets) < MOST_USUAL_DIVISION):
            continue
        way = _cheapest(onsets, division, swing, sigma, first=1 if taken else 0)
        if way is not None:
            cost, points = way
            if division == 4 and 1 in points and 2 not in points:
                cost += SYNCOPE_PRICE
            found.append((cost + price, division, tuple(Fraction(point, division) for point in points)))
            if points[-1] != division:
                enough = min(enough, cost + price + 2 * CHANGE_PRICE)
    return found


def _family(division: int) -> int:
    return 0 if division == 1 else 3 if division % 3 == 0 else 2


def _fit(beats: dict[int, list[float]], swing: Fraction, sigma: float) -> _Fit | None:
    """The cheapest way through all beats, None where one holds too many onsets.

    The state is the family of the last division, and whether its last onset took the next beat's start.
    """
    states: dict[tuple[int, bool], _Fit] = {(0, False): _Fit(0.0, beat=min(beats, default=0) - 2)}
    for beat, onsets in beats.items():
        reached: dict[tuple[int, bool], _Fit] = {}
        options: dict[bool, list[tuple[float, int, tuple[Fraction, ...]]]] = {}
        for (family, took_next), before in states.items():
            taken = took_next and before.beat == beat - 1
            if taken not in options:
                options[taken] = _options(onsets, swing, sigma, taken=taken)
            for cost, division, places in options[taken]:
                now = _family(division) or family
                changed = swing == 1 and family and now != family
                total = before.cost + cost + (CHANGE_PRICE if changed else 0.0)
                state = (now, places[-1] == 1)
                if state not in reached or total < reached[state].cost:
                    reached[state] = _Fit(total, beat, division, places, before)
        states = reached
    return min(states.values(), key=lambda fit: fit.cost, default=None)


def _by_beat(onsets: Sequence[float]) -> dict[int, list[float]]:
    """Whole beat -> places of its onsets in it, each once."""
    beats: dict[int, list[float]] = {}
    for onset in sorted(set(onsets)):
        beats.setdefault(math.floor(onset), []).append(onset - math.floor(onset))
    return beats


def _best_fit(onsets: Sequence[float], swings: Sequence[Fraction], sigma: float) -> tuple[_Fit, Fraction]:
    beats = _by_beat(onsets)
    fits = ((_fit(beats, swing, sigma), swing) for swing in swings)
    priced = [
        (fit.cost + SWINGS.get(swing, OTHER_SWING_PRICE), index, fit, swing)
        for index, (fit, swing) in enumerate(fits)
        if fit is not None
    ]
    if not priced:
        raise PhraseError("phrase.notes_in_beat", most=max(DIVISIONS))
    _, _, fit, swing = min(priced)
    return fit, swing


def _written_end(end: float, divisions: dict[int, int], swing: Fraction) -> Fraction:
    beat = math.floor(end)
    points = _places(max(2, divisions.get(beat, 2)), swing)
    return beat + min(points, key=lambda point: abs(point[1] - (end - beat)))[0]


def _durations(
    onsets: Sequence[Fraction], ends: Sequence[float], divisions: dict[int, int], swing: Fraction
) -> tuple[Fraction, ...]:
    durations = []
    starts = sorted(set(onsets))
    for onset, end in zip(onsets, ends, strict=True):
        least = onset + Fraction(1, max(2, divisions.get(math.floor(onset), 2)))
        written = max(_written_end(end, divisions, swing), least)
        index = bisect_right(starts, onset)
        if index < len(starts) and starts[index] - written < LEGATO_BEATS:
            written = starts[index]
        durations.append(written - onset)
    return tuple(durations)


def onto_grid(
    onsets: Sequence[float],
    ends: Sequence[float],
    *,
    swings: Sequence[Fraction] = tuple(SWINGS),
    sigma_beats: float = SIGMA_BEATS,
) -> Gridded:
    """
    Put heard notes on the simplest rhythm that fits them, triplets and swing recognised.

    onsets, ends : heard beats, whole numbers on the beat, onsets ascending; equal onsets stay together.
    swings : ratios to try; ``[Fraction(1)]`` where the phrase is known to be straight.
    sigma_beats : how far the player strays from the grid; larger trusts the notes less.

    Returns
    -------
    One onset and duration per note. Notes do not overlap; short silences before the next note are closed.

    Raises `PhraseError` when onsets do not ascend, are no numbers, or more than 64 fall in one beat.

    >>> heard = onto_grid([0.02, 0.66, 1.01, 1.65, 1.98, 2.68], [0.6, 0.95, 1.6, 1.9, 2.6, 3.0])
    >>> heard.swing, [str(onset) for onset in heard.onsets]
    (Fraction(2, 1), ['0', '1/2', '1', '3/2', '2', '5/2'])
    """
    if not all(math.isfinite(value) for value in (*onsets, *ends)):
        raise PhraseError("phrase.onsets_finite")
    if list(onsets) != sorted(onsets) or len(onsets) != len(ends):
        raise PhraseError("phrase.onsets_ascend")
    if not onsets:
        return Gridded((), (), Fraction(1), 0.0)
    fit, swing = _best_fit(onsets, swings, sigma_beats)
    steps = fit.steps()
    written = [step.beat + place for step in steps for place in step.places]
    by_heard = dict(zip(sorted(set(onsets)), written, strict=True))
    divisions = {step.beat: step.division for step in steps}
    placed = tuple(by_heard[onset] for onset in onsets)
    strays = [
        heard - step.beat - dict(_places(step.division, swing))[place]
        for step, heard_here in zip(steps, _by_beat(onsets).items(), strict=True)
        for place, heard in zip(step.places, (heard_here[0] + one for one in heard_here[1]), strict=True)
    ]
    stray = math.sqrt(sum(one * one for one in strays) / len(strays))
    return Gridded(placed, _durations(placed, ends, divisions, swing), swing, stray)
