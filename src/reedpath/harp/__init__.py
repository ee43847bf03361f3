"""The instrument: tunings, reeds, moves, reach, positions and harmonica tab. Knows nothing of phrases."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.harp.chart import ChartNote, ChartRow, HarpChart, harp_chart
    from reedpath.harp.harp import Harp, harp_name_and_rest, harp_names, make_harp, position_between
    from reedpath.harp.harp_json import SoundingMove, harp_as_data, sounding_move
    from reedpath.harp.moves import Alteration, Breath, Embouchure, Move
    from reedpath.harp.notation import Notation, load_notation, notation_names, parse_notation
    from reedpath.harp.position import MissingDegree, Position, missing_degrees, position_tonic, positions
    from reedpath.harp.reach import Reach, check_move, midi_of, natural_semitones, pitches_of, reach_of, single_moves
    from reedpath.harp.reed_pitch import ReedTarget, Sound, inventory, reed_hz, reed_targets, sound_of
    from reedpath.harp.scala import format_scl, parse_scl
    from reedpath.harp.tab_lines import NotationGuess, TabToken, TokenKind, guess_notation, tokenize_tab
    from reedpath.harp.tab_moves import format_move, parse_move
    from reedpath.harp.temperament import EQUAL, Temperament, load_temperament, parse_temperament, temperament_names
    from reedpath.harp.tuning import Tuning, load_tuning, parse_tuning, tuning_names
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "EQUAL",
    "Alteration",
    "Breath",
    "ChartNote",
    "ChartRow",
    "Embouchure",
    "Harp",
    "HarpChart",
    "MissingDegree",
    "Move",
    "Notation",
    "NotationGuess",
    "Position",
    "Reach",
    "ReedTarget",
    "Sound",
    "SoundingMove",
    "TabToken",
    "Temperament",
    "TokenKind",
    "Tuning",
    "check_move",
    "format_move",
    "format_scl",
    "guess_notation",
    "harp_as_data",
    "harp_chart",
    "harp_name_and_rest",
    "harp_names",
    "inventory",
    "load_notation",
    "load_temperament",
    "load_tuning",
    "make_harp",
    "midi_of",
    "missing_degrees",
    "natural_semitones",
    "notation_names",
    "parse_move",
    "parse_notation",
    "parse_scl",
    "parse_temperament",
    "parse_tuning",
    "pitches_of",
    "position_between",
    "position_tonic",
    "positions",
    "reach_of",
    "reed_hz",
    "reed_targets",
    "single_moves",
    "sound_of",
    "sounding_move",
    "temperament_names",
    "tokenize_tab",
    "tuning_names",
]
