"""Strikes: the moments at which plucked strings are struck, and the notes that sound together after each."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from reedpath.hear.attacks import ATTACK_HOP_SECONDS
from reedpath.hear.clues import Clues, clues_of
from reedpath.hear.harmonic import pair_log_odds
from reedpath.hear.notes import HeardNote
from reedpath.hear.observe import Observations
from reedpath.hear.partials import PARTIALS_HOP_SECONDS, Partials
from reedpath.hear.peaks import peak_places
from reedpath.hear.together import pitches_together

__all__ = ["strike_seconds", "with_double_stops"]

# Found by random search with those of `together`: weights of the attack against those just before (log), of
# the rise of the level over the usual (dB), of the attack's strength over the usual (log), and their sum's
# least value
AGAINST_WEIGHT, RISE_WEIGHT, STRENGTH_WEIGHT, LEAST_SUM = 3.8, 0.5, 0.3, 2.0
USUAL_RISE_DB, USUAL_STRENGTH, LEAST_STRENGTH = 4.0, 0.06, 0.045
# ratio of an attack to the usual ones round about
OVER_USUAL = 2.5
# seconds by which the peak of an attack lies after the sound begins
ATTACK_LATE_SECONDS = 0.005
# half frames: between peaks of the attack; between strikes; before a peak over which it is compared
PEAK_APART, STRIKE_APART, BEFORE = 6, 16, (40, 5)
# ratio by which a second attack must be stronger to be the strike itself
TAKES_OVER = 1.5
# decibels under the level of the strike at which its notes have ended
ENDED_DB = 25.0
# seconds from a strike, and before its end, between which its partials are taken, and how many windows
AFTER_STRIKE, BEFORE_END, WINDOWS = 0.07, 0.05, 2
# share of the spectrum at which a pitch is as likely there as not, and how fast that changes; ours
DOUBTFUL_SHARE, SHARE_SCALE = 0.12, 0.06
# semitones of an octave, and log odds from which a lone pitch is two: one strike in sixteen is (ours), which speaks
# against it by 2.7
OCTAVE, OCTAVE_ODDS = 12, 2.7
# semitones by which a lone pitch and the pitch curve may differ and still be the same note
SAME_SEMITONES = 0.7
# seconds by which their starts may differ
SAME_SECONDS = 0.05

# start and end in seconds, and MIDI number (with its fraction) and share of the spectrum of each pitch
Strike = tuple[float, float, tuple[tuple[float, float], ...]]


def _is_strike(place: int, clues: Clues, level: npt.NDArray[np.floating]) -> bool:
    strength = float(clues.attack[place])
    earlier = clues.attack[max(0, place - BEFORE[0]) : max(1, place - BEFORE[1])].max()
    rise = float(level[place : place + 10].max() - level[max(0, place - 8) : place + 1].min())
    total = (
        AGAINST_WEIGHT * np.log(strength / (earlier + 0.002))
        + RISE_WEIGHT * (rise - USUAL_RISE_DB)
        + STRENGTH_WEIGHT * np.log(strength / USUAL_STRENGTH)
    )
    return bool(total > LEAST_SUM and strength > OVER_USUAL * clues.usual_attack[place])


def strike_seconds(seen: Observations) -> tuple[float, ...]:
    """When strings are struck, in order."""
    clues = clues_of(seen)
    strikes: list[int] = []
    for peak in peak_places(clues.attack, height=LEAST_STRENGTH, distance=PEAK_APART):
        place = int(peak)
        if not _is_strike(place, clues, seen.envelope_db):
            continue
        if not strikes or place - strikes[-1] >= STRIKE_APART:
            strikes.append(place)
        elif clues.attack[place] > TAKES_OVER * clues.attack[strikes[-1]]:
            strikes[-1] = place
    return tuple(place * ATTACK_HOP_SECONDS for place in strikes)


def _end_of(start: float, next_start: float, level: npt.NDArray[np.floating]) -> float:
    part = level[int(start / ATTACK_HOP_SECONDS) : int(next_start / ATTACK_HOP_SECONDS)]
    if not len(part):
        return next_start
    soft = np.flatnonzero(part < part[:20].max() - ENDED_DB)
    return start + float(soft[0]) * ATTACK_HOP_SECONDS if len(soft) else next_start


def _pitches_of(partials: Partials, start: float, end: float) -> tuple[tuple[float, float], ...]:
    """The pitches after a strike; none when no long window fits between it and its end."""
    centres = np.arange(len(partials.hz)) * PARTIALS_HOP_SECONDS
    rows = np.flatnonzero((centres >= start + AFTER_STRIKE) & (centres <= end - BEFORE_END))[:WINDOWS]
    if not len(rows):
        return ()
    tops = np.maximum(partials.magnitude[rows].max(axis=1, keepdims=True), 1e-9)
    return pitches_together(partials.hz[rows].ravel(), (partials.magnitude[rows] / tops).ravel())


def _struck(seen: Observations, partials: Partials) -> list[Strike]:
    """Start and end of each strike, and what sounds after it."""
    found: list[Strike] = []
    for start, following in pairwise([*strike_seconds(seen), seen.duration_seconds]):
        end = _end_of(start, following, seen.envelope_db)
        found.append((start, end, _pitches_of(partials, start, end)))
    single = [(start, end, pitches[0][0]) for start, end, pitches in found if len(pitches) == 1]
    return [
        (start, end, _with_octave(seen, (start, end), pitches[0], single) if len(pitches) == 1 else pitches)
        for start, end, pitches in found
    ]


def _with_octave(
    seen: Observations,
    span: tuple[float, float],
    pitch: tuple[float, float],
    single: list[tuple[float, float, float]],
) -> tuple[tuple[float, float], ...]:
    """A lone pitch, and its octave, if that sounds too."""
    midi, share = pitch
    others = [one for one in single if one[0] != span[0]]
    octave = pair_log_odds(seen, span, midi, midi + OCTAVE, alone=others) > OCTAVE_ODDS
    return (pitch, (midi + OCTAVE, share)) if octave else (pitch,)


def _struck_note(pitch: tuple[float, float], span: tuple[float, float], level_db: float) -> HeardNote:
    midi, share = pitch
    whole = round(midi)
    return HeardNote(
        start_seconds=span[0],
        end_seconds=span[1],
        midi=whole,
        cents=100.0 * (midi - whole),
        confidence=float(1.0 / (1.0 + np.exp(-(share - DOUBTFUL_SHARE) / SHARE_SCALE))),
        level_db=level_db,
        attacked=True,
        contour_seconds=np.array(span),
        contour_midi=np.array([midi, midi]),
    )


def with_double_stops(seen: Observations, lead: tuple[HeardNote, ...]) -> tuple[HeardNote, ...]:
    """The lead's notes, with the notes that sound together where several do, in order of start and pitch.

    Where one pitch sounds alone, the lead's own notes (with their contours) are kept.

    Parameters
    ----------
    seen : observed with ``chords=True``.
    """
    if seen.partials is None:
        raise ValueError("double stops need what observe(sound, chords=True) saw")
    notes: list[HeardNote] = []
    kept = list(lead)
    for start, end, pitches in _struck(seen, seen.partials):
        at_once = [note for note in kept if abs(note.start_seconds - start) < SAME_SECONDS]
        if not pitches or (len(pitches) == 1 and _agree(at_once, pitches[0][0])):
            continue
        later = [note for note in kept if start + SAME_SECONDS <= note.start_seconds < end]
        if len(pitches) == 1 and later:  # what the lead makes of the rest (a hammer-on) is left to it
            end = later[0].start_seconds
        at = int(start / ATTACK_HOP_SECONDS)
        loudest = float(seen.envelope_db[at : at + 20].max())
        span = (max(0.0, start - ATTACK_LATE_SECONDS), max(end, start + 0.02))
        notes += [_struck_note(pitch, span, loudest) for pitch in pitches]
        gone = at_once if len(pitches) == 1 else at_once + later
        kept = [note for note in kept if all(note is not other for other in gone)]
    return tuple(sorted(notes + kept, key=lambda note: (note.start_seconds, note.midi)))


def _agree(notes: list[HeardNote], midi: float) -> bool:
    return any(abs(note.pitch_midi - midi) < SAME_SEMITONES for note in notes)
