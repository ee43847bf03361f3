"""The instrument: tunings, reeds, moves, reach, positions and harmonica tab. Knows nothing of phrases."""

from reedpath.harp.harp import Harp, make_harp, position_between
from reedpath.harp.moves import Alteration, Breath, Embouchure, Move
from reedpath.harp.reach import Reach, midi_of, natural_semitones, pitches_of, reach_of, single_moves
from reedpath.harp.temperament import EQUAL, Temperament
from reedpath.harp.tuning import Tuning, load_tuning, parse_tuning, tuning_names

__all__ = [
    "EQUAL",
    "Alteration",
    "Breath",
    "Embouchure",
    "Harp",
    "Move",
    "Reach",
    "Temperament",
    "Tuning",
    "load_tuning",
    "make_harp",
    "midi_of",
    "natural_semitones",
    "parse_tuning",
    "pitches_of",
    "position_between",
    "reach_of",
    "single_moves",
    "tuning_names",
]
