from __future__ import annotations

import pytest

from reedpath.errors import SettingsError
from reedpath.wording import load_catalogue

EN, FR = load_catalogue("en"), load_catalogue("fr")


def test_forms_by_number() -> None:
    assert [EN.say("hole.count", count=count) for count in (0, 1, 2)] == ["0 holes", "1 hole", "2 holes"]
    assert [FR.say("hole.count", count=count) for count in (0, 1, 2)] == ["0 trou", "1 trou", "2 trous"]
    assert FR.say("harp.cents", count=1.5) == "1,5 cent"
    assert EN.say("harp.cents", count=1.5) == "1.5 cents"
    assert EN.say("harp.cents", count=1.0) == "1 cent"


def test_exact_numbers_come_before_forms() -> None:
    assert [EN.say("times.count", count=count) for count in (1, 2, 3, 13)] == [
        "once",
        "twice",
        "three times",
        "13 times",
    ]


def test_variants_are_counted_round() -> None:
    first, second = EN.say("lead.again", place="4 draw"), EN.say("lead.again", variant=1, place="4 draw")
    assert first != second
    assert EN.say("lead.again", variant=2, place="4 draw") == first
    assert EN.variants("lead.again") == 2


def test_values_must_be_those_of_the_gaps() -> None:
    with pytest.raises(ValueError, match=r"message 'hole.number' needs \['hole'\], not \['holes'\]"):
        EN.say("hole.number", holes="4")
    with pytest.raises(ValueError, match=r"has no message 'no\.such'"):
        EN.say("no.such")
    with pytest.raises(ValueError, match=r"the count of message 'hole\.count' is a number, not 'two'"):
        EN.say("hole.count", count="two")
    assert not EN.has("no.such")


def test_a_value_with_braces_stays_as_it_is() -> None:
    assert EN.say("sheet.title", title="{harp} {x}") == "Lesson: {harp} {x}"


def test_numbers() -> None:
    assert (EN.number(1.25), FR.number(1.25), EN.number(3.0), EN.number(-2)) == ("1.25", "1,25", "3", "−2")
    assert FR.number(2 / 3, decimals=2) == "0,67"
    assert (EN.number_word(3), FR.number_word(3), EN.number_word(99), EN.number_word(1.5)) == (
        "three",
        "trois",
        "99",
        "1.5",
    )


def test_ordinals() -> None:
    assert [EN.ordinal(n) for n in (1, 2, 3, 4, 11, 12, 13, 21, 22, 101, 111)] == [
        "1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st", "22nd", "101st", "111th",
    ]  # fmt: skip
    assert [FR.ordinal(n) for n in (1, 2, 21)] == ["1re", "2e", "21e"]
    assert EN.ordinal_words("part", 2) == "the second part"
    assert FR.ordinal_words("part", 2) == "la deuxième partie"
    assert EN.ordinal_words("part", 23) == "the 23rd part"
    assert FR.ordinal_words("part", 23) == "la 23e partie"
    with pytest.raises(ValueError, match="counts no 'fish' number 1"):
        EN.ordinal_words("fish", 1)
    with pytest.raises(ValueError, match="counts no 'part' number 0"):
        EN.ordinal_words("part", 0)


def test_lists() -> None:
    assert [EN.join(list(range(1, n + 1))) for n in range(5)] == ["", "1", "1 and 2", "1, 2 and 3", "1, 2, 3 and 4"]
    assert FR.join(["a", "b", "c"]) == "a, b et c"
    assert EN.join(["C", "G"], link="or") == "C or G"
    assert EN.join(["{b}", "x", "{a}"]) == "{b}, x and {a}"


def test_sentences() -> None:
    assert EN.sentence(" let it go ") == "Let it go."
    assert EN.sentence("as the first part:") == "As the first part:"
    assert FR.sentence("à nouveau") == "À nouveau."


def test_notes() -> None:
    assert [EN.note(midi) for midi in (60, 61, 66, 70, 71)] == ["C", "D♭", "F♯", "B♭", "B"]
    assert EN.note(70, spoken=True) == "B flat"
    assert EN.note_with_octave(69) == "A4"
    sung = load_catalogue("fr", notes="solfege")
    assert [sung.note(midi) for midi in (60, 61, 66, 70, 71)] == ["do", "ré♭", "fa♯", "si♭", "si"]
    assert sung.note(70, spoken=True) == "si bémol"
    assert FR.note_styles == ("solfege", "letters")
    with pytest.raises(SettingsError, match="English names no notes in the way 'solfege'") as caught:
        EN.with_notes("solfege")
    assert caught.value.hint == "use letters"
