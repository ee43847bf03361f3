"""Hearing: samples to pitch curve to notes and beats. Knows nothing of harps."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.hear.beats import Beats, find_beats, given_beats
    from reedpath.hear.clocks import Clock, clock_between
    from reedpath.hear.condition import Condition, SourceTally, condition_of
    from reedpath.hear.double_stops import with_double_stops
    from reedpath.hear.frames import HOP_SECONDS, heard_sound
    from reedpath.hear.live import LivePitch, Tracker
    from reedpath.hear.notes import HeardNote, notes_of
    from reedpath.hear.observing import Observations, observe
    from reedpath.hear.ornaments import has_vibrato, ornaments_of
    from reedpath.hear.pitch_curve import PitchCurve, curve_of, track_pitch
    from reedpath.hear.talk import LOW_RATE, SHORTEST_VOICE, SoundCourse, course_of, low_sound, runs_of
    from reedpath.hear.transcribe import NOTHING_KNOWN, KnownRhythm, Transcription, hear_notes, write_down
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "HOP_SECONDS",
    "LOW_RATE",
    "NOTHING_KNOWN",
    "SHORTEST_VOICE",
    "Beats",
    "Clock",
    "Condition",
    "HeardNote",
    "KnownRhythm",
    "LivePitch",
    "Observations",
    "PitchCurve",
    "SoundCourse",
    "SourceTally",
    "Tracker",
    "Transcription",
    "clock_between",
    "condition_of",
    "course_of",
    "curve_of",
    "find_beats",
    "given_beats",
    "has_vibrato",
    "hear_notes",
    "heard_sound",
    "low_sound",
    "notes_of",
    "observe",
    "ornaments_of",
    "runs_of",
    "track_pitch",
    "with_double_stops",
    "write_down",
]
