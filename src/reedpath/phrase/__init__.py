"""The phrase: what is to be played, as it was given. Knows nothing of harps or files."""

from reedpath.phrase.events import Event, LeftOut, Metre, Ornaments, Part, Phrase, Repeat, Tempo
from reedpath.phrase.performance import Timing, performed, timing_of

__all__ = [
    "Event",
    "LeftOut",
    "Metre",
    "Ornaments",
    "Part",
    "Phrase",
    "Repeat",
    "Tempo",
    "Timing",
    "performed",
    "timing_of",
]
