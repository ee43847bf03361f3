"""Short random phrases, short enough for every way to play them to be tried."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from reedpath.phrase import Event, Ornaments, Phrase, Tempo
from reedpath.pitch import Key

__all__ = ["short_phrases"]


@st.composite
def short_phrases(draw, most_events: int = 4) -> Phrase:
    """Phrases of a few events with rests, chords and string ornaments, at any sensible tempo."""
    events, onset = [], Fraction(0)
    for _ in range(draw(st.integers(1, most_events))):
        onset += draw(st.sampled_from([Fraction(0), Fraction(0), Fraction(1, 2), Fraction(4)]))
        duration = draw(st.sampled_from([Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(8), Fraction(24)]))
        lowest = draw(st.integers(50, 92))
        size = draw(st.sampled_from([1, 1, 1, 2]))
        midi = (lowest,) if size == 1 else (lowest, lowest + draw(st.sampled_from([3, 4, 7, 12])))
        ornaments = draw(
            st.sampled_from(
                [
                    Ornaments(),
                    Ornaments(vibrato=True),
                    Ornaments(bend_in=Fraction(2)),
                    Ornaments(release=Fraction(1)),
                    Ornaments(bend_in=Fraction(1), release=Fraction(1)),
                    Ornaments(slide_from=lowest - 2),
                ]
            )
        )
        events.append(Event(onset, duration, midi, ornaments))
        onset += duration
    tempo = Tempo(Fraction(0), draw(st.sampled_from([60.0, 100.0, 180.0])))
    return Phrase(tuple(events), key=draw(st.sampled_from([None, Key(7)])), tempos=(tempo,))
