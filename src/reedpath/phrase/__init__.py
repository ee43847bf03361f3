"""The phrase: what is to be played, as it was given. Knows nothing of harps or files."""

from reedpath.phrase.data import left_out_as_data, phrase_as_data
from reedpath.phrase.events import Event, Metre, Ornaments, Part, Phrase, Repeat, Tempo
from reedpath.phrase.grid import Gridded, beats_of, onto_grid
from reedpath.phrase.keyfinding import KeyGuess, find_key
from reedpath.phrase.lead import lead_line
from reedpath.phrase.left_out import LeftOut, left_out_in_words, left_out_kinds, plain_text
from reedpath.phrase.metre import Bar, BarPlace, bar_label, bar_place, bars, beat_of
from reedpath.phrase.performance import performed
from reedpath.phrase.placed import Placed
from reedpath.phrase.restore import midi_at, phrase_from_data
from reedpath.phrase.section import section, trimmed
from reedpath.phrase.timing import Timing, timing_of

__all__ = [
    "Bar",
    "BarPlace",
    "Event",
    "Gridded",
    "KeyGuess",
    "LeftOut",
    "Metre",
    "Ornaments",
    "Part",
    "Phrase",
    "Placed",
    "Repeat",
    "Tempo",
    "Timing",
    "bar_label",
    "bar_place",
    "bars",
    "beat_of",
    "beats_of",
    "find_key",
    "lead_line",
    "left_out_as_data",
    "left_out_in_words",
    "left_out_kinds",
    "midi_at",
    "onto_grid",
    "performed",
    "phrase_as_data",
    "phrase_from_data",
    "plain_text",
    "section",
    "timing_of",
    "trimmed",
]
