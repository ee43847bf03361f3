"""The lead line judged on four-part chorales, whose melody is the soprano.

Source: chorales of J. S. Bach (public domain), read from the installed music21 package (its corpus).
"""

from collections import Counter
from fractions import Fraction

import pytest

from reedpath.errors import Place
from reedpath.phrase import Event, Phrase, lead_line

pytestmark = pytest.mark.outside

CHORALES = ("bwv269", "bwv40.8", "bwv66.6", "bwv253", "bwv7.7", "bwv26.6", "bwv324", "bwv436", "bwv10.7", "bwv81.7")


def voices_of(name: str) -> list[list[Event]]:
    from music21 import corpus

    voices = []
    for part in corpus.parse(f"bach/{name}").parts:
        notes = part.flatten().stripTies().notes
        voices.append(
            [
                Event(Fraction(note.offset), Fraction(note.quarterLength), (note.pitches[-1].midi,))
                for note in notes
                if note.quarterLength > 0
            ]
        )
    return voices


def test_the_soprano_is_recovered():
    # measured when written: 99.8 % of 473 soprano notes, 2.1 % others beside them
    found = total = extra = 0
    for name in CHORALES:
        voices = voices_of(name)
        together = sorted((event for voice in voices for event in voice), key=lambda event: event.onset)
        lead = lead_line(Phrase(tuple(together)))
        soprano = Counter((event.onset, event.midi) for event in voices[0])
        ours = Counter((event.onset, event.midi) for event in lead.events)
        found += (soprano & ours).total()
        extra += (ours - soprano).total()
        total += soprano.total()
        assert sum(one.count for one in lead.left_out if "under" in one.what) > soprano.total()
    assert found / total > 0.98
    assert extra / total < 0.03  # a lower voice that moves on while the soprano has its rest


def test_what_is_left_out_names_every_bar():
    voices = voices_of("bwv66.6")
    together = sorted((event for voice in voices for event in voice), key=lambda event: event.onset)
    places = [
        one.place for one in lead_line(Phrase(tuple(together))).left_out if one.what == "note under the lead line"
    ]
    assert places == [Place(bar=number) for number in range(1, len(places) + 1)]
