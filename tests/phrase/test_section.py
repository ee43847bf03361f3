"""Sections: bars m to n, and any stretch, as a phrase of its own."""

from fractions import Fraction as F

import pytest
from msgspec.structs import replace

from reedpath.errors import NOWHERE, PhraseError, Place
from reedpath.phrase import (
    LeftOut,
    Metre,
    Part,
    Repeat,
    Tempo,
    bars,
    lead_line,
    performed,
    printed_bars,
    section,
    timing_of,
    trimmed,
)
from support.phrases import phrase_of

LINE = "c4 1/4 d4 e4 f4 | g4 a4 b4 c5 | d5 1 | e5 1"


def test_bars_become_a_phrase_that_starts_at_nought():
    cut = section(phrase_of(LINE), 2, 3)
    assert [(e.onset, e.midi) for e in cut.events] == [(0, (67,)), (1, (69,)), (2, (71,)), (3, (72,)), (4, (74,))]
    assert cut.end == 8


def test_the_pickup_alone_and_with_its_bar():
    phrase = phrase_of("g4 1/4 c5 1/4 d5 e5 f5 g5 1", pickup=F(1))
    assert section(phrase, 0, 0).pickup == 1
    assert section(phrase, 0, 1).pickup == 1
    assert section(phrase, 1, 1).pickup == 0
    assert [e.midi[0] for e in section(phrase, 1, 1).events] == [72, 74, 76, 77]


def test_tempo_and_metre_in_force_are_kept():
    phrase = phrase_of(
        "c4 1 d4 3/4 e4 3/4",
        metres=(Metre(F(0), 4, 4), Metre(F(4), 3, 4)),
        tempos=(Tempo(F(0), 60.0), Tempo(F(2), 90.0), Tempo(F(7), 120.0)),
    )
    cut = section(phrase, 2, 3)
    assert cut.metres == (Metre(F(0), 3, 4),)
    assert cut.tempos == (Tempo(F(0), 90.0), Tempo(F(3), 120.0))


def test_parts_are_cut_and_repeats_inside_kept():
    phrase = phrase_of(
        LINE,
        parts=(Part("a", F(0), F(6)), Part("b", F(6), F(16))),
        repeats=(Repeat(F(4), F(8)), Repeat(F(12), F(16))),
    )
    cut = section(phrase, 2, 3)
    assert cut.parts == (Part("a", F(0), F(2)), Part("b", F(2), F(8)))
    assert cut.repeats == (Repeat(F(0), F(4)),)
    assert cut.left_out == ()


