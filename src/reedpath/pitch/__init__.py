"""Pitch: names, MIDI numbers, hertz, cents, keys and scales. Knows nothing of harps."""

from reedpath.pitch.hertz import A4_HZ, cents_between, cents_to_ratio, hz_to_midi, midi_to_hz, ratio_to_cents
from reedpath.pitch.keys import Key, key_name, parse_key
from reedpath.pitch.names import midi_name, parse_midi, parse_pitch_class, pitch_class_name

__all__ = [
    "A4_HZ",
    "Key",
    "cents_between",
    "cents_to_ratio",
    "hz_to_midi",
    "key_name",
    "midi_name",
    "midi_to_hz",
    "parse_key",
    "parse_midi",
    "parse_pitch_class",
    "pitch_class_name",
    "ratio_to_cents",
]
