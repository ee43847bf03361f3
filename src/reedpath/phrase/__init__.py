"""The phrase: what is to be played, as it was given. Knows nothing of harps or files."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.phrase.data import left_out_as_data, phrase_as_data
    from reedpath.phrase.events import Event, Metre, Ornaments, Part, Phrase, Repeat, Tempo
    from reedpath.phrase.grid import Gridded, beats_of, onto_grid
    from reedpath.phrase.keyfinding import KeyGuess, find_key
    from reedpath.phrase.lead import lead_line
    from reedpath.phrase.left_out import LeftOut, left_out_in_words, left_out_kinds, plain_text
    from reedpath.phrase.metre import (
        COMMON_TIME,
        Bar,
        BarPlace,
        CountedBeat,
        bar_label,
        bar_place,
        bars,
        beat_of,
        counted_beats,
        groups_of,
        is_compound,
        metre_at,
        metres_of,
        practice_beat,
    )
    from reedpath.phrase.performance import performed
    from reedpath.phrase.placed import Placed
    from reedpath.phrase.restore import midi_at, phrase_from_data
    from reedpath.phrase.sections import section, trimmed
    from reedpath.phrase.timing import BeatTimes, Timing, beat_times, timing_of
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "COMMON_TIME",
    "Bar",
    "BarPlace",
    "BeatTimes",
    "CountedBeat",
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
    "beat_times",
    "beats_of",
    "counted_beats",
    "find_key",
    "groups_of",
    "is_compound",
    "lead_line",
    "left_out_as_data",
    "left_out_in_words",
    "left_out_kinds",
    "metre_at",
    "metres_of",
    "midi_at",
    "onto_grid",
    "performed",
    "phrase_as_data",
    "phrase_from_data",
    "plain_text",
    "practice_beat",
    "section",
    "timing_of",
    "trimmed",
]
