"""The lead line: what stays, what goes, and that it is said."""

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import PhraseError, Place
from reedpath.phrase import Event, LeftOut, Phrase, lead_line
from reedpath.phrase.lead import CUT_SHORT, FAR_UNDER_LEAD, UNDER_LEAD
from support.examples import examples
from support.phrases import phrase_of
from support.read_phrases import pitches


def voices(*texts: str) -> Phrase:
    events = [event for text in texts for event in phrase_of(text).events]
    return Phrase(tuple(sorted(events, key=lambda event: event.onset)))


def test_a_line_comes_back_unchanged():
    phrase = phrase_of("c4 g5 c3 1/8 r c4")
    assert lead_line(phrase) is phrase


def test_the_top_of_chords_is_kept_and_the_rest_counted():
    lead = lead_line(phrase_of("c4+e4+g4 1/2 d4+f4 1/2 | e4 1"))
    assert pitches(lead) == [67, 65, 64]
    assert lead.left_out == (LeftOut(UNDER_LEAD, Place(bar=1), 3),)


def test_double_stops_stay_on_request():
    lead = lead_line(phrase_of("c4+e4+g4 1/2 d4+f4 1/2"), most_notes=2)
    assert [event.midi for event in lead.events] == [(64, 67), (62, 65)]
    assert lead.left_out == (LeftOut(UNDER_LEAD, Place(bar=1), 1),)


def test_a_shorter_note_struck_with_the_lead_does_not_stay():
    assert lead_line(voices("e4 1/8", "g4 1/2"), most_notes=2).events[0].midi == (67,)


def test_an_accompaniment_under_a_held_note_does_not_take_the_line():
    lead = lead_line(voices("g5 1/2 a5 1/2", "c4 1/8 e4 g4 e4 f4 a4 c5 a4"))
    assert pitches(lead) == [79, 81]
    assert [event.duration for event in lead.events] == [2, 2]
    assert lead.left_out == (LeftOut(UNDER_LEAD, Place(bar=1), 8),)


def test_a_slight_overlap_of_two_melody_notes_is_cut_and_not_worth_saying():
    phrase = Phrase((Event(F(0), F(9, 8), (67,)), Event(F(1), F(1), (64,))))
    lead = lead_line(phrase)
    assert [(e.onset, e.duration, e.midi) for e in lead.events] == [(0, 1, (67,)), (1, 1, (64,))]
    assert lead.left_out == ()


def test_a_higher_note_cuts_a_held_one_and_it_is_said():
    lead = lead_line(voices("g4 1", "r 1/4 c5 1/4"))
    assert [(e.onset, e.duration) for e in lead.events] == [(0, 1), (1, 1)]
    assert lead.left_out == (LeftOut(CUT_SHORT, Place(bar=1), 1),)


def test_a_bass_note_in_a_gap_is_left_out_but_a_low_answer_stays():
    bass = lead_line(voices("g5 1/4 r 1/4 a5 1/2", "c3 1/4 c3 1/4 f3 1/2"))
    assert pitches(bass) == [79, 81]
    assert LeftOut(FAR_UNDER_LEAD, Place(bar=1), 1) in bass.left_out
    answer = lead_line(voices("g5+c5 1/4 e4 1/8 g4 a4 g4 e4 d4 g5 1/4"))
    assert pitches(answer) == [79, 64, 67, 69, 67, 64, 62, 79]


def test_no_notes_at_a_time():
    with pytest.raises(PhraseError, match="at least 1 note"):
        lead_line(phrase_of("c4"), most_notes=0)


notes = st.builds(
    lambda onset, duration, midi: Event(F(onset, 4), F(duration, 4), (midi,)),
    st.integers(0, 40), st.integers(1, 12), st.integers(40, 90),
)  # fmt: skip


@examples(100)
@given(st.lists(notes, min_size=1, max_size=30), st.integers(1, 3))
def test_a_lead_has_no_overlaps_no_new_notes_and_every_note_is_accounted_for(events, most):
    events.sort(key=lambda event: event.onset)
    phrase = Phrase(tuple(events))
    lead = lead_line(phrase, most_notes=most)
    assert lead_line(lead, most_notes=most) is lead
    assert all(a.end <= b.onset for a, b in zip(lead.events, lead.events[1:], strict=False))
    given_notes = {(event.onset, midi) for event in events for midi in event.midi}
    kept = {(event.onset, midi) for event in lead.events for midi in event.midi}
    assert kept <= given_notes
    missing = sum(one.count for one in lead.left_out if one.kind in (UNDER_LEAD, FAR_UNDER_LEAD))
    total = sum(len(event.midi) for event in events)
    assert total - len(kept) >= missing >= len(given_notes) - len(kept)
    assert phrase.events[0].onset == lead.events[0].onset
