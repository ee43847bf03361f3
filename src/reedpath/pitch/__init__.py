"""Pitch: names, MIDI numbers, hertz, cents, keys and scales. Knows nothing of harps."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.pitch.hertz import A4_HZ, cents_to_ratio, hz_to_midi, midi_to_hz, ratio_to_cents
    from reedpath.pitch.keys import (
        FLATTEST,
        MODE_FIFTHS,
        SHARPEST,
        Key,
        key_fifths,
        key_name,
        near_signature,
        parse_key,
        single_signs,
    )
    from reedpath.pitch.names import (
        LETTER_SEMITONES,
        LETTERS_BY_FIFTHS,
        NOTE_NAME,
        composed,
        fifths_of,
        is_german,
        letter_and_sign,
        midi_name,
        nearest_fifths,
        parse_midi,
        parse_pitch_class,
        pitch_class_name,
        spelling_of,
        written_fifths,
    )
    from reedpath.pitch.scales import MODES, Scale, load_scale, parse_scales, scale_names
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "A4_HZ",
    "FLATTEST",
    "LETTERS_BY_FIFTHS",
    "LETTER_SEMITONES",
    "MODES",
    "MODE_FIFTHS",
    "NOTE_NAME",
    "SHARPEST",
    "Key",
    "Scale",
    "cents_to_ratio",
    "composed",
    "fifths_of",
    "hz_to_midi",
    "is_german",
    "key_fifths",
    "key_name",
    "letter_and_sign",
    "load_scale",
    "midi_name",
    "midi_to_hz",
    "near_signature",
    "nearest_fifths",
    "parse_key",
    "parse_midi",
    "parse_pitch_class",
    "parse_scales",
    "pitch_class_name",
    "ratio_to_cents",
    "scale_names",
    "single_signs",
    "spelling_of",
    "written_fifths",
]
