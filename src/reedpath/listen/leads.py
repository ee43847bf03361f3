"""Leads: the notes that an event is slid into or out of through other holes, found in the sound.

A route that crosses holes to play a slide asks for the notes on the way (`Choice.lead_in`, `lead_out`). They belong
to the event: it begins where the slide begins, arrives where its own pitch is reached, and ends where the last of
them ends. What comes too soon or too late is told from the slide, not from the arrival alone: who is on the way when
the event is due is in time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear import HOP_SECONDS, HeardNote, PitchCurve
from reedpath.listen.expected import Expected

# semitones within which a pitch is that of a move; half of the smallest interval
SAME = 0.6
# seconds that each note run through may last at most, and of silence within a run, where the breath turns (by trial
# on our own sound, whose notes on the way last 0.075 s with gaps of 0.03)
EACH_SECONDS, GAP_SECONDS = 0.25, 0.06
# seconds that a note on the way must sound to be one, and an event's own pitch to be reached
LEAST_SECONDS = 0.03
# seconds that a glide into a note may take before the pitch that it was placed by is reached (by trial on our own
# sound: 0.1 s)
GLIDE_SECONDS = 0.2
# seconds within which a note that was heard to begin gives the exact time
EXACT_SECONDS = 0.03


@dataclass(frozen=True, slots=True)
class SlideHeard:
    """An event with what it is slid through.

    start_seconds, end_seconds : of the whole. arrives_seconds, leaves_seconds : its own pitch is held between them.
    """

    start_seconds: float
    arrives_seconds: float
    leaves_seconds: float
    end_seconds: float


def _is_near(midi: npt.NDArray[np.float64], pitches: Sequence[float]) -> npt.NDArray[np.bool_]:
    """Which pitches are one of some; shape of `midi`."""
    off = np.abs(midi[:, np.newaxis] - np.array(pitches)[np.newaxis, :])
    return np.asarray((off < SAME).any(axis=1))


def _reach(part: PitchCurve, expected: Expected, leads: Sequence[float]) -> int:
    """Frames, in the order given, as far as an event's notes on the way go; 0 where there are none."""
    midi = np.where(part.voiced, np.nan_to_num(part.midi), -np.inf)
    on_way = _is_near(midi, leads)
    fits = on_way | _is_near(midi, expected.midi)
    reach, gap, count = 0, 0, 0
    for place in range(len(midi)):
        if fits[place]:
            count += bool(on_way[place])
            gap = 0
            reach = place + 1 if on_way[place] else reach
        else:
            gap += 1
            if gap * HOP_SECONDS > GAP_SECONDS:
                break
    return reach if count * HOP_SECONDS >= LEAST_SECONDS - 1e-9 else 0


def _reversed(part: PitchCurve) -> PitchCurve:
    return PitchCurve(part.seconds[::-1], part.hz[::-1], part.confidence[::-1], part.voiced[::-1], part.energy[::-1])


def _exactly(notes: Sequence[HeardNote], seconds: float) -> float:
    """A time, or that of the note that was heard to begin about then."""
    near = [note.start_seconds for note in notes if abs(note.start_seconds - seconds) < EXACT_SECONDS]
    return min(near, key=lambda start: abs(start - seconds), default=seconds)


def slide_heard(
    curve: PitchCurve,
    notes: Sequence[HeardNote],
    expected: Expected,
    span: tuple[float, float],
    free: tuple[float, float],
) -> SlideHeard:
    """
    An event with the notes on its way, from where it was placed.

    Parameters
    ----------
    span : seconds at which it was placed, with or without them.
    free : seconds between which it may lie: the end of the event before and the start of the next.
    """
    start, end = span
    if expected.lead_in:
        before = curve.span(max(free[0], start - EACH_SECONDS * len(expected.lead_in)), start)
        reach = _reach(_reversed(before), expected, expected.lead_in)
        if reach:
            start = _exactly(notes, max(free[0], float(before.seconds[len(before.seconds) - reach])))
    if expected.lead_out:
        after = curve.span(end, min(free[1], end + EACH_SECONDS * len(expected.lead_out)))
        reach = _reach(after, expected, expected.lead_out)
        if reach:
            end = float(after.seconds[reach - 1]) + HOP_SECONDS
    inside = curve.span(start, end)
    own = inside.seconds[inside.voiced & _is_near(np.nan_to_num(inside.midi), expected.midi)]
    if len(own) * HOP_SECONDS < LEAST_SECONDS:
        return SlideHeard(start, start, end, end)
    arrives = float(own[0]) if expected.lead_in else start
    leaves = float(own[-1]) + HOP_SECONDS if expected.lead_out else end
    return SlideHeard(start, arrives, leaves, end)


def _gliding(part: PitchCurve, expected: Expected, glide_semitones: float) -> int:
    """Frames, in the order given, as far as an event's glide goes on; 0 where it does not glide."""
    midi = np.where(part.voiced, np.nan_to_num(part.midi), -np.inf)
    low, high = min(expected.midi) + min(0.0, glide_semitones), max(expected.midi) + max(0.0, glide_semitones)
    on_way = (midi > low - SAME) & (midi < high + SAME)
    count = len(on_way) if on_way.all() else int(on_way.argmin())
    gliding = ~_is_near(midi[:count], expected.midi)
    return count if np.count_nonzero(gliding) * HOP_SECONDS >= LEAST_SECONDS - 1e-9 else 0


def glide_start(
    curve: PitchCurve,
    notes: Sequence[HeardNote],
    expected: Expected,
    glide_semitones: float,
    span: tuple[float, float],
) -> float:
    """
    Where an event begins that glides into its pitch, and may have been placed where that is reached.

    Parameters
    ----------
    glide_semitones : from its own pitch to where the glide should begin.
    span : the end of the event before, and the time at which this one was placed.
    """
    part = curve.span(max(span[0], span[1] - GLIDE_SECONDS), span[1])
    count = _gliding(_reversed(part), expected, glide_semitones)
    if not count:
        return span[1]
    return max(span[0], _exactly(notes, float(part.seconds[len(part) - count])))


def glide_end(curve: PitchCurve, expected: Expected, glide_semitones: float, span: tuple[float, float]) -> float:
    """
    Where an event ends that glides away from its pitch, and may have been taken to end where that begins.

    Parameters
    ----------
    glide_semitones : from its own pitch to where the glide should end.
    span : the time at which it was taken to end, and the start of the event after.
    """
    part = curve.span(span[0], min(span[1], span[0] + GLIDE_SECONDS))
    return span[0] + _gliding(part, expected, glide_semitones) * HOP_SECONDS
