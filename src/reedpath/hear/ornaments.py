"""Contours: what a note's pitch does over time, as the ornaments of a phrase."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import HOP_SECONDS
from reedpath.hear.notes import HeardNote
from reedpath.phrase import Ornaments

Float64 = npt.NDArray[np.float64]

# frames at the start and at the end that the window blurs with what comes before and after, and frames next to
# them taken as the start and the end
BLURRED_START, BLURRED_END, EDGE = 1, 2, 3
# frames at least that lie between a start (or end) and the pitch, in shares of the way: a glide, not a leap
# that the windows saw too late
FRAMES_BETWEEN, BETWEEN = 2, (0.15, 0.85)
# semitones from which a start or an end off the note's pitch is meant; half of the smallest interval
MEANT_SEMITONES = 0.5
# semitones of the widest bend of a string, and of the widest slide looked for; from memory
WIDEST_BEND, WIDEST_SLIDE = 3.25, 12.0
# shares of a note that a bend or slide in, and a release, take at most
LONGEST_IN, LONGEST_OUT = 0.6, 0.5
# vibrato: hertz between which it is sought (common practice: 4 to 8), least cents from the middle to the
# edge, least length in seconds, and least share of the contour's motion in that band
VIBRATO_HZ, VIBRATO_CENTS, VIBRATO_SECONDS, VIBRATO_SHARE = (3.5, 9.0), 10.0, 0.35, 0.5


def has_vibrato(note: HeardNote) -> bool:
    """Whether the note is shaken in pitch."""
    midi = note.contour_midi
    steady = midi[np.abs(midi - note.pitch_midi) < MEANT_SEMITONES]
    if len(steady) * HOP_SECONDS < VIBRATO_SECONDS:
        return False
    times = np.arange(len(steady))
    moved = steady - np.polyval(np.polyfit(times, steady, 2), times)
    power = np.square(np.abs(np.fft.rfft(moved * np.hanning(len(moved)), 512)))
    hz = np.fft.rfftfreq(512, HOP_SECONDS)
    inside = (hz >= VIBRATO_HZ[0]) & (hz <= VIBRATO_HZ[1])
    deep = 100.0 * np.sqrt(2.0) * float(np.std(moved)) >= VIBRATO_CENTS
    return bool(deep and power[inside].sum() > VIBRATO_SHARE * power[1:].sum())


def _glide(off: Float64, edge: Float64, longest: float) -> float:
    """How far the pitch is off at an edge, if it glides from there to the note's pitch; otherwise 0.

    Parameters
    ----------
    off : semitones off the note's pitch, from the edge inwards. edge : its first values.
    longest : share of the note that the glide may take.
    """
    start = float(np.median(edge))
    away = np.abs(off) > MEANT_SEMITONES / 2
    lasting = int(np.argmin(away)) if not away.all() else len(away)
    share = off[:lasting] / start if start else off[:0]
    between = int(((share > BETWEEN[0]) & (share < BETWEEN[1])).sum())
    meant = MEANT_SEMITONES <= abs(start) < WIDEST_SLIDE and lasting <= longest * len(off)
    return start if meant and between >= FRAMES_BETWEEN else 0.0


def _halves(semitones: float) -> Fraction:
    return Fraction(round(2 * semitones), 2)


def ornaments_of(note: HeardNote) -> Ornaments:
    """What is done to the note: a bend or slide in, a release or slide out, vibrato.

    A rise into the pitch of up to three semitones is a bend in; any other glide in is a slide from where it
    began. A fall at the end is a release, a rise a slide.
    """
    off = (note.contour_midi - note.pitch_midi)[BLURRED_START : len(note.contour_midi) - BLURRED_END]
    if len(off) < 3 * EDGE:
        return Ornaments()
    start = _glide(off, off[:EDGE], LONGEST_IN)
    end = _glide(off[::-1], off[-EDGE:], LONGEST_OUT)
    rises, falls = -WIDEST_BEND < start < 0, -WIDEST_BEND < end < 0
    slide_from = round(note.pitch_midi + start) if start and not rises else None
    slide_to = round(note.pitch_midi + end) if end and not falls else None
    return Ornaments(
        bend_in=_halves(-start) if rises else Fraction(0),
        release=_halves(-end) if falls else Fraction(0),
        slide_from=slide_from if slide_from != note.midi else None,
        slide_to=slide_to if slide_to != note.midi else None,
        vibrato=has_vibrato(note),
    )