def test_what_comes_only_after_the_stretch_is_listed_no_longer():
    phrase = phrase_of("c4 d4 e4 f4 g4 a4")
    placed = tuple(replace(event, place=Place(bar=101 + at // 2)) for at, event in enumerate(phrase.events))
    before, inside = LeftOut("trills", Place(bar=101), 9), LeftOut("slurs", Place(bar=102))
    after, nowhere = LeftOut("turns", Place(bar=103)), LeftOut("voice", values=(("name", "alto"),))
    phrase = replace(phrase, events=placed, left_out=(before, after, inside, nowhere))
    assert trimmed(phrase, F(2), F(4)).left_out == (before, inside, nowhere)


def test_what_does_not_fit_is_listed():
    phrase = phrase_of("c4 2 d4 1", repeats=(Repeat(F(0), F(8)),))
    cut = section(phrase, 2, 3)
    assert [e.midi for e in cut.events] == [(62,)]
    assert cut.left_out == (
        LeftOut("held-over", NOWHERE, 1), LeftOut("open-repeat", NOWHERE, 1)
    )  # fmt: skip


def test_a_stretch_inside_a_bar_begins_with_a_pickup_and_keeps_swing_in_step():
    phrase = phrase_of("c4 1/8 d4 e4 f4 g4 1/2 a4 1", swing=F(2), tempos=(Tempo(F(0), 60.0),))
    cut = trimmed(phrase, F(1, 2), F(8))
    assert cut.pickup == F(7, 2)
    assert [bar.end for bar in bars(cut)][:2] == [F(7, 2), F(15, 2)]
    whole, part = timing_of(phrase), timing_of(cut)
    assert part.seconds_at(1) == pytest.approx(whole.seconds_at(F(3, 2)) - whole.seconds_at(F(1, 2)))


def test_a_note_over_the_end_is_cut_there():
    assert section(phrase_of("c4 2"), 1, 1).events[0].duration == 4


@pytest.mark.parametrize(("first", "last"), [(0, 1), (2, 9), (3, 2)])
def test_bars_that_are_not_there(first, last):
    with pytest.raises(PhraseError, match="has bars 1 to 4"):
        section(phrase_of(LINE), first, last)


def test_the_only_bar_is_named():
    with pytest.raises(PhraseError, match="no bars 2 to 3: the phrase has only bar 1"):
        section(phrase_of("c4 1"), 2, 3)


def test_bars_of_nothing():
    with pytest.raises(PhraseError, match="an empty phrase"):
        section(phrase_of(""), 1, 1)


def test_an_empty_stretch():
    with pytest.raises(PhraseError, match="from beat 4 to 4"):
        trimmed(phrase_of(LINE), F(4), F(4))


def test_what_is_left_of_a_beat_whose_triplet_is_cut_off_is_still_straight():
    triplet_then_half = phrase_of("c4 1/24 d4 1/12 e4 1/16 f4 g4 1/8 a4", swing=F(2), tempos=(Tempo(F(0), 60.0),))
    whole = timing_of(triplet_then_half)
    cut = trimmed(triplet_then_half, F(1, 2), F(2))
    for onset in (F(0), F(1, 4), F(1, 2), F(1)):
        expected = whole.seconds_at(onset + F(1, 2)) - whole.seconds_at(F(1, 2))
        for played in (cut, performed(cut)):
            assert timing_of(played).seconds_at(onset) - timing_of(played).seconds_at(F(0)) == pytest.approx(expected)
    assert trimmed(triplet_then_half, F(0), F(2)).straight == ()


def numbered(line: str, numbers: list[int]):
    """A phrase of one note a bar, whose bars have these numbers in their source."""
    phrase = phrase_of(line)
    events = (replace(one, place=Place(bar=number)) for one, number in zip(phrase.events, numbers, strict=True))
    return replace(phrase, events=tuple(events))


@pytest.mark.parametrize(
    ("first", "last", "midi"),
    [(1, 1, [60]), (1, 3, [60, 62, 64]), (2, 4, [62, 69]), (4, 4, [69]), (4, 5, [69, 71]), (3, 4, [64])],
)
def test_bars_are_those_that_the_source_numbers(first, last, midi):
    # 1 2 3 | 1 2 4 5, as a repeat with two endings is written out
    phrase = numbered("c4 1 d4 1 e4 1 c4 1 d4 1 a4 1 b4 1", [1, 2, 3, 1, 2, 4, 5])
    assert [one.midi[0] for one in section(phrase, first, last).events] == midi
    with pytest.raises(PhraseError, match="bars 1 to 5"):
        section(phrase, 4, 6)


def test_a_source_whose_numbers_begin_later_and_bars_without_notes():
    phrase = numbered("c4 1 d4 1 e4 1", [12, 13, 14])
    assert [one.midi[0] for one in section(phrase, 13, 14).events] == [62, 64]
    silent = replace(phrase, events=(phrase.events[0], phrase.events[2]))
    assert [(one.number, one.turn) for one in printed_bars(silent, bars(silent))] == [(12, 1), (13, 1), (14, 1)]


def test_what_is_played_again_knows_the_number_of_its_bar():
    phrase = replace(phrase_of("c4 1 d4 1 e4 1"), repeats=(Repeat(F(0), F(8)),))
    played = performed(phrase)
    assert [one.place.bar for one in played.events] == [1, 2, 1, 2, 3]
    assert [(one.number, one.turn) for one in printed_bars(played, bars(played))] == [
        (1, 1), (2, 1), (1, 2), (2, 2), (3, 1),
    ]  # fmt: skip


def test_what_the_lead_leaves_out_is_placed_by_the_numbers_of_the_source():
    phrase = numbered("c4+e4+g4 1 d4 1 c4+e4+g4 1", [7, 8, 7])
    left_out = [one for one in lead_line(phrase, most_notes=1).left_out if one.kind == "under-lead"]
    assert [(one.place.bar, one.count) for one in left_out] == [(7, 4)]


def test_bars_that_lie_where_the_source_counts_on_are_told_with_their_neighbours():
    phrase = phrase_of("c4 1 d4 1 e4 1")
    events = [replace(one, place=Place(bar=bar)) for one, bar in zip(phrase.events, (1, 2, 40), strict=True)]
    with pytest.raises(PhraseError) as refused:
        section(replace(phrase, events=tuple(events)), 5, 9)
    assert refused.value.key == "phrase.bars_between"
    assert (refused.value.values["before"], refused.value.values["after"]) == (2, 40)
