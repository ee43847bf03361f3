"""The instrument: tunings, reeds, moves, reach, positions and harmonica tab. Knows nothing of phrases."""

from reedpath.harp.checking import check_move
from reedpath.harp.harp import Harp, make_harp, position_between
from reedpath.harp.moves import Alteration, Breath, Embouchure, Move
from reedpath.harp.notation import Notation, load_notation, notation_names, parse_notation
from reedpath.harp.reach import Reach, midi_of, natural_semitones, pitches_of, reach_of, single_moves
from reedpath.harp.reading import parse_move
from reedpath.harp.tabline import NotationGuess, TabToken, TokenKind, guess_notation, tokenize_tab
from reedpath.harp.temperament import EQUAL, Temperament
from reedpath.harp.tuning import Tuning, load_tuning, parse_tuning, tuning_names
from reedpath.harp.writing import format_move

__all__ = [
    "EQUAL",
    "Alteration",
    "Breath",
    "Embouchure",
    "Harp",
    "Move",
    "Notation",
    "NotationGuess",
    "Reach",
    "TabToken",
    "Temperament",
    "TokenKind",
    "Tuning",
    "check_move",
    "format_move",
    "guess_notation",
    "load_notation",
    "load_tuning",
    "make_harp",
    "midi_of",
    "natural_semitones",
    "notation_names",
    "parse_move",
    "parse_notation",
    "parse_tuning",
    "pitches_of",
    "position_between",
    "reach_of",
    "single_moves",
    "tokenize_tab",
    "tuning_names",
]
