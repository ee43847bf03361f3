"""Harmony: chords in a key, the forms that a blues goes through, and where a phrase sits in them. Knows no harp."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.harmony.chords import BLUE_STEPS, Chord, NoteKind, OverChord, over_chord, parse_chord
    from reedpath.harmony.forms import Form, form_names, load_form, parse_form
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "BLUE_STEPS",
    "Chord",
    "Form",
    "NoteKind",
    "OverChord",
    "form_names",
    "load_form",
    "over_chord",
    "parse_chord",
    "parse_form",
]
