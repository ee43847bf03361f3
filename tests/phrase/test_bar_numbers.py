"""The numbers of bars as the source has them, and which time each is played."""

from fractions import Fraction as F

import pytest
from msgspec.structs import replace

from reedpath.errors import Place
from reedpath.phrase import PrintedBar, bars, numbered_bars, printed_bars, section
from support.phrases import phrase_of


def labelled(line, labels, **fields):
    """A phrase of one note a bar whose bars have these labels in their source, None for no place."""
    phrase = phrase_of(line, **fields)
    events = [replace(one, place=Place(bar=label)) for one, label in zip(phrase.events, labels, strict=True)]
    return replace(phrase, events=tuple(events))


def told(phrase):
    return [(bar.number, bar.turn) for bar in printed_bars(phrase, bars(phrase))]


def test_rests_before_the_first_note_lead_up_to_its_bar():
    cut = section(labelled("r 1 r 1 c4 1 d4 1", [3, 4]), 2, 4)
    assert told(cut) == [(2, 1), (3, 1), (4, 1)]


def test_rests_before_a_first_note_whose_number_is_too_low_are_counted():
    assert told(labelled("r 1 r 1 c4 1", [1]))[:2] == [(1, 1), (2, 1)]


def test_a_bar_that_a_repeat_cuts_is_one():
    # as MusicXML numbers it: the second half of bar 2 is implicit
    phrase = labelled("c4 1 d4 1 e4 1 c4 1 d4 1", [1, 2, "X1", 1, 2])
    assert told(phrase) == [(1, 1), (2, 1), (2, 1), (1, 2), (2, 2)]
    assert [one.midi[0] for one in section(phrase, 2, 2).events] == [62, 64]


def test_a_bar_that_ends_with_the_pickup_of_what_is_played_again_keeps_its_number():
    # the pickup, bar 1 with three beats, and the pickup again
    phrase = labelled("g4 1/4 c4 1 d4 3/4 g4 1/4 c4 1 d4 3/4", [0, 1, 2, 0, 1, 2], pickup=F(1))
    assert told(phrase) == [(0, 1), (1, 1), (2, 1), (1, 2), (2, 2)]
    later = labelled("c4 3/4 g4 1/4 d4 1 e4 3/4 g4 1/4", [1, 2, 3, 4, 2])
    assert told(later) == [(1, 1), (3, 1), (4, 1)]


def test_bars_numbered_with_letters():
    assert told(labelled("c4 1 d4 1 e4 1", [11, "12a", "12b"])) == [(11, 1), (12, 1), (12, 2)]


def test_where_a_beat_lies():
    numbered = numbered_bars(labelled("g4 1/4 c4 1 d4 1 c4 1", [0, 1, 2, 1], pickup=F(1)))
    assert [numbered.at(F(beat)).mark for beat in (-1, 0, 1, 5, 8, 9, 99)] == [
        "",
        "",
        "1",
        "2",
        "2",
        "1 (2)",
        "1 (2)",
    ]
    assert numbered.between(F(1), F(9)) == (PrintedBar(1, 1), PrintedBar(2, 1), PrintedBar(1, 2))


def test_a_phrase_of_nothing_has_a_bar():
    assert numbered_bars(replace(phrase_of("c4 1"), events=())).at(F(0)) == PrintedBar(1, 1)


@pytest.mark.parametrize(("bar", "mark"), [((6, 1), "6"), ((6, 3), "6 (3)"), ((0, 2), "")])
def test_marks(bar, mark):
    assert PrintedBar(*bar).mark == mark
