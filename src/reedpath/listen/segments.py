"""Segments: a take cut wherever a note might begin or end, finer than its notes.

An event of the route is later given one or more segments. Cuts that turn out to be none cost little; a cut that is
missing could not be made up for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from reedpath.hear import HOP_SECONDS, HeardNote, Observations, PitchCurve, curve_of, notes_of
from reedpath.hear.frames import widened, windows_of
from reedpath.hear.middles import middle_of

Float64 = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# seconds between strengths of attack, two to a frame (see `reedpath.hear`)
HALF_FRAME = HOP_SECONDS / 2
# an attack that is looked at, and how many times stronger than the median round about it must be; from memory
LEAST_ATTACK, OVER_USUAL = 0.008, 2.0
# half frames of that neighbourhood either side (0.5 s), and within which only the strongest attack counts
NEIGHBOURHOOD, ATTACK_APART = 100, 8
# decibels by which the level must dip before an attack for it to be a strike of its own: hand and throat tremolo
# seldom dip so far (from memory), a tongued reed in a small room does by 10 (measured on glued takes)
STRIKE_DIP_DB = 6.0
# decibels for several reeds at once, whose beats are dips too
BEATING_DIP_DB = 14.0
# decibels that will do where the next note is due: a reverberant room fills the dips
DUE_DIP_DB = 2.0
# half frames before and after within which the levels about a dip are taken (80 ms), and before an attack within
# which its dip is sought (40 ms)
DIP_REACH, DIP_BEFORE = 16, 8
# seconds by which a measured attack lies after the sound begins (see `reedpath.hear`)
ATTACK_LATE_SECONDS = 0.005
# frames that a pitch must stay on a new semitone to be a cut; within which two cuts are one; and within which the
# start of a note swallows any other cut, since its sound sets in a little after its attack; but no step of pitch that
# comes before, as between notes of 60 ms
STAY, CUT_APART, START_APART = 4, 3, 5
# seconds that must be left of a note of which the rest is not the player's; a sound under it is no note
LEAST_LEFT_SECONDS = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Hearing:
    """A take as it was heard.

    seen : what was seen in the sound. curve, notes : its pitch curve and its notes.
    attacks : half frames at which attacks stand out.
    strikes : seconds at which something is struck anew, whether or not a note was parted there.
    soft_strikes : seconds at which it may be, where that is expected.
    hard_strikes : seconds at which it is, even where several reeds beat.
    """

    seen: Observations
    curve: PitchCurve
    notes: tuple[HeardNote, ...]
    attacks: Ints
    strikes: Float64
    soft_strikes: Float64
    hard_strikes: Float64

    def without(self, spans: Sequence[tuple[float, float]]) -> Hearing:
        """What was heard, with nothing between some times: others play there."""
        inside = np.any([(self.curve.seconds >= start) & (self.curve.seconds < end) for start, end in spans], axis=0)
        curve = replace(
            self.curve,
            hz=np.where(inside, np.nan, self.curve.hz),
            confidence=np.where(inside, 0.0, self.curve.confidence),
            voiced=self.curve.voiced & ~inside,
        )
        notes = self.notes
        for span in spans:
            notes = tuple(cut for note in notes if (cut := _note_outside(note, span)) is not None)
        return replace(self, curve=curve, notes=notes)


def _note_outside(note: HeardNote, span: tuple[float, float]) -> HeardNote | None:
    """A note without what lies between two times, None where nothing is left of it."""
    start, end = note.start_seconds, note.end_seconds
    if end <= span[0] or start >= span[1]:
        return note
    start, end = (start, span[0]) if span[0] - start > end - span[1] else (span[1], end)
    if end - start < LEAST_LEFT_SECONDS:
        return None
    kept = (note.contour_seconds >= start) & (note.contour_seconds < end)
    return replace(
        note,
        start_seconds=start,
        end_seconds=end,
        contour_seconds=note.contour_seconds[kept],
        contour_midi=note.contour_midi[kept],
    )


@dataclass(frozen=True, slots=True, eq=False)
class Segments:
    """A take in segments; all arrays of shape (segments,) but `cuts`.

    cuts : frame at which each segment begins, and the last one's end: shape (segments + 1,).
    seconds : time at which a note that begins with the segment begins.
    begins : whether a note was heard to begin there. struck : whether with an attack.
    """

    cuts: Ints
    seconds: Float64
    begins: npt.NDArray[np.bool_]
    struck: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.seconds)

    def part(self, which: slice) -> Segments:
        """Some segments in a row."""
        first, last, _ = which.indices(len(self))
        return Segments(self.cuts[first : last + 1], self.seconds[which], self.begins[which], self.struck[which])


def _attack_peaks(attack: Float64) -> list[int]:
    """Half frames at which attacks stand out."""
    if len(attack) < 3:
        return []
    inner = attack[1:-1]
    peaks = 1 + np.flatnonzero((inner >= attack[:-2]) & (inner > attack[2:]) & (inner > LEAST_ATTACK))
    kept: list[int] = []
    taken = np.zeros(len(attack) + 2 * ATTACK_APART + 1, dtype=np.bool_)
    for peak in peaks[np.argsort(-attack[peaks])]:
        usual = middle_of(attack[max(0, peak - NEIGHBOURHOOD) : peak + NEIGHBOURHOOD])
        if attack[peak] > OVER_USUAL * usual and not taken[peak + ATTACK_APART]:
            kept.append(int(peak))
            taken[peak : peak + 2 * ATTACK_APART + 1] = True
    return sorted(kept)


def _dips_db(level: Float64) -> Float64:
    """How far each half frame lies under the lower of the loudest before and after it."""
    wide = widened(level, DIP_REACH)
    windows = windows_of(wide, DIP_REACH + 1).max(axis=1)
    return np.asarray(np.minimum(windows[: len(level)], windows[DIP_REACH : DIP_REACH + len(level)]) - level)


def _strikes(peaks: list[int], dips: Float64, dip_db: float) -> Float64:
    """Seconds at which something is struck anew: an attack after a dip of the level by so much."""
    struck = [peak for peak in peaks if dips[max(0, peak - DIP_BEFORE) : peak + 1].max(initial=0.0) > dip_db]
    return np.array([peak * HALF_FRAME - ATTACK_LATE_SECONDS for peak in struck])


def heard_in(seen: Observations, *, prior: npt.ArrayLike) -> Hearing:
    """A take as it is heard with a prior over pitch."""
    curve = curve_of(seen, prior=prior)
    peaks = _attack_peaks(seen.attack.astype(np.float64))
    dips = _dips_db(seen.envelope_db.astype(np.float64)) if peaks else np.zeros(0)
    strikes, soft, hard = (_strikes(peaks, dips, dip_db) for dip_db in (STRIKE_DIP_DB, DUE_DIP_DB, BEATING_DIP_DB))
    return Hearing(seen, curve, notes_of(seen, curve), np.array(peaks, dtype=np.intp), strikes, soft, hard)


def _steps(midi: Float64) -> Ints:
    """Frames at which the pitch has come to stay on another semitone."""
    whole = np.where(np.isnan(midi), -1, np.rint(np.nan_to_num(midi))).astype(np.intp)
    changes = np.flatnonzero(np.diff(whole)) + 1
    stays = np.diff(np.append(changes, len(whole)))
    return changes[stays >= STAY]


def _voicing_cuts(voiced: npt.NDArray[np.bool_]) -> Ints:
    return np.flatnonzero(np.diff(voiced.astype(np.int8))) + 1


def segments_of(hearing: Hearing) -> Segments:
    """The segments of a take; cuts at which hear's notes begin keep their exact times."""
    curve, frames = hearing.curve, len(hearing.curve)
    times: dict[int, tuple[float, bool, bool]] = {}
    for note in hearing.notes:
        frame = min(frames - 1, max(0, round(note.start_seconds / HOP_SECONDS)))
        times[frame] = (note.start_seconds, True, note.attacked)
    # where no cut may lie any more, and where no step of pitch may
    taken, passed = np.zeros((2, frames + 2 * START_APART + 1), dtype=np.bool_)
    for frame in times:
        taken[frame : frame + 2 * START_APART + 1] = True
        passed[frame + START_APART - CUT_APART : frame + 2 * START_APART + 1] = True
    strikes = [(round(at / HOP_SECONDS), at, True, True) for at in hearing.strikes]
    peaks = [(int(peak) // 2, int(peak) * HALF_FRAME, False, True) for peak in hearing.attacks]
    ends = [(round(note.end_seconds / HOP_SECONDS), note.end_seconds, False, False) for note in hearing.notes]
    steps = set(_steps(curve.midi).tolist())
    others = [
        (int(frame), frame * HOP_SECONDS, False, False) for frame in (*_voicing_cuts(curve.voiced), *sorted(steps))
    ]
    for frame, seconds, begins, struck in (*strikes, *peaks, *others, *ends):
        if 0 <= frame < frames and not (passed if frame in steps else taken)[frame + START_APART]:
            times[frame] = (seconds, begins, struck)
            apart = START_APART if begins else CUT_APART
            taken[frame + START_APART - apart : frame + START_APART + apart + 1] = True
            passed[frame + START_APART - CUT_APART : frame + START_APART + apart + 1] = True
    times.setdefault(0, (0.0, False, False))
    ordered = sorted(times)
    return Segments(
        cuts=np.array([*ordered, frames], dtype=np.intp),
        seconds=np.array([times[frame][0] for frame in ordered]),
        begins=np.array([times[frame][1] for frame in ordered]),
        struck=np.array([times[frame][2] for frame in ordered]),
    )
