"""Double stops: when plucked strings are struck, and which one, two or three pitches sound after each strike.

Candidates are the strong partials and their halves, thirds and quarters, ranked by how much of the spectrum
(square roots of the magnitudes) falls on their harmonics. Of all sets of up to three, the best has the
largest sum of

    the share of the spectrum that falls on some harmonic of the set
    minus a price for each pitch
    minus a price for the low harmonics that a pitch should have and that are not there

so a pitch is only added for what the others leave unexplained. That says little of two notes an octave apart, whose
partials all fall on the lower one's: of a pitch alone, or found with its octave, `string_octaves` says whether that
sounds. Where it is likely and not sure, the note is marked as perhaps one of two.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import numpy.typing as npt

from reedpath.hear.attacks import ATTACK_HOP_SECONDS
from reedpath.hear.clues import Clues, clues_of
from reedpath.hear.harmonic import partials_between
from reedpath.hear.notes import HeardNote
from reedpath.hear.observing import Observations
from reedpath.hear.partials import PARTIALS_HOP_SECONDS
from reedpath.hear.peaks import peak_places
from reedpath.hear.string_octaves import string_octave_log_odds

Float64 = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Found by random search with the prices further down: weights of the attack against those just before (log), of
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
# semitones of an octave; log odds from which a pitch is two, and from which it is perhaps: with every source of
# bench/hear_string_octaves.py left out of the fit in turn, 1 % and 5 % of the single notes lie above. Where octaves
# are known to be played, from even odds on
OCTAVE, OCTAVE_ODDS, OCTAVE_DOUBTFUL_ODDS, OCTAVE_EVEN_ODDS = 12, 1.7, 0.5, 0.0
# semitones by which a lone pitch and the pitch curve may differ and still be the same note
SAME_SEMITONES = 0.7
# seconds by which their starts may differ
SAME_SECONDS = 0.05
# The next three were set on the development half of the melodies, heard with chords=True:
# semitones between two pitches up to which one string may be bent from one to the other, and how near to both it
# must come
BENT_SEMITONES, BENT_NEAR = 2.6, 0.5
# semitones that a pitch moves at least in a glide, at most from frame to frame, and seconds in which it does
GLIDE_SEMITONES, GLIDE_STEP, GLIDE_SECONDS = 0.7, 0.5, 0.3
# seconds from a strike, and before the next note of the lead, between which a window shows what sounds before that
EARLY_AFTER, EARLY_BEFORE = 0.02, 0.04

# MIDI number (with its fraction) and share of the spectrum of each pitch, ascending
Pitches = tuple[tuple[float, float], ...]
# start and end in seconds, the pitches, and whether the one there is may sound with its octave
Strike = tuple[float, float, Pitches, bool]

# Found by random search on the development half of the glued double stops (bench/hear_accuracy.py):
# harmonics looked at, the power of their number by which they count less in ranking
HARMONICS, RANKING_DECAY = 18, 0.33
# cents by which a partial may miss its harmonic, and how many more for each harmonic (strings are stiff)
MISS_CENTS, MISS_CENTS_EACH = 14.0, 0.35
# share of the spectrum that a further pitch must explain
PITCH_PRICE = 0.09
# price of a pitch none of whose low harmonics are there, and how many count as low
ABSENCE_PRICE, LOW_HARMONICS = 0.12, 7
# candidates compared, and partials from which they are made
CANDIDATES, STRONG = 9, 14
# MIDI numbers between which pitches are sought: a guitar's range
LOWEST_MIDI, HIGHEST_MIDI = 38.5, 88.5
# semitones within which two candidates are one
ALIKE_SEMITONES = 0.6
# hertz over which an absent harmonic says nothing
TOP_HZ = 4800.0
# harmonics by which a pitch is measured
MEASURING_HARMONICS = 5


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


def pitches_between(seen: Observations, start: float, end: float) -> Pitches:
    """The pitches that explain best what follows a strike; none when no long window fits between it and its end.

    Parameters
    ----------
    seen : observed with ``chords=True``. start, end : seconds.
    """
    rows = _windows_between(seen, start + AFTER_STRIKE, end - BEFORE_END)
    return _pitches_in(seen, rows[:WINDOWS])


def _windows_between(seen: Observations, first: float, last: float) -> npt.NDArray[np.intp]:
    """The long windows whose middles lie between two moments."""
    if seen.partials is None:
        raise ValueError("double stops need what observe(sound, chords=True) saw")
    centres = np.arange(len(seen.partials.hz)) * PARTIALS_HOP_SECONDS
    return np.flatnonzero((centres >= first) & (centres <= last))


def _pitches_in(seen: Observations, rows: npt.NDArray[np.intp]) -> Pitches:
    if seen.partials is None or not len(rows):
        return ()
    hz, magnitude = seen.partials.hz[rows], seen.partials.magnitude[rows]
    tops = np.maximum(magnitude.max(axis=1, keepdims=True), 1e-9)
    return pitches_together(hz.ravel(), (magnitude / tops).ravel())


def _struck(seen: Observations, lead: tuple[HeardNote, ...], octave_odds: float) -> list[Strike]:
    """What sounds after each strike."""
    found: list[Strike] = []
    for start, following in pairwise([*strike_seconds(seen), seen.duration_seconds]):
        end = _end_of(start, following, seen.envelope_db)
        pitches = pitches_between(seen, start, end)
        is_pair = len(pitches) == 2 and abs(pitches[1][0] - pitches[0][0] - OCTAVE) < SAME_SEMITONES
        doubtful = False
        if len(pitches) == 1 or is_pair:
            until = _changes_at(lead, start, end, pitches[0][0])
            odds = string_octave_log_odds(*partials_between(seen, start, until), pitches[0][0], found=is_pair)
            doubtful = min(octave_odds, OCTAVE_DOUBTFUL_ODDS) < odds <= OCTAVE_ODDS
            pitches = _of_octave(pitches, is_octave=odds > octave_odds)
        found.append((start, end, pitches, doubtful))
    return found


def _changes_at(lead: tuple[HeardNote, ...], start: float, end: float, midi: float) -> float:
    """When the lead goes on to another pitch than this one and its octaves (a hammer-on), else the end."""
    for note in lead:
        beside = (note.pitch_midi - midi + OCTAVE / 2) % OCTAVE - OCTAVE / 2
        if start + SAME_SECONDS <= note.start_seconds < end and abs(beside) > SAME_SEMITONES:
            return note.start_seconds
    return end


def _of_octave(pitches: Pitches, *, is_octave: bool) -> Pitches:
    """The lower pitch, and the upper one if it is an octave."""
    if not is_octave:
        return pitches[:1]
    midi, share = pitches[0]
    return pitches if len(pitches) == 2 else (pitches[0], (midi + OCTAVE, share))


def _struck_note(
    pitch: tuple[float, float], span: tuple[float, float], level_db: float, *, doubtful: bool
) -> HeardNote:
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
        octave_doubtful=doubtful,
    )


def with_double_stops(
    seen: Observations, lead: tuple[HeardNote, ...], *, octaves: bool = False
) -> tuple[HeardNote, ...]:
    """The lead's notes, with the notes that sound together where several do, in order of start and pitch.

    Where one pitch sounds alone, the lead's own notes (with their contours) are kept.

    Parameters
    ----------
    seen : observed with ``chords=True``.
    octaves : whether octaves are known to be played; then what is likelier one than not is written as one, not
        only what surely is.
    """
    if seen.partials is None:
        raise ValueError("double stops need what observe(sound, chords=True) saw")
    notes: list[HeardNote] = []
    kept = list(lead)
    for start, end, pitches, doubtful in _struck(seen, lead, OCTAVE_EVEN_ODDS if octaves else OCTAVE_ODDS):
        at_once = [note for note in kept if abs(note.start_seconds - start) < SAME_SECONDS]
        if not pitches or _is_one_string(at_once, pitches, start):
            continue
        if len(pitches) > 1 and _is_one_after_another(seen, kept, (start, end), pitches):
            continue
        if len(pitches) == 1 and (own := _agreeing(at_once, pitches[0][0])):
            if doubtful:
                kept = [replace(note, octave_doubtful=True) if note is own else note for note in kept]
            continue
        later = [note for note in kept if start + SAME_SECONDS <= note.start_seconds < end]
        if len(pitches) == 1 and later:  # what the lead makes of the rest (a hammer-on) is left to it
            end = later[0].start_seconds
        at = int(start / ATTACK_HOP_SECONDS)
        loudest = float(seen.envelope_db[at : at + 20].max())
        span = (max(0.0, start - ATTACK_LATE_SECONDS), max(end, start + 0.02))
        notes += [_struck_note(pitch, span, loudest, doubtful=doubtful) for pitch in pitches]
        gone = at_once if len(pitches) == 1 else at_once + later
        kept = [note for note in kept if all(note is not other for other in gone)]
    return tuple(sorted(notes + kept, key=lambda note: (note.start_seconds, note.midi)))


def _is_one_string(at_once: list[HeardNote], pitches: Pitches, start: float) -> bool:
    """Whether the lead glides here, or is bent from one of two pitches to the other."""
    near = len(pitches) == 2 and pitches[1][0] - pitches[0][0] < BENT_SEMITONES
    for note in at_once:
        contour = note.contour_midi[note.contour_seconds < start + GLIDE_SECONDS]
        if len(contour) > 1 and np.abs(np.diff(contour)).max() < GLIDE_STEP and np.ptp(contour) > GLIDE_SEMITONES:
            return True
        low, high = note.contour_midi.min(), note.contour_midi.max()
        if near and low < pitches[0][0] + BENT_NEAR and high > pitches[1][0] - BENT_NEAR:
            return True
    return False


def _is_one_after_another(
    seen: Observations, lead: list[HeardNote], span: tuple[float, float], pitches: Pitches
) -> bool:
    """Whether the pitches are those of quick notes in turn, of which a later one is not heard before it is struck."""
    start, end = span
    at_once = [note for note in lead if abs(note.start_seconds - start) < SAME_SECONDS]
    later = [note for note in lead if start + SAME_SECONDS <= note.start_seconds < end and note.attacked]
    first, next_ones = ([midi for midi, _ in pitches if _agreeing(some, midi)] for some in (at_once, later))
    if not first or not next_ones or {*first, *next_ones} != {midi for midi, _ in pitches}:
        return False
    rows = _windows_between(seen, start + EARLY_AFTER, later[0].start_seconds - EARLY_BEFORE)
    before = _pitches_in(seen, rows[-WINDOWS:])
    return not any(abs(midi - other) < SAME_SEMITONES for midi, _ in before for other in next_ones)


def _agreeing(notes: list[HeardNote], midi: float) -> HeardNote | None:
    return next((note for note in notes if abs(note.pitch_midi - midi) < SAME_SEMITONES), None)


def _matches(hz: Float64, pitches: Float64) -> tuple[Bools, Float64]:
    """Whether each partial lies on a harmonic of each pitch, and on which: shape (pitches, partials)."""
    ratio = hz / pitches[:, np.newaxis]
    number = np.maximum(np.rint(ratio), 1.0)
    cents = 1200.0 * np.abs(np.log2(ratio / number))
    return (cents < MISS_CENTS + MISS_CENTS_EACH * number) & (number <= HARMONICS), number


def _candidates(hz: Float64, weights: Float64) -> Float64:
    strong = hz[np.argsort(-weights)[:STRONG]]
    tried = np.concatenate([strong / part for part in (1, 2, 3, 4)])
    midi = 69.0 + 12.0 * np.log2(tried / 440.0)
    tried = tried[(midi > LOWEST_MIDI) & (midi < HIGHEST_MIDI)]
    on, number = _matches(hz, tried)
    rank = (weights * on / number**RANKING_DECAY).sum(axis=1)
    kept: list[float] = []
    for pitch in tried[np.argsort(-rank)]:
        if all(abs(12.0 * np.log2(pitch / other)) > ALIKE_SEMITONES for other in kept):
            kept.append(float(pitch))
        if len(kept) == CANDIDATES:
            break
    return np.array(kept)


def _measured(hz: Float64, weights: Float64, pitches: Float64) -> Float64:
    """The pitches measured from the partials on their low harmonics."""
    on, number = _matches(hz, pitches)
    share = weights * on * (number <= MEASURING_HARMONICS)
    total = share.sum(axis=1)
    mean = (share * hz / number).sum(axis=1) / np.maximum(total, 1e-12)
    return np.asarray(np.where(total > 0, mean, pitches))


def _absence(on: Bools, number: Float64, pitches: Float64) -> Float64:
    absent = np.zeros(len(pitches))
    for harmonic in range(1, LOW_HARMONICS + 1):
        there = (on & (number == harmonic)).any(axis=1)
        absent += np.where(~there & (pitches * harmonic < TOP_HZ), harmonic**-0.5, 0.0)
    return np.asarray(absent / sum(harmonic**-0.5 for harmonic in range(1, LOW_HARMONICS + 1)))


def pitches_together(
    hz: npt.ArrayLike, magnitude: npt.ArrayLike, *, most: int = 3
) -> tuple[tuple[float, float], ...]:
    """The pitches that explain some partials best, ascending: MIDI number (with its fraction) and share.

    Parameters
    ----------
    hz, magnitude : the partials, shape (n,); those of magnitude 0 are left out.
    most : how many pitches at most, 1 to 3.

    The share is that of the spectrum on the pitch's harmonics, 0 to 1. Nothing for no partials.
    """
    heights = np.asarray(magnitude, dtype=np.float64)
    there = heights > 0
    partials, weights = np.asarray(hz, dtype=np.float64)[there], np.sqrt(heights[there])
    if not len(partials):
        return ()
    weights /= weights.sum()
    pitches = _candidates(partials, weights)
    if not len(pitches):
        return ()
    pitches = _measured(partials, weights, pitches)
    on, number = _matches(partials, pitches)
    price = PITCH_PRICE + ABSENCE_PRICE * _absence(on, number, pitches)
    best = -np.inf
    chosen: tuple[int, ...] = ()
    for size in range(1, most + 1):
        for some in combinations(range(len(pitches)), size):
            indices = list(some)
            score = float(weights[on[indices].any(axis=0)].sum() - price[indices].sum())
            if score > best:
                best, chosen = score, some
    shares = (weights * on).sum(axis=1)
    midi = 69.0 + 12.0 * np.log2(pitches / 440.0)
    return tuple(sorted((float(midi[index]), float(shares[index])) for index in chosen))
