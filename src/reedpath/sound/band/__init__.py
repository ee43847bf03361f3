"""The band: forms, grooves and players under a lesson. Knows nothing of harps."""

from reedpath.sound.band.bank import bank_path, check_bank, part_gain, sound_part
from reedpath.sound.band.forms import Chord, Form, form_names, load_form, parse_chord, parse_form
from reedpath.sound.band.grooves import Groove, groove_names, load_groove, parse_groove
from reedpath.sound.band.playing import BandNote, BandPart, BarClock, play_band

__all__ = [
    "BandNote",
    "BandPart",
    "BarClock",
    "Chord",
    "Form",
    "Groove",
    "bank_path",
    "check_bank",
    "form_names",
    "groove_names",
    "load_form",
    "load_groove",
    "parse_chord",
    "parse_form",
    "parse_groove",
    "part_gain",
    "play_band",
    "sound_part",
]
