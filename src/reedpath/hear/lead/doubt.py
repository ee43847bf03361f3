"""Doubt: how likely each note of a lead is right, from how it was heard.

Clues of a note, by a classifier fitted on the notes that were heard in invented records (see `networks`): how
likely its course is the lead's and how likely another pitch, how plainly it begins and ends, its length, level,
steadiness, place and timbre, and its distance from its neighbours.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from reedpath.hear.lead.candidates import CLUE_NAMES
from reedpath.hear.lead.cutting import LeadNote
from reedpath.hear.lead.following import FollowedLead
from reedpath.hear.lead.networks import network

__all__ = ["NOTE_CLUES", "note_clues", "right_chances"]

Float64 = npt.NDArray[np.float64]

# clues of the course of which a note's mean is a clue
OF_THE_COURSE = (
    "relative", "salience", "level", "astray", "below", "above", "off_middle", "steadiness", "octave_under",
    "octave_over", "contrast", "roundness", "brightness_off", "roundness_off", "on_bass", "over_bass",
)  # fmt: skip
NOTE_CLUES = (
    *OF_THE_COURSE, "odds", "least_odds", "rival", "start_odds", "end_odds", "rival_start", "length", "shortness",
    "opens", "closes", "stray", "step_before", "step_after", "gap_before", "gap_after",
)  # fmt: skip
# frames from a note's beginning within which another moment may be its beginning (30 to 120 ms)
OTHER_START = (4, 12)
# seconds and semitones over which no more is told
LONG, WIDE = 2.0, 12.0


def _rival_start(odds: Float64, frame: int) -> float:
    """Log odds of the likeliest other moment at which the note may begin."""
    near, far = OTHER_START
    parts = (odds[max(0, frame - far) : max(0, frame - near)], odds[frame + near : frame + far])
    return max((float(part.max()) for part in parts if len(part)), default=-12.0)


def note_clues(lead: FollowedLead, notes: Sequence[LeadNote], odds: Float64) -> Float64:
    """The clues of each note, shape (notes, `NOTE_CLUES`), given the log odds of beginnings."""
    columns = [CLUE_NAMES.index(name) for name in OF_THE_COURSE]
    rows = []
    for at, note in enumerate(notes):
        part = slice(note.first, note.last)
        before, after = (notes[at - 1] if at else None), (notes[at + 1] if at + 1 < len(notes) else None)
        gap_before = LONG if before is None else note.start_seconds - before.end_seconds
        gap_after = LONG if after is None else after.start_seconds - note.end_seconds
        course = lead.log_odds[part]
        length = note.end_seconds - note.start_seconds
        rows.append(
            [
                *lead.clues[part][:, columns].mean(axis=0),
                float(course.mean()),
                float(np.percentile(course, 10)),
                float((course - lead.rival[part]).clip(-10.0, 10.0).mean()),
                note.start_odds,
                after.start_odds if after is not None and not after.opens else 0.0,
                _rival_start(odds, round(note.start_seconds * 100)),
                min(length, LONG),
                float(np.exp(-length / 0.1)),
                float(note.opens),
                float(after is None or after.opens),
                min(2.0, float(np.abs(lead.midi[part] - note.midi).mean())),
                0.0 if before is None else min(WIDE, abs(note.midi - before.midi)),
                0.0 if after is None else min(WIDE, abs(note.midi - after.midi)),
                min(LONG, gap_before),
                min(LONG, gap_after),
            ]
        )
    return np.array(rows).reshape(len(notes), len(NOTE_CLUES))


def right_chances(lead: FollowedLead, notes: Sequence[LeadNote], odds: Float64) -> Float64:
    """The probability of each note to be right, shape (notes,)."""
    if not notes:
        return np.zeros(0)
    return np.asarray(1.0 / (1.0 + np.exp(-network("right_notes").log_odds(note_clues(lead, notes, odds)))))
