"""Errors in the language asked for: what closes a gap, the place before them, the word on what to do."""

from __future__ import annotations

import re
from fractions import Fraction
from importlib.resources import files

import pytest
from msgspec.structs import replace

from reedpath.errors import Clause, Place, ReadError, ReedpathError, Term, TuningError
from reedpath.wording import error_hint, error_words, load_catalogue, place_words

EN, FR = load_catalogue("en"), load_catalogue("fr")


def no_json(problem: object) -> ReedpathError:
    """An error with a single gap, which a value of any kind may close."""
    return ReadError("data.no_json", problem=problem)


@pytest.mark.parametrize(
    ("value", "english", "french"),
    [
        ("it's <x>", "it's <x>", "it's <x>"),
        (7, "7", "7"),
        (-2500, "-2,500", "−2\u202f500"),
        (1.5, "1.5", "1,5"),
        (Fraction(-3, 2), "-3/2", "−3/2"),
        (Term("draw"), "draw", "aspiré"),
        (Place(bar=3, line=2), "bar 3, line 2", "mesure 3, ligne 2"),
        (Place(bar=0), "pickup", "levée"),
        ([1, 2], "1, 2", "1, 2"),
        ([], "none", "rien"),
        ([Term("blow"), "x"], "blow, x", "soufflé, x"),
        (
            Clause("harp.bent", breath=Term("draw"), semitones=2),
            "draw bent 2 semitones",
            "aspiré altéré de 2 demi-tons",
        ),
    ],
)
def test_a_value_is_told_as_the_language_tells_it(value: object, english: str, french: str) -> None:
    assert error_words(no_json(value), EN) == f"not JSON: {english}"
    assert error_words(no_json(value), FR) == f"ce n’est pas du JSON\u202f: {french}"


def test_the_place_comes_first_and_the_word_on_what_to_do_apart() -> None:
    error = TuningError("harp.unknown_tuning", where=Place(file="mine.toml"), name="x", known=["a", "b"])
    assert error_words(error, EN) == "mine.toml: there is no tuning named 'x'"
    assert error_hint(error, EN) == "the tunings are a, b"
    assert error_words(error, FR) == "mine.toml\u202f: aucun accordage ne s’appelle «\u202fx\u202f»"
    assert error_hint(error, FR) == "les accordages sont a, b"


def test_an_error_that_no_word_helps_has_no_hint_and_one_without_a_place_no_place() -> None:
    assert error_words(ReadError("readers.empty"), FR) == "la source est vide"
    assert [error_hint(ReadError("readers.empty"), language) for language in (EN, FR)] == [None, None]


def test_a_language_without_messages_of_its_own_tells_the_english_ones() -> None:
    elsewhere = replace(FR, name="elsewhere")
    error = TuningError("harp.unknown_tuning", where=Place(line=4), name="x", known=["a"])
    assert error_words(error, elsewhere) == error_words(error, EN) == "line 4: there is no tuning named 'x'"
    assert error_hint(error, elsewhere) == "the tunings are a"


def test_french_addresses_nobody() -> None:
    folder = files("reedpath.wording") / "errors" / "fr"
    said = [
        line for one in sorted(folder.iterdir(), key=str) for line in one.read_text(encoding="utf-8").splitlines()
    ]
    assert len(said) > 100
    # second person: pronouns, and verbs but for words that end alike
    second = re.compile(r"\b(?:[Vv]ous|[Vv]otre|[Vv]os|[Tt]u|[Tt]oi|(?!assez|chez)\w+ez|dites|faites)\b")
    assert [line for line in said if second.search(line)] == []


def test_a_place_is_told_from_the_widest_thing_to_the_smallest() -> None:
    place = Place(file="a.mid", track=2, channel=10, bar=4)
    assert place_words(place, EN) == "a.mid, track 2, channel 10, bar 4"
    assert place_words(place, FR) == "a.mid, piste 2, canal 10, mesure 4"
    assert place_words(Place(), FR) == ""
