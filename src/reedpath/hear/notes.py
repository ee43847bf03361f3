"""Notes: the pitch curve cut into notes, each with its contour.

Within each voiced stretch the cuts are chosen, by dynamic programming, so that the sum is least of

    for each note: how far its pitch strays from its median, beyond what vibrato and drift do, with a cap
    for each cut: minus its log odds (see `boundaries`)
    for each very short note: a price

so that a glide stays in its note while the note is long, and a real change of pitch or attack parts it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate, pairwise

import numpy as np
import numpy.typing as npt

from reedpath.hear.boundaries import Boundary, boundaries_in
from reedpath.hear.clues import Clues, clues_of
from reedpath.hear.frames import HOP_SECONDS
from reedpath.hear.middles import middle_of
from reedpath.hear.observing import Observations
from reedpath.hear.onsets import LEAST_ATTACK, attack_start, first_heard, stretch_start
from reedpath.hear.pitch_curve import PitchCurve

Float64 = npt.NDArray[np.float64]

# semitones that pitch may stray for nothing, and beyond which it costs no more; cost for each in a frame.
# With the next three: fitted on the development half of bench/hear_accuracy.py, flat within a factor of two
FREE_STRAY, MOST_STRAY, STRAY_COST = 0.25, 0.6, 0.4
# frames under which a note is very short (70 ms), and its price
SHORT, SHORT_COST = 7, 4.0
# log odds that a cut must have at least, other things equal
CUT_COST = 0.25
# frames under which a voiced stretch is no note (50 ms)
LEAST_FRAMES = 5
# cuts back to which a note may reach
REACH = 25
# seconds before a note's latest end in which its level is taken, and in which its real end is sought; decibels by
# which a sound that ends falls at its end (the middle of a short fade)
LEVEL_SPAN, END_SPAN, FALL_DB = (0.15, 0.06), 0.12, 6.0
# seconds under which what is cut off is no note but the click of a sound that stops
LEAST_SECONDS = 0.03
# half frames before a note's latest end in which the next one may already be heard (20 ms)
NEXT_BLUR = 4


@dataclass(frozen=True, slots=True, eq=False)
class HeardNote:
    """A note as it was heard.

    start_seconds, end_seconds : when it sounds.
    midi : the nearest MIDI number of its pitch. cents : its deviation from it, -50 to 50.
    confidence : 0 to 1, the mean of the pitch curve's.
    level_db : its loudest level, full scale is 0.
    attacked : whether it was struck or tongued, rather than slurred from the note before.
    contour_seconds, contour_midi : its pitch over time (MIDI numbers with their fraction), every 10 ms.
    octave_doubtful : whether it may be one string or two that are an octave apart, written as what is likelier.
    """

    start_seconds: float
    end_seconds: float
    midi: int
    cents: float
    confidence: float
    level_db: float
    attacked: bool
    contour_seconds: Float64
    contour_midi: Float64
    octave_doubtful: bool = False

    @property
    def pitch_midi(self) -> float:
        """Its pitch as a MIDI number with its fraction."""
        return self.midi + self.cents / 100.0

    @property
    def duration_seconds(self) -> float:
        """How long it sounds."""
        return self.end_seconds - self.start_seconds


def stretches(voiced: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First frame and frame after the last of each voiced stretch."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], voiced, [False]]).astype(np.int8)))
    return [(int(start), int(end)) for start, end in edges.reshape(-1, 2)]


def steady_midi(midi: Float64) -> float:
    """The pitch of a note: the median without its first moment and its last two, which the windows blur."""
    trim = len(midi) // 5
    return middle_of(midi[min(1, trim) : len(midi) - min(2, trim)])


def _stray_cost(midi: Float64) -> float:
    stray = np.minimum(np.maximum(np.abs(midi - steady_midi(midi)) - FREE_STRAY, 0.0), MOST_STRAY).sum()
    return STRAY_COST * float(stray) + (SHORT_COST if len(midi) < SHORT else 0.0)


def _cuts(midi: Float64, start: int, boundaries: list[Boundary]) -> list[Boundary]:
    """The boundaries at which a stretch is cut."""
    places = [0, *(boundary.frame - start for boundary in boundaries), len(midi)]
    prices = [0.0, *(CUT_COST - boundary.log_odds for boundary in boundaries), 0.0]
    best, back = [0.0], [0]
    for index in range(1, len(places)):
        least, chosen_before = np.inf, 0
        # the nearest first: a note that strays costs something more, so that what is dearer without that is left out
        for before in range(index - 1, max(0, index - REACH) - 1, -1):
            dear = best[before] + prices[before]
            if dear <= least:
                cost = dear + _stray_cost(midi[places[before] : places[index]])
                least, chosen_before = (cost, before) if cost <= least else (least, chosen_before)
        best.append(least)
        back.append(chosen_before)
    chosen, index = [], back[-1]
    while index > 0:
        chosen.append(boundaries[index - 1])
        index = back[index]
    return chosen[::-1]


def _end_seconds(latest: float, start: float, clues: Clues) -> float:
    """When a note ends that has ended by a latest moment: where its level last stood, if it fell."""
    half = HOP_SECONDS / 2
    first, last = (max(0, round((latest - span) / half)) for span in LEVEL_SPAN)
    sought = max(first, round(max(latest - END_SPAN, start) / half))
    level = clues.envelope_db[first : max(last, first + 1)]
    rest = clues.envelope_db[sought : round(latest / half) - NEXT_BLUR]
    if not len(level) or not len(rest):
        return latest
    up = np.flatnonzero(rest >= level.max() - FALL_DB)
    if not len(up) or up[-1] == len(rest) - 1:
        return latest
    return min(latest, (sought + int(up[-1]) + 1) * half)


def _is_attack(boundary: Boundary, clues: Clues) -> bool:
    half = 2 * boundary.frame
    return bool(clues.attack[max(0, half - 4) : half + 5].max() > LEAST_ATTACK + 2 * clues.usual_attack[half])


def _heard(part: PitchCurve, times: tuple[float, float], *, attacked: bool) -> HeardNote:
    midi = part.midi
    pitch = steady_midi(midi)
    whole = round(pitch)
    return HeardNote(
        start_seconds=times[0],
        end_seconds=max(times[1], times[0] + HOP_SECONDS),
        midi=whole,
        cents=100.0 * (pitch - whole),
        confidence=float(part.confidence.mean()),
        level_db=float(part.energy.max()),
        attacked=attacked,
        contour_seconds=part.seconds.copy(),  # a view would keep the whole curve
        contour_midi=midi,
    )


def _notes_in(curve: PitchCurve, seen: Observations, clues: Clues, span: tuple[int, int]) -> list[HeardNote]:
    start, end = span
    midi = curve.frames(start, end).midi
    cuts = _cuts(midi, start, boundaries_in(midi, clues, start))
    begins, attacked = stretch_start(start, clues)
    frames = [start, *(cut.frame for cut in cuts), end]
    attacks = (attack_start(at, clues) for at in (begins, *(cut.seconds for cut in cuts)))
    starts = [
        first_heard(seen, steady_midi(midi[first - start : last - start]), at, last * HOP_SECONDS)
        for at, (first, last) in zip(attacks, pairwise(frames), strict=True)
    ]
    times = [*accumulate(starts, max), end * HOP_SECONDS]
    struck = [attacked, *(_is_attack(cut, clues) for cut in cuts)]
    ends = [_end_seconds(latest, earliest, clues) for earliest, latest in pairwise(times)]
    return [
        _heard(curve.frames(first, last), (times[index], ends[index]), attacked=struck[index])
        for index, (first, last) in enumerate(pairwise(frames))
        if ends[index] - times[index] >= LEAST_SECONDS
    ]


def notes_of(seen: Observations, curve: PitchCurve) -> tuple[HeardNote, ...]:
    """The notes of a pitch curve, in order of start, with the help of what was seen."""
    clues = clues_of(seen)
    notes: list[HeardNote] = []
    for start, end in stretches(curve.voiced):
        if end - start >= LEAST_FRAMES:
            notes += _notes_in(curve, seen, clues, (start, end))
    return tuple(sorted(notes, key=lambda note: note.start_seconds))
