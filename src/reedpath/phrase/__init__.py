"""The phrase: what is to be played, as it was given. Knows nothing of harps or files."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.phrase.checking import check_phrase
    from reedpath.phrase.counting import COUNTED, guessed_places
    from reedpath.phrase.events import MOST_METRE_COUNT, Event, Metre, Ornaments, Part, Phrase, Repeat, Tempo
    from reedpath.phrase.grid import Gridded, beats_of, onto_grid
    from reedpath.phrase.keyfinding import KeyGuess, find_key, load_key_profiles
    from reedpath.phrase.lead import lead_line
    from reedpath.phrase.left_out import LeftOut, left_out_kinds
    from reedpath.phrase.metre import (
        COMMON_TIME,
        Bar,
        BarPlace,
        CountedBeat,
        NumberedBars,
        PrintedBar,
        bar_place,
        bars,
        beat_of,
        counted_beats,
        groups_of,
        is_compound,
        metre_at,
        metres_of,
        numbered_bars,
        practice_beat,
        printed_bars,
    )
    from reedpath.phrase.performance import performed
    from reedpath.phrase.phrase_json import PHRASE_SCHEMA, PhraseFile, decode_phrase, encode_phrase
    from reedpath.phrase.sections import section, trimmed
    from reedpath.phrase.spelling import note_fifths, tonic_fifths
    from reedpath.phrase.timing import BeatTimes, Timing, beat_times, timing_of
    from reedpath.phrase.version_1 import lesson_of_version_1
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "COMMON_TIME",
    "COUNTED",
    "MOST_METRE_COUNT",
    "PHRASE_SCHEMA",
    "Bar",
    "BarPlace",
    "BeatTimes",
    "CountedBeat",
    "Event",
    "Gridded",
    "KeyGuess",
    "LeftOut",
    "Metre",
    "NumberedBars",
    "Ornaments",
    "Part",
    "Phrase",
    "PhraseFile",
    "PrintedBar",
    "Repeat",
    "Tempo",
    "Timing",
    "bar_place",
    "bars",
    "beat_of",
    "beat_times",
    "beats_of",
    "check_phrase",
    "counted_beats",
    "decode_phrase",
    "encode_phrase",
    "find_key",
    "groups_of",
    "guessed_places",
    "is_compound",
    "lead_line",
    "left_out_kinds",
    "lesson_of_version_1",
    "load_key_profiles",
    "metre_at",
    "metres_of",
    "note_fifths",
    "numbered_bars",
    "onto_grid",
    "performed",
    "practice_beat",
    "printed_bars",
    "section",
    "timing_of",
    "tonic_fifths",
    "trimmed",
]
