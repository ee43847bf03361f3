"""Doubt: how likely each note of a lead is right, from how it was heard.

Clues of a note, by a classifier fitted on the notes that were heard in invented records (see `networks`): how
likely its course is the lead's and how likely another pitch, by its frames and by all courses through them (forward
and backward, see `courses`), how plainly it begins and ends, its length, level, steadiness, place and timbre, its
distance from its neighbours and how sure these are; and how plain the lead is in the whole record, for the same
note is likelier right in a record where all is plain.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from reedpath.hear.lead.candidates import CLUE_NAMES
from reedpath.hear.lead.cutting import LeadNote
from reedpath.hear.lead.following import FollowedLead
from reedpath.hear.lead.networks import network

Float64 = npt.NDArray[np.float64]

# clues of the course of which a note's mean is a clue
OF_THE_COURSE = (
    "relative", "salience", "level", "astray", "below", "above", "off_middle", "steadiness", "octave_under",
    "octave_over", "contrast", "roundness", "brightness_off", "roundness_off", "on_bass", "over_bass",
)  # fmt: skip
NOTE_CLUES = (
    *OF_THE_COURSE, "odds", "least_odds", "rival", "start_odds", "end_odds", "rival_start", "length", "shortness",
    "opens", "closes", "stray", "step_before", "step_after", "gap_before", "gap_after",
    "chance", "least_chance", "rest_chance", "other_chance", "start_mass", "start_width",
    "record_odds", "record_chance", "record_voiced", "record_starts", "chance_before", "chance_after",
    "attack", "level_off", "record_on_bass", "record_least_odds",
)  # fmt: skip
# frames from a note's beginning within which another moment may be its beginning (30 to 120 ms)
OTHER_START = (4, 12)
# seconds and semitones over which no more is told
LONG, WIDE = 2.0, 12.0
# frames from a note's beginning that are the same moment (onsets count as right within 50 ms), and that are near it
SAME_START, NEAR_START = 4, 14
# frames before and after a beginning whose levels are held against each other
LEVEL_BEFORE, LEVEL_AFTER = slice(-8, -1), slice(0, 6)
# decibels between which levels are told
ATTACKS_DB, LEVELS_DB = (-10.0, 25.0), (-25.0, 15.0)
# log odds that are told at most
BOUND = 8.0


def _rival_start(odds: Float64, frame: int) -> float:
    """Log odds of the likeliest other moment at which the note may begin."""
    near, far = OTHER_START
    parts = (odds[max(0, frame - far) : max(0, frame - near)], odds[frame + near : frame + far])
    return max((float(part.max()) for part in parts if len(part)), default=-12.0)


def _log_odds(chances: npt.NDArray[np.floating] | float) -> Float64:
    return np.asarray(np.log((chances + 1e-3) / (1.0 - chances + 1e-3)))


def _level_db(lead: FollowedLead, first: int, last: int) -> float:
    part = lead.level_db[max(0, first) : max(1, last)]
    return float(10.0 * np.log10(np.mean(10.0 ** (part / 10.0)) + 1e-9)) if len(part) else -90.0


def _mass(begins: Float64, frame: int, reach: int) -> float:
    """How many beginnings are expected within some frames of one."""
    return float(begins[max(0, frame - reach) : frame + reach + 1].sum()) + 0.02


def _of_the_record(lead: FollowedLead, notes: Sequence[LeadNote]) -> dict[str, float]:
    voiced = lead.voiced
    odds = lead.log_odds[voiced]
    return {
        "record_odds": float(np.clip(odds, -BOUND, BOUND).mean()),
        "record_chance": float(_log_odds(lead.chances[voiced, 0].mean())),
        "record_voiced": float(voiced.mean()),
        "record_starts": float(np.mean([note.start_odds for note in notes])),
        "record_on_bass": float((lead.clues[voiced, CLUE_NAMES.index("on_bass")] > 0).mean()),
        "record_least_odds": float(np.percentile(odds, 10)),
    }


def _chance_clues(lead: FollowedLead, notes: Sequence[LeadNote], odds: Float64) -> list[dict[str, float]]:
    """What the probabilities of all courses and of beginnings, and levels, tell of each note."""
    own, rest = lead.chances.T
    begins = 1.0 / (1.0 + np.exp(-odds))
    chances = [float(_log_odds(own[note.first : note.last].mean())) for note in notes]
    usual_db = float(np.median(lead.level_db[lead.voiced]))
    told = []
    for at, note in enumerate(notes):
        part, frame = slice(note.first, note.last), round(note.start_seconds * 100)
        mass = _mass(begins, frame, SAME_START)
        after_db = _level_db(lead, note.first + LEVEL_AFTER.start, note.first + LEVEL_AFTER.stop)
        before_db = _level_db(lead, note.first + LEVEL_BEFORE.start, note.first + LEVEL_BEFORE.stop)
        other = np.clip(1.0 - own[part] - rest[part], 0.0, None).mean()
        told.append(
            {
                "chance": chances[at],
                "least_chance": float(_log_odds(np.percentile(own[part], 10))),
                "rest_chance": float(_log_odds(rest[part].mean())),
                "other_chance": float(_log_odds(other)),
                "start_mass": float(np.log(mass)),
                "start_width": float(np.log(_mass(begins, frame, NEAR_START) / mass)),
                "chance_before": chances[at - 1] if at else 0.0,
                "chance_after": chances[at + 1] if at + 1 < len(notes) else 0.0,
                "attack": float(np.clip(after_db - before_db, *ATTACKS_DB)),
                "level_off": float(np.clip(lead.level_db[part].max() - usual_db, *LEVELS_DB)),
            }
        )
    return told


def note_clues(lead: FollowedLead, notes: Sequence[LeadNote], odds: Float64) -> Float64:
    """The clues of each note, shape (notes, `NOTE_CLUES`), given the log odds of beginnings."""
    if not notes:
        return np.zeros((0, len(NOTE_CLUES)))
    columns = [CLUE_NAMES.index(name) for name in OF_THE_COURSE]
    whole, by_chances = _of_the_record(lead, notes), _chance_clues(lead, notes, odds)
    names = NOTE_CLUES[NOTE_CLUES.index("chance") :]
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
                *(({**whole, **by_chances[at]})[name] for name in names),
            ]
        )
    return np.array(rows)


def right_chances(lead: FollowedLead, notes: Sequence[LeadNote], odds: Float64) -> Float64:
    """The probability of each note to be right, shape (notes,)."""
    if not notes:
        return np.zeros(0)
    return np.asarray(1.0 / (1.0 + np.exp(-network("right_notes").log_odds(note_clues(lead, notes, odds)))))
