"""Fret tab: lengths from letters, from counts and from spacing."""

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import ReadError
from reedpath.phrase import Metre, Phrase, bars
from reedpath.readers import read_phrase
from support.examples import examples
from support.read_phrases import times


def read(text: str) -> Phrase:
    return read_phrase(text.encode(), format="fret-tab")


def guitar(*bodies: str, name: str = "G") -> str:
    """Systems with the G string filled, one for each body."""
    systems = []
    for body in bodies:
        rest = "".join("|" if character == "|" else "-" for character in body)
        systems.append("\n".join(f"{one}|{body if one == name else rest}|" for one in "eBGDAE"))
    return "\n\n".join(systems)


LETTERS = """\
time: 4/4

   q   e e q q    e e et et et h     q q h
e|--------------|------------------|-------|
B|-----5-8---5~-|-8-5--------------|-------|
G|-7b9----------|-----7--5--7--7==-|-=-----|
D|--------------|------------------|---7---|
A|--------------|------------------|-------|
E|--------------|------------------|-------|
"""


def test_letters_over_the_notes_rests_and_holding():
    phrase = read(LETTERS)
    assert times(phrase) == [
        (0, 1), (1, F(1, 2)), (F(3, 2), F(1, 2)), (3, 1), (4, F(1, 2)), (F(9, 2), F(1, 2)),
        (5, F(1, 3)), (F(16, 3), F(1, 3)), (F(17, 3), F(1, 3)), (6, 3), (9, 1),
    ]  # fmt: skip
    assert phrase.left_out == ()


def test_letters_exactly():
    text = (
        "   q e e et et et q\n"
        "e|-------------------|\n"
        "B|-5-8-5-----------8-|\n"
        "G|-------7--5--7-----|\n"
        "D|-------------------|\n"
        "A|-------------------|\n"
        "E|-------------------|\n"
    )
    assert times(read(text)) == [
        (0, 1), (1, F(1, 2)), (F(3, 2), F(1, 2)), (2, F(1, 3)), (F(7, 3), F(1, 3)), (F(8, 3), F(1, 3)), (3, 1)
    ]  # fmt: skip


def test_a_length_over_no_note_is_a_rest_and_over_signs_of_holding_goes_on():
    text = (
        "   q q q e   q h   h\n"
        "e|-------------------|\n"
        "B|-5---8===--=-------|\n"
        "G|-------------------|\n"
        "D|-------------------|\n"
        "A|-------------------|\n"
        "E|-------------------|\n"
    )
    assert times(read(text)) == [(0, 1), (2, F(5, 2))]


def test_a_hammered_note_without_a_length_takes_the_length_and_the_first_is_a_grace_note():
    text = (
        "   e   e   q   h\n"
        "e|-------------------|\n"
        "B|-5h7-7p5---5/7-----|\n"
        "G|---------7---------|\n"
        "D|-------------------|\n"
        "A|-------------------|\n"
        "E|-------------------|\n"
    )
    phrase = read(text.replace("   q   h\n", "   q h\n"))
    assert [event.midi[0] for event in phrase.events] == [66, 64, 62, 66]
    assert [event.ornaments.graces for event in phrase.events] == [(64,), (66,), (), ()]
    assert phrase.events[3].ornaments.slide_from == 64


def test_dots_and_capitals():
    text = guitar("-7-5-7-5-")
    assert times(read("   Q. E H. Q\n" + guitar("-7--5-7--5-"))) == [(0, F(3, 2)), (F(3, 2), F(1, 2)), (2, 3), (5, 1)]
    assert times(read("   q.. s q q\n" + guitar("-7---5-7-5-"))) == [(0, F(7, 4)), (F(7, 4), F(1, 4)), (2, 1), (3, 1)]
    assert read(text).left_out[0].kind == "lengths-from-spacing"


def test_a_line_of_nothing_but_e_is_a_chord():
    phrase = read("   E       E\n" + guitar("-7---5---7---5---"))
    assert [one.kind for one in phrase.left_out] == ["chord-lines", "lengths-from-spacing"]


def test_the_metre_comes_from_the_lengths_where_none_is_stated():
    phrase = read("   q q q  q h  h. \n" + guitar("-7-5-7|-5-7-|-5---"))
    assert phrase.metres == (Metre(F(0), 3, 4),)


def test_a_short_first_bar_is_a_pickup():
    phrase = read("time: 4/4\n\n   e e  q q h  w\n" + guitar("-5-7|-5-7-5-|-7-"))
    assert phrase.pickup == 1
    assert [bar.onset for bar in bars(phrase)] == [0, 1, 5]


def test_lengths_that_do_not_fill_a_bar_are_said_with_their_line():
    with pytest.raises(ReadError, match="line 3: the lengths of bar 2 make 3 beats, but a bar of 4/4 has 4"):
        read("time: 4/4\n\n   q q h   q h   q q h\n" + guitar("-7-5-7-|-7-5-|-5-7-5-"))


def test_a_note_without_a_length_is_said_with_line_and_column():
    with pytest.raises(ReadError, match="line 4, column 8: no length stands over this note"):
        read("   q     q\n" + guitar("-7---5---5-"))


def test_a_bar_without_lengths_under_a_line_of_lengths():
    with pytest.raises(ReadError, match="no lengths stand over this bar, though line 1 has them"):
        read("   q q h\n" + guitar("-7-5-7-|-7-5-"))


