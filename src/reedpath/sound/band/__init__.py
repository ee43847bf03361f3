"""The band: grooves and players under a lesson. Knows nothing of harps."""

from reedpath.sound.band.bank import bank_path, check_bank, part_gain, sound_part
from reedpath.sound.band.feel import BandFeel
from reedpath.sound.band.grooves import Groove, groove_names, load_groove, parse_groove
from reedpath.sound.band.playing import BandNote, BandPart, BarClock, play_band

__all__ = [
    "BandFeel",
    "BandNote",
    "BandPart",
    "BarClock",
    "Groove",
    "bank_path",
    "check_bank",
    "groove_names",
    "load_groove",
    "parse_groove",
    "part_gain",
    "play_band",
    "sound_part",
]
