"""Errors as they are told in English: a place, what is wrong there, and what to do."""

from __future__ import annotations

from fractions import Fraction

import pytest

from reedpath.errors import Clause, Place, ReadError, SettingsError, Term, TuningError, clean_text, plain_text
from reedpath.errors.english import ErrorMessage, english_message, in_english, parse_messages


def test_what_is_wrong_stands_after_its_place_and_what_to_do_apart():
    error = TuningError("harp.unknown_tuning", where=Place(file="mine.toml", line=3), name="x", known=["a", "b"])
    assert error.key == "harp.unknown_tuning"
    assert error.message == "there is no tuning named 'x'"
    assert str(error) == "mine.toml, line 3: there is no tuning named 'x'"
    assert error.hint == "the tunings are a, b"
    placeless = ReadError("readers.empty")
    assert str(placeless) == placeless.message == "the source is empty"
    assert placeless.hint is None


def test_an_error_told_as_one_of_another_kind_keeps_its_place_and_values():
    error = SettingsError.like(TuningError("harp.unknown_tuning", where=Place(line=3), name="x", known=["a"]))
    assert isinstance(error, SettingsError)
    assert (str(error), error.hint) == ("line 3: there is no tuning named 'x'", "the tunings are a")
    assert error.inside(Place(file="f.toml")) is error
    assert error.where == Place(file="f.toml", line=3)


@pytest.mark.parametrize(
    ("narrow", "wide", "joined"),
    [
        (Place(line=3), Place(file="a.txt"), Place(file="a.txt", line=3)),
        (Place(line=3), Place(line=7, column=2), Place(line=3, column=2)),
        (Place(file="in.xml"), Place(file="a.zip"), Place(file="a.zip, in.xml")),
        (Place(file="in.xml"), Place(), Place(file="in.xml")),
        (Place(field="reeds"), Place(field="harp"), Place(field="harp.reeds")),
        (Place(field="[3]"), Place(field="reeds"), Place(field="reeds[3]")),
        (Place(bar=0, byte=0), Place(bar=4), Place(bar=0, byte=0)),
        (Place(), Place(part="P1", tune=2), Place(part="P1", tune=2)),
    ],
)
def test_a_place_within_a_wider_one(narrow: Place, wide: Place, joined: Place):
    assert narrow.inside(wide) == joined


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (Place(), ""),
        (Place(file="a.abc", tune=2, bar=7, line=12), "a.abc, tune 2, bar 7, line 12"),
        (Place(tune=2, last_tune=5), "tunes 2 to 5"),
        (Place(tune=2, last_tune=2), "tune 2"),
        (Place(bar=0, beat=1.5), "pickup, beat 1.5"),
        (Place(byte=0), "byte 0"),
        (Place(bar="12a"), "bar 12a"),
        (Place(track=1, channel=10), "track 1, channel 10"),
        (Place(part="Flute", seconds=2.0, hole=4, field="blow[3]"), "part 'Flute', 2 s, hole 4, 'blow[3]'"),
    ],
)
def test_places_in_words(place: Place, words: str):
    assert in_english(place) == words
    assert bool(place) == bool(words)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (1234567, "1,234,567"),
        (10**15, "10^15"),
        (-(10**15) + 1, "-999,999,999,999,999"),
        pytest.param(10**5000, "10^5000", id="vast"),
        (0.1 + 0.2, "0.3"),
        (Fraction(3, 1), "3"),
        (Fraction(-3, 2000), "-3/2,000"),
        (["a", "b"], "a, b"),
        ([], "none"),
        ("two\nlines", "two lines"),
        ("x" * 241, "x" * 239 + "…"),
        (Term("a-list"), "a list"),
        ([Clause("harp.bent", breath=Term("draw"), semitones=2)], "draw bent 2 semitones"),
    ],
)
def test_values_in_words(value: object, words: str):
    assert in_english(value) == words


def test_messages_of_a_file():
    messages = parse_messages('plain = "no {thing}"\nhelpful = { says = "no {thing}", hint = "write {other}" }\n')
    assert messages["plain"] == ErrorMessage("no {thing}")
    assert messages["helpful"].gaps == {"thing", "other"}
    for key in ("harp.nothing_of_the_kind", "no_room.empty"):
        with pytest.raises(KeyError):
            english_message(key)


def test_foreign_words_on_one_line():
    assert plain_text("  a \x00 b\u2028c  ") == "a b c"
    assert plain_text("abcdef", most=6) == "abcdef"
    # no blank before the sign that more follows
    assert plain_text("a bc def", most=6) == "a bc…"
    assert plain_text("long " * 20) == ("long " * 12)[:59].rstrip() + "…"
    # an endless text is not gone through to its end
    assert plain_text(" " * 1000 + "x") == ""


def test_foreign_words_as_they_can_be_written_anywhere():
    assert clean_text("a  b") == "a  b"
    assert clean_text("a\tb\n\nc") == "a b c"
    assert clean_text("\x1b]0;title\x07Solo\x1b[1;31m in E\x9b0m") == "Solo in E"
    assert clean_text("\udcc3\udca9t\udcc3\udca9\n") == "été"
    assert clean_text("\udcff\n") == ""
    # joiners make letters and pictures of some scripts; alone they change nothing
    assert clean_text("\u0915\u094d\u200d\u0937") == "\u0915\u094d\u200d\u0937"
    assert clean_text("\u0915\u200d\n\u202eb") == "\u0915\u200d b"
