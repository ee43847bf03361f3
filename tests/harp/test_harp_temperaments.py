"""Temperaments from TOML and from Scala scale files."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import TuningError
from reedpath.harp import (
    EQUAL,
    Temperament,
    format_scl,
    load_temperament,
    make_harp,
    parse_scl,
    parse_temperament,
    temperament_names,
)
from support.examples import examples

LISTED = 'title = "mine"\nsource = "invented"\ncents_off_equal = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, -10, -11.5]\n'
TWELVE = [f" {100 * step + step}.0" for step in range(1, 12)] + [" 2/1"]


def scl(*pitches, count=None, description="invented"):
    return "\n".join(["! mine.scl", "!", description, f" {len(pitches) if count is None else count}", "!", *pitches])


def test_equal_temperament_comes_first_and_is_the_constant():
    assert temperament_names()[0] == "equal"
    assert load_temperament("equal") == EQUAL


@pytest.mark.parametrize("name", temperament_names())
def test_every_temperament_names_its_source_and_keeps_the_key_note(name):
    temperament = load_temperament(name)
    assert temperament.source
    assert temperament.title
    assert temperament.cents[0] == 0.0


def test_a_harp_takes_a_temperament_or_its_name():
    assert make_harp("C", temperament="7-limit-second") == make_harp(
        "C", temperament=load_temperament("7-limit-second")
    )


def test_an_unknown_name_lists_the_known_ones():
    with pytest.raises(TuningError, match="there is no temperament named 'just'") as caught:
        load_temperament("just")
    assert "19-limit-second-third" in caught.value.hint


def test_a_users_cents():
    assert parse_temperament(LISTED, name="mine").cents == (0, 1, 2, 3, 4, 5, 6, 7, 8, 9, -10, -11.5)


def test_a_users_ratios_leave_the_other_steps_equal():
    cents = parse_temperament('[ratios]\n4 = "5/4"\n10 = "7 / 4"', name="mine").cents
    assert [round(value, 2) for value in cents] == [0, 0, 0, 0, -13.69, 0, 0, 0, 0, 0, -31.17, 0]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("[0, 1,", "[1,", "a temperament gives 12 steps, not 11"),
        ("[0, 1,", "[0, '1',", r"'cents_off_equal\[1\]': \"1\" is not a number"),
        ("[0, 1,", "[0, true,", r"'cents_off_equal\[1\]': true is not a number"),
        ("[0, 1,", "[0, 51,", "step 1 lies 51 cents off equal temperament; up to 50"),
        ("[0, 1,", "[0, nan,", "step 1 lies nan cents off"),
        ("[0, 1,", "[0, inf,", "step 1 lies inf cents off"),
        ("cents_off_equal", "cents", "'cents': there is no such field"),
        ('"mine"', "1", "'title': 1 is not a text"),
        ("cents_off", "ratios = {}\ncents_off", "give either cents_off_equal or ratios"),
        (LISTED, "", "give either cents_off_equal or ratios"),
        (LISTED, "ratios = 3", "'ratios': 3 is not an object"),
        (LISTED, '[ratios]\n12 = "2/1"', "'ratios.12': there is no such step; steps are 0 to 11"),
        (LISTED, '[ratios]\n4 = "5:4"', "'ratios.4': '5:4' is not a ratio"),
        (LISTED, '[ratios]\n4 = "5/0"', "'ratios.4': '5/0' is not a ratio"),
        (LISTED, "[ratios]\n4 = 1.25", "'ratios.4': '1.25' is not a ratio"),
        (LISTED, '[ratios]\n4 = "3/2"', r"step 4 lies 301.96 cents off equal temperament"),
        (LISTED, "a = " + "[" * 9_000, "nested too deeply"),
    ],
)
def test_a_wrong_file_is_told_the_field_and_the_step(old, new, message):
    assert old in LISTED
    with pytest.raises(TuningError, match=message):
        parse_temperament(LISTED.replace(old, new, 1), name="mine")


def test_twelve_pitches_are_the_twelve_steps_in_order():
    temperament = parse_scl(scl(*TWELVE), name="mine")
    assert temperament.cents == tuple(float(step) for step in range(12))
    assert temperament.title == "invented"


@pytest.mark.parametrize(
    ("line", "cents"),
    [
        ("5/4", -13.69),
        (" 5/4   E\\", -13.69),
        ("\t 5 / 4", -13.69),
        ("386.3137", -13.69),
        ("386.3137 cents", -13.69),
        ("400.", 0.0),
        ("405.0 ! wide", 5.0),
        ("81/64", 7.82),
        ("156348578434374084375/124093209867282500000", 0.0),
    ],
)
def test_pitches_as_the_format_allows_them(line, cents):
    assert parse_scl(scl(line, "2/1")).cents[4] == pytest.approx(cents, abs=0.3)


def test_seven_notes_fall_on_their_nearest_steps():
    pure = parse_scl(scl("9/8", "5/4", "4/3", "3/2", "5/3", "15/8", "2/1"))
    assert [step for step, cents in enumerate(pure.cents) if cents] == [2, 4, 5, 7, 9, 11]
    assert pure.cents == pytest.approx(load_temperament("5-limit-first").cents)


def test_an_octave_alone_is_equal_temperament():
    assert parse_scl(scl("2")).cents == EQUAL.cents


def test_comments_blank_lines_and_line_ends_do_not_matter():
    text = "\ufeff! a\r\n! b\r\n\r\n! c\r\n 2 notes\r\n! d\r\n3/2\r\n!e\r\n\r\n2/1\r\n! end\r\n\r\n"
    temperament = parse_scl(text, name="mine")
    assert temperament.cents[7] == pytest.approx(1.955, abs=0.001)
    assert temperament.title == "mine"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "line 2: a scale file has a description and a number of notes"),
        ("! only\n! comments", "line 1: a scale file has"),
        (scl("2/1", count="many"), "line 4: the number of notes is wanted, not 'many'"),
        (scl("2/1", count="1.5"), "line 4: the number of notes is wanted"),
        (scl("2/1", count="-1"), "line 4: the number of notes is wanted"),
        (scl("2/1", count="9" * 50), "line 4: the number of notes is wanted"),
        (scl("2/1", count=999999999), "line 4: a scale of 999,999,999 notes says nothing certain"),
        (scl(count=0), "line 4: a scale of 0 notes"),
        (scl(*["3/2"] * 19), "line 4: a scale of 19 notes"),
        (scl("3/2", "2/1", count=3), "line 4: 3 notes are announced, 2 lines follow"),
        (scl("3/2", "2/1", "3/1", count=2), "line 8: 2 notes are announced, more lines follow"),
        (scl("3/2", "two"), "line 7: 'two' is not a pitch"),
        (scl("-3/2", "2/1"), "line 6: '-3/2' is not a pitch"),
        (scl("3/-2", "2/1"), "line 6: '3/-2' is not a pitch"),
        (scl("3//2", "2/1"), "line 6: '3//2' is not a pitch"),
        (scl("3/0", "2/1"), "line 6: '3/0' is not a pitch"),
        (scl("0", "2/1"), "line 6: '0' is not a pitch"),
        (scl("3/2/1", "2/1"), "line 6: '3/2/1' is not a pitch"),
        (scl("1.2.3", "2/1"), "line 6: '1.2.3' is not a pitch"),
        (scl("9" * 40 + "/1", "2/1"), "line 6: '9999.* is not a pitch"),
        (scl("99999999.0", "2/1"), "line 6: 99,999,999 cents are too far from the first note"),
        (scl("3/2", "3/1"), "line 7: the scale repeats at 1901.96 cents, not at the octave"),
        (scl("3/2", "1202.0"), "line 7: the scale repeats at 1202 cents"),
        (scl("3/2", "40/27", "2/1"), "line 7: 680.45 cents would fall on step 7, which is taken already"),
        (scl("-600.0", "2/1"), "line 6: -600 cents would fall on step -6, which lies outside 1 to 11"),
        (scl("10.0", "2/1"), "line 6: 10 cents would fall on step 0, which is taken already"),
        (scl("160.0", *TWELVE[1:]), "line 6: step 1 lies 60 cents off equal temperament"),
        ("x" * 300_000, "300,000 characters are too many for a scale"),
    ],
)
def test_a_wrong_scale_is_told_the_line(text, message):
    with pytest.raises(TuningError, match=message):
        parse_scl(text)


@pytest.mark.parametrize("name", temperament_names())
def test_what_is_written_comes_back(name):
    temperament = load_temperament(name)
    again = parse_scl(format_scl(temperament), name=name)
    assert again.cents == pytest.approx(temperament.cents, abs=1e-6)
    assert again.title == temperament.title


def test_what_is_written_starts_at_its_key_note():
    moved = Temperament("moved", (5.0,) * 12)
    assert parse_scl(format_scl(moved)).cents == pytest.approx((0.0,) * 12)


@examples(60)
@given(st.lists(st.floats(-40, 40), min_size=11, max_size=11), st.text(max_size=30))
def test_any_temperament_survives_its_scale_file(cents, title):
    temperament = Temperament("any", (0.0, *cents), title=title)
    again = parse_scl(format_scl(temperament))
    assert again.cents == pytest.approx(temperament.cents, abs=1e-6)


@examples(150)
@given(st.text(st.sampled_from("0123456789./- \n!abc\r\t"), max_size=200))
def test_any_text_is_a_temperament_or_a_clear_error(text):
    try:
        temperament = parse_scl(text)
    except TuningError as error:
        assert error.where.line  # noqa: PT017 - a refusal names its place
    else:
        assert len(temperament.cents) == 12


@pytest.mark.parametrize("text", ["1" * 190_000, "a\n1\n" + "9" * 190_000, "!\n" * 90_000, "a\n1\n" + "\n" * 190_000])
def test_hostile_scales_are_refused(text):
    with pytest.raises(TuningError):
        parse_scl(text)