def test_counts_place_the_notes():
    phrase = read("   1 e & a 2 & 3   4\n" + guitar("-5-7-8-7-5-----7-8-"))
    assert [onset for onset, _ in times(phrase)] == [0, F(1, 4), F(1, 2), F(3, 4), 1, F(5, 2), 3]


def test_counts_of_a_triplet_and_of_compound_time():
    phrase = read("   1 trip let 2   3 4\n" + guitar("-5-7----8---7---5-7-"))
    assert [onset for onset, _ in times(phrase)] == [0, F(1, 3), F(2, 3), 1, 2, 3]
    phrase = read("time: 12/8\n\n   1 & a 2 & a 3 4\n" + guitar("-5-7-8-5-7-8-7-5-"))
    assert [onset for onset, _ in times(phrase)] == [0, F(1, 2), 1, F(3, 2), 2, F(5, 2), 3, F(9, 2)]


def test_a_note_on_no_count():
    with pytest.raises(ReadError, match="line 4, column 4: this note falls on no count of its own"):
        read("       1   2   3   4\n" + guitar("-5---7---5-------"))


def test_running_numbers_over_the_bars_are_no_counts():
    two = guitar("-5---7---5---8---|-5---7---5-------")
    phrase = read("   1                 2\n" + two + "\n\n   3                 4\n" + two)
    assert [event.onset for event in phrase.events] == [0, 1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 13, 14]


@pytest.mark.parametrize(
    ("body", "onsets"),
    [
        ("-5-7-8-7-5-7-8-7-", [F(k, 2) for k in range(8)]),
        ("5-7-8-7-5-7-8-7-", [F(k, 2) for k in range(8)]),
        ("-5---7---8---5---", [0, 1, 2, 3]),
        ("--5--7--8--5--", [0, 1, 2, 3]),
        ("-12-10-9--7--", [0, 1, 2, 3]),
        ("-5---7-8-5-------", [0, 1, F(3, 2), 2]),
        ("-5-------7-------", [0, 2]),
        ("-5-7-8-5-7-8-5-7-8-5-7-8-", [F(k, 3) for k in range(12)]),
        ("---------7---5---", [2, 3]),
    ],
)
def test_even_spacing_is_an_even_rhythm(body, onsets):
    rows = ["-5-----7-8-----5-"] if len(body) == 17 else []
    phrase = read(guitar("|".join([body, *rows])))
    assert [event.onset for event in phrase.events if event.onset < 4] == onsets
    assert phrase.left_out[0].kind == "lengths-from-spacing"


def test_notes_ring_until_the_next_or_the_end_of_their_bar():
    phrase = read(guitar("-5---7-----------|---------5-------"))
    assert times(phrase) == [(0, 1), (1, 3), (6, 2)]


def test_the_text_of_bends_may_count_or_not():
    assert [event.onset for event in read(guitar("-7b9-7b9-5----7---")).events] == [0, 1, 2, 3]
    assert [event.onset for event in read(guitar("-7b9r7---5---7---")).events] == [0, 2, 3]


def test_a_narrow_first_bar_is_a_pickup_and_a_stated_one_counts():
    even = "-5---7---8---5---"
    phrase = read(guitar("|".join(["-5---", even, even, even])))
    assert phrase.pickup == 1
    phrase = read("pickup: 1/2\n\n" + guitar("|".join(["-5-7-", even])))
    assert phrase.pickup == F(1, 2)
    assert [event.onset for event in phrase.events][:3] == [0, F(1, 4), F(1, 2)]


def test_without_bar_lines_the_usual_gap_is_an_eighth():
    text = "\n".join(f"{name} {'--5-7-8---5-' if name == 'G' else '-' * 12}" for name in "eBGDAE")
    phrase = read(text)
    assert [event.onset for event in phrase.events] == [0, F(1, 2), 1, 2]
    assert phrase.metres == (Metre(F(0), 4, 4),)


def test_each_system_may_have_its_own_way():
    text = "   q q h\n" + guitar("-5-7-8-") + "\n\n" + guitar("-5---7---8---5---")
    phrase = read(text)
    assert [event.onset for event in phrase.events] == [0, 1, 2, 4, 5, 6, 7]
    assert [(one.kind, one.count) for one in phrase.left_out] == [("lengths-from-spacing", 1)]


@examples(60)
@given(
    st.integers(1, 3),
    st.lists(st.sets(st.integers(0, 15), min_size=1, max_size=12), min_size=2, max_size=4),
    st.integers(0, 2),
)
def test_sixteen_columns_of_a_grid_come_back(scale, sets, lead):
    """Bars typed on a grid of sixteenths, ``scale`` columns each, after ``lead`` dashes."""
    sets = [{0, *each} for each in sets]  # something on the first beat, or the lead cannot be known
    sets[0] |= {1, 3}  # and something on odd sixteenths, or another lead would do as well
    bodies = []
    for each in sets:
        row = ["-"] * (16 * scale)
        for place in each:
            row[place * scale] = "5"
        if scale == 1:
            row = [character for character in row for _ in (0, 1)]
            row[1::2] = ["-"] * 16
        bodies.append("-" * lead + "".join(row))
    phrase = read(guitar("|".join(bodies)))
    expected = [4 * bar + F(place, 4) for bar, each in enumerate(sets) for place in sorted(each)]
    assert [event.onset for event in phrase.events] == expected
