"""Harmony: chords in a key, the forms that a blues goes through, and where a phrase sits in them. Knows no harp."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.harmony.chords import BLUE_STEPS, Chord, NoteKind, OverChord, over_chord, parse_chord
    from reedpath.harmony.forms import Form, form_names, load_form, parse_form
    from reedpath.harmony.four_versions import (
        FOUR_FORMS,
        FourVersion,
        form_worth,
        is_too_long_for_the_four,
        moves_in_part,
        needs_no_version,
        over_the_four,
        versions_for_the_four,
    )
    from reedpath.harmony.placing import (
        FormPlace,
        LinePlace,
        NoteHeard,
        Rating,
        core_bars,
        form_key,
        form_places,
        placed,
        proposed_bars,
    )
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "BLUE_STEPS",
    "FOUR_FORMS",
    "Chord",
    "Form",
    "FormPlace",
    "FourVersion",
    "LinePlace",
    "NoteHeard",
    "NoteKind",
    "OverChord",
    "Rating",
    "core_bars",
    "form_key",
    "form_names",
    "form_places",
    "form_worth",
    "is_too_long_for_the_four",
    "load_form",
    "moves_in_part",
    "needs_no_version",
    "over_chord",
    "over_the_four",
    "parse_chord",
    "parse_form",
    "placed",
    "proposed_bars",
    "versions_for_the_four",
]
