"""Short random phrases, short enough for every way to play them to be tried."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from reedpath.phrase import Event, Ornaments, Phrase, Tempo
from reedpath.pitch import Key
from support.spent_bytes import SpentBytes, built_from_bytes

__all__ = ["BYTES_OF_A_PHRASE", "short_phrase", "short_phrases"]

GAPS = (Fraction(0), Fraction(0), Fraction(1, 2), Fraction(4))
DURATIONS = (Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(8), Fraction(24))
# bytes that a phrase of seven events is built of, six of each event and three of the whole
BYTES_OF_A_PHRASE = 7 * 6 + 3


def short_phrase(spent: SpentBytes, most_events: int = 4) -> Phrase:
    """A phrase of a few events with rests, chords and string ornaments, at any sensible tempo."""
    events, onset = [], Fraction(0)
    for _ in range(spent.whole(1, most_events)):
        onset += spent.pick(GAPS)
        duration, lowest = spent.pick(DURATIONS), spent.whole(50, 92)
        midi = (lowest,) if spent.pick((1, 1, 1, 2)) == 1 else (lowest, lowest + spent.pick((3, 4, 7, 12)))
        ornaments = spent.pick(
            (
                Ornaments(),
                Ornaments(vibrato=True),
                Ornaments(bend_in=Fraction(2)),
                Ornaments(release=Fraction(1)),
                Ornaments(bend_in=Fraction(1), release=Fraction(1)),
                Ornaments(slide_from=lowest - 2),
            )
        )
        events.append(Event(onset, duration, midi, ornaments))
        onset += duration
    tempo = Tempo(Fraction(0), spent.pick((60.0, 100.0, 180.0)))
    return Phrase(tuple(events), key=spent.pick((None, Key(7))), tempos=(tempo,))


def short_phrases(most_events: int = 4) -> st.SearchStrategy[Phrase]:
    """Such phrases."""
    return built_from_bytes(lambda spent: short_phrase(spent, most_events), size=BYTES_OF_A_PHRASE)
