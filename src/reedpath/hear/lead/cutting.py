"""Cutting: the course of a lead cut into its notes, by the same weighing as in `hear.notes`.

Each cut gains the log odds that a note begins there, each note pays for how far its pitch strays and for being
very short. A record's lead is heard less clearly than a lone one, so a stray costs less and a beginning must be
likelier.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import HOP_SECONDS
from reedpath.hear.lead.following import FollowedLead
from reedpath.hear.notes import steady_midi, stretches

Float64 = npt.NDArray[np.float64]

# set on the development half: semitones that pitch may stray for nothing, and beyond which it costs no more; cost for
# each in a frame; frames under which a note is very short, its price; log odds that a cut must have
FREE_STRAY, MOST_STRAY, STRAY_COST = 0.25, 0.6, 0.15
SHORT, SHORT_COST, CUT_COST = 6, 3.0, 0.25
# log odds under which a moment is no cut, and under which a stretch begins where it is first heard
LEAST_ODDS, LEAST_START_ODDS = -4.0, -3.0
# frames before and after the start of a stretch in which its beginning is sought; what a frame's distance costs
BEFORE_START, INTO_START, DISTANCE_COST = 7, 9, 0.05
# frames under which a stretch is no note, a part of one is none; after a start and before an end without cuts
LEAST_STRETCH, LEAST_NOTE, AFTER_START, BEFORE_END = 5, 3, 5, 3
# cuts back to which a note may reach
CUTS_BACK = 25


@dataclass(frozen=True, slots=True)
class LeadNote:
    """A note of the lead: seconds, pitch as a MIDI number, the frames of its course, how likely it begins there.

    opens : whether it opens a stretch, after a rest.
    """

    start_seconds: float
    end_seconds: float
    midi: float
    first: int
    last: int
    start_odds: float
    opens: bool


def _price(midi: Float64) -> float:
    stray = np.clip(np.abs(midi - steady_midi(midi)) - FREE_STRAY, 0.0, MOST_STRAY).sum()
    return STRAY_COST * float(stray) + (SHORT_COST if len(midi) < SHORT else 0.0)


def _cuts(midi: Float64, places: list[int], odds: list[float]) -> list[int]:
    """Indexes of the moments at which a stretch is cut."""
    ends = [0, *places, len(midi)]
    prices = [0.0, *(CUT_COST - one for one in odds), 0.0]
    best, back = [0.0], [0]
    for index in range(1, len(ends)):
        first = max(0, index - CUTS_BACK)
        costs = [
            best[before] + prices[before] + _price(midi[ends[before] : ends[index]]) for before in range(first, index)
        ]
        least = int(np.argmin(costs))
        best.append(costs[least])
        back.append(first + least)
    chosen, index = [], back[-1]
    while index > 0:
        chosen.append(index - 1)
        index = back[index]
    return chosen[::-1]


def _exact(odds: Float64, frame: int) -> float:
    """Seconds of the peak at a frame, by a parabola through three."""
    if not 0 < frame < len(odds) - 1:
        return frame * HOP_SECONDS
    left, middle, right = odds[frame - 1 : frame + 2]
    bend = left - 2 * middle + right
    shift = float(np.clip(0.5 * (left - right) / bend, -0.5, 0.5)) if bend < 0 else 0.0
    return (frame + shift) * HOP_SECONDS


def _start(first: int, odds: Float64) -> int:
    frames = np.arange(max(0, first - BEFORE_START), min(len(odds), first + INTO_START))
    best = int(frames[np.argmax(odds[frames] - DISTANCE_COST * np.abs(frames - first))])
    return best if odds[best] > LEAST_START_ODDS else first


def _in_stretch(lead: FollowedLead, odds: Float64, first: int, last: int) -> list[LeadNote]:
    midi = lead.midi[first:last]
    start = _start(first, odds)
    is_peak = (odds > np.roll(odds, 1)) & (odds >= np.roll(odds, -1))
    moments = [
        frame
        for frame in range(first + AFTER_START, last - BEFORE_END)
        if is_peak[frame] and odds[frame] > LEAST_ODDS and frame > start + AFTER_START - 1
    ]
    chosen = [moments[at] for at in _cuts(midi, [one - first for one in moments], [float(odds[m]) for m in moments])]
    begins, bounds = [start, *chosen], [first, *chosen, last]
    times = [*(_exact(odds, frame) for frame in begins), last * HOP_SECONDS]
    return [
        LeadNote(times[at], times[at + 1], steady_midi(midi[bounds[at] - first : bounds[at + 1] - first]),
                 bounds[at], bounds[at + 1], float(odds[frame]), at == 0)
        for at, frame in enumerate(begins)
        if bounds[at + 1] - bounds[at] >= LEAST_NOTE
    ]  # fmt: skip


def cut_into_notes(lead: FollowedLead, odds: Float64) -> list[LeadNote]:
    """The notes of a followed lead, in order, given the log odds of each frame that one begins there."""
    notes: list[LeadNote] = []
    for first, last in stretches(lead.voiced):
        if last - first >= LEAST_STRETCH:
            notes += _in_stretch(lead, odds, first, last)
    return sorted(notes, key=lambda note: note.start_seconds)
