"""Metre: beats and groups, and bars: boundaries, pickup, changes of metre."""

from fractions import Fraction as F

import pytest

from reedpath.errors import PhraseError
from reedpath.phrase import (
    Bar,
    BarPlace,
    Metre,
    Phrase,
    bar_place,
    bars,
    beat_of,
    counted_beats,
    groups_of,
    is_compound,
    metre_at,
    practice_beat,
)
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


@pytest.mark.slow
def test_too_many_bars_are_an_error_and_not_a_long_wait():
    with pytest.raises(PhraseError, match="more than 100,000 bars"):
        bars(phrase_of("c4 1/4 r 1000000 c4 1/4"))


def test_a_metre_of_nothing():
    with pytest.raises(PhraseError, match="0/4"):
        bars(phrase_of("c4", metres=(Metre(F(0), 0, 4),)))


# beat, beat of slow practice, groups; in quarter notes. Compound: upper number 6, 9, 12 ... ("Compound meters",
# reference of teoria.com). 3/8 and 6/4: the module's docstring says why.
BEATS = {
    (4, 4): (1, 1, [1, 1, 1, 1]),
    (3, 4): (1, 1, [1, 1, 1]),
    (2, 2): (2, 1, [2, 2]),
    (3, 2): (2, 1, [2, 2, 2]),
    (6, 8): (F(3, 2), F(3, 2), [F(3, 2)] * 2),
    (9, 8): (F(3, 2), F(3, 2), [F(3, 2)] * 3),
    (12, 8): (F(3, 2), F(3, 2), [F(3, 2)] * 4),
    (6, 16): (F(3, 4), F(3, 4), [F(3, 4)] * 2),
    (3, 8): (F(1, 2), F(1, 2), [F(3, 2)]),
    (6, 4): (1, 1, [3, 3]),
    (9, 4): (1, 1, [3, 3, 3]),
    (6, 2): (2, 1, [6, 6]),
    (2, 8): (F(1, 2), F(1, 2), [F(1, 2)] * 2),
    (4, 8): (F(1, 2), F(1, 2), [1, 1]),
    (5, 8): (F(1, 2), F(1, 2), [1, F(3, 2)]),
    (7, 8): (F(1, 2), F(1, 2), [1, 1, F(3, 2)]),
    (5, 4): (1, 1, [1] * 5),
}


@pytest.mark.parametrize("signature", BEATS)
def test_beats_and_groups_of_a_metre(signature: tuple[int, int]):
    metre = Metre(F(0), *signature)
    beat, practised, groups = BEATS[signature]
    assert (beat_of(metre), practice_beat(metre), list(groups_of(metre))) == (beat, practised, groups)
    assert sum(groups_of(metre)) == metre.bar
    assert metre.bar % beat_of(metre) == 0


def test_compound_is_told_by_the_upper_number():
    assert [count for count in range(1, 16) if is_compound(count)] == [6, 9, 12, 15]


def test_the_metre_in_force():
    phrase = phrase_of("c4 1 d4 1", metres=(Metre(F(4), 3, 4),))
    assert [(metre_at(phrase, F(at)).count) for at in (0, 3, 4, 9)] == [4, 4, 3, 3]


@pytest.mark.parametrize(
    ("bar", "beats"),
    [
        (Bar(1, F(0), F(3), Metre(F(0), 6, 8)), [0, F(3, 2)]),
        (Bar(2, F(4), F(6), Metre(F(0), 6, 8)), [4, F(11, 2)]),  # cut by a new metre: counted from its start
        (Bar(0, F(0), F(5, 2), Metre(F(0), 4, 4)), [0, F(1, 2), F(3, 2)]),  # a pickup: counted back from its end
        (Bar(0, F(0), F(2), Metre(F(0), 4, 4)), [0, 1]),
        (Bar(0, F(0), F(1, 2), Metre(F(0), 6, 8)), [0]),
    ],
)
def test_beats_of_a_bar(bar: Bar, beats: list[F]):
    assert list(bar.beats) == beats


def test_counted_beats_go_on_before_the_phrase():
    phrase = phrase_of("c4 1/8 d4 3/4 e4 3/4", pickup=F(1, 2), metres=(Metre(F(0), 6, 8),))
    found = counted_beats(phrase, F(-5, 2), F(7, 2))
    assert [(beat.onset, beat.first) for beat in found] == [
        (F(-5, 2), True),
        (-1, False),
        (F(1, 2), True),
        (2, False),
    ]


def test_a_pickup_stands_in_the_first_metre():
    phrase = phrase_of("c4 1/4 d4 1/2 e4 1/4", pickup=F(1), metres=(Metre(F(0), 3, 4),))
    assert [(bar.metre.count, bar.metre.unit) for bar in bars(phrase)] == [(3, 4), (3, 4)]


def test_a_pickup_of_nothing_is_no_bar():
    assert bars(Phrase((), pickup=F(1))) == ()


def test_a_bar_may_be_one_note_of_one_beat():
    assert spans(phrase_of("c4 1/4 d4 1/4", metres=(Metre(F(0), 1, 4),))) == [(1, 0, 1), (2, 1, 2)]
    assert spans(phrase_of("c4 1/4", metres=(Metre(F(0), 1, 1),))) == [(1, 0, 4)]


def test_before_the_first_metre_is_common_time():
    phrase = phrase_of("c4 1/2 d4 1/2", metres=(Metre(F(1), 3, 4),))
    assert [(bar.onset, bar.end, bar.metre.count) for bar in bars(phrase)] == [(0, 1, 4), (1, 4, 3)]


def test_a_phrase_may_be_no_longer_than_its_pickup():
    assert spans(phrase_of("c4 1/8", pickup=F(1, 2))) == [(0, 0, F(1, 2))]


def test_a_count_in_goes_by_the_metre_of_the_start():
    phrase = phrase_of("c4 1 d4 1", metres=(Metre(F(0), 3, 4), Metre(F(1), 4, 4)))
    assert [beat.onset for beat in counted_beats(phrase, F(-3), F(0)) if beat.first] == [-3]
    assert len(counted_beats(phrase, F(-3), F(0))) == 3
