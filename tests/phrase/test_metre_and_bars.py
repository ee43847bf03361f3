"""Bars: boundaries, pickup, changes of metre."""

from fractions import Fraction as F

import pytest

from reedpath.errors import PhraseError
from reedpath.phrase import Bar, BarPlace, Metre, Phrase, bar_place, bars
from support.phrases import phrase_of


def spans(phrase: Phrase) -> list[tuple[int, F, F]]:
    return [(bar.number, bar.onset, bar.end) for bar in bars(phrase)]


def test_common_time_without_metre():
    assert spans(phrase_of("c4 1/4 d4 e4 f4 g4")) == [(1, 0, 4), (2, 4, 8)]


def test_pickup_is_bar_nought():
    phrase = phrase_of("c4 1/4 d4 e4 f4", pickup=F(1), metres=(Metre(F(0), 3, 4),))
    assert spans(phrase) == [(0, 0, 1), (1, 1, 4)]


def test_compound_metre_and_change():
    phrase = phrase_of("c4 3/8 d4 3/8 e4 1/2", metres=(Metre(F(0), 6, 8), Metre(F(3), 2, 4)))
    assert spans(phrase) == [(1, 0, 3), (2, 3, 5)]


def test_a_change_inside_a_bar_cuts_it_short():
    phrase = phrase_of("c4 1 d4 1", metres=(Metre(F(0), 4, 4), Metre(F(6), 3, 4)))
    assert spans(phrase) == [(1, 0, 4), (2, 4, 6), (3, 6, 9)]


def test_an_empty_phrase_has_no_bars():
    assert bars(Phrase(())) == ()


def test_place_of_a_beat():
    found = bars(phrase_of("c4 1/4 d4 e4 f4 g4", pickup=F(1)))
    assert bar_place(found, F(1, 2)) == BarPlace(0, F(7, 2))
    assert bar_place(found, F(1)) == BarPlace(1, F(0))
    assert bar_place(found, F(9, 2)) == BarPlace(1, F(7, 2))


def test_a_beat_in_no_bar():
    with pytest.raises(PhraseError, match="lies in no bar"):
        bar_place((), F(1))
    with pytest.raises(PhraseError, match="lies in no bar"):
        bar_place((Bar(1, F(4), F(8), Metre(F(0), 4, 4)),), F(1))


def test_too_many_bars_are_an_error_and_not_a_long_wait():
    with pytest.raises(PhraseError, match="more than 100,000 bars"):
        bars(phrase_of("c4 1/4 r 1000000 c4 1/4"))


def test_a_metre_of_nothing():
    with pytest.raises(PhraseError, match="0/4"):
        bars(phrase_of("c4", metres=(Metre(F(0), 0, 4),)))
