"""Hearing: samples to pitch curve to notes and beats. Knows nothing of harps."""

from reedpath.hear.curve import PitchCurve, curve_of, track_pitch
from reedpath.hear.frames import HOP_SECONDS
from reedpath.hear.hearing import hear_notes
from reedpath.hear.notes import HeardNote, notes_of
from reedpath.hear.observe import Observations, observe
from reedpath.hear.strikes import with_double_stops

__all__ = [
    "HOP_SECONDS",
    "HeardNote",
    "Observations",
    "PitchCurve",
    "curve_of",
    "hear_notes",
    "notes_of",
    "observe",
    "track_pitch",
    "with_double_stops",
]
