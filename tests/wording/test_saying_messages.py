from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from msgspec.structs import replace

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


def test_the_name_of_a_file_stays_as_it_is_at_the_start_of_a_sentence():
    assert EN.sentence("solo.txt, line 3: no note") == "solo.txt, line 3: no note."
    assert EN.sentence("a4646b39185771b0.json: this is missing") == "a4646b39185771b0.json: this is missing."
    assert EN.sentence("and so on. then") == "And so on. then."
    assert EN.sentence("4.5 beats") == "4.5 beats."
    assert EN.sentence("let it ring.") == "Let it ring."


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


@pytest.mark.parametrize(
    ("tonic", "names"),
    [
        (None, "C D♭ D E♭ E F F♯ G A♭ A B♭ B"),
        (4, "C C♯ D D♯ E F F♯ G G♯ A A♯ B"),
        (2, "C C♯ D E♭ E F F♯ G G♯ A B♭ B"),
        (3, "C D♭ D E♭ E F G♭ G A♭ A B♭ B"),
    ],
)
def test_notes_are_spelt_as_their_key_asks(tonic: int | None, names: str) -> None:
    assert [EN.note(midi, tonic=tonic) for midi in range(12)] == names.split()
    assert [EN.note(midi, tonic=tonic) for midi in range(120, 132)] == names.split()


def test_a_sharp_or_a_flat_of_the_key_is_said_with_the_note_it_alters() -> None:
    sung = load_catalogue("fr", notes="solfege")
    assert [sung.note(midi, tonic=4) for midi in (68, 63)] == ["sol♯", "ré♯"]
    assert [sung.note(midi, tonic=4, spoken=True) for midi in (68, 70)] == ["sol dièse", "la dièse"]
    assert [sung.note(midi, tonic=1, spoken=True) for midi in (66, 61)] == ["sol bémol", "ré bémol"]
    assert sung.note_with_octave(68, tonic=4) == "sol♯3"


def test_a_note_is_named_as_it_is_written() -> None:
    german = load_catalogue("de")
    assert [
        EN.note(61, tonic=5, spelt=(7,)),
        EN.note(61, tonic=2, spelt=(-5,)),
        EN.note(62, tonic=5, spelt=(7,)),
    ] == [
        "C♯",
        "D♭",
        "D",
    ]
    assert [EN.note_with_octave(59, spelt=(-7,)), EN.note_with_octave(60, spelt=(12,))] == ["C♭4", "B♯3"]
    assert [german.note(61, spelt=(7,)), german.note(61, spelt=(-5,)), german.note(59, spelt=(-7,))] == [
        "Cis",
        "Des",
        "Ces",
    ]


def test_octaves_are_counted_from_c_and_in_french_one_lower() -> None:
    midis = (0, 11, 12, 59, 60, 71, 72, 108, 127)
    letters = ["C-1", "B-1", "C0", "B3", "C4", "B4", "C5", "C8", "G9"]
    assert [EN.note_with_octave(midi) for midi in midis] == letters
    sung = [load_catalogue("fr", notes="solfege").note_with_octave(midi) for midi in midis]
    assert sung == ["do-2", "si-2", "do-1", "si2", "do3", "si3", "do4", "do7", "sol8"]


def test_numbers_and_ordinals_beyond_the_words_are_digits() -> None:
    assert [EN.number_word(n) for n in (0, 12, 13, -1)] == ["no", "twelve", "13", "−1"]
    assert [EN.number(n) for n in (999_999, 1_000_000, 1_234_567, 0.001, -0.5)] == [
        "999999", "1000000", "1234567", "0.001", "−0.5",
    ]  # fmt: skip
    assert FR.number(-1234.5, decimals=1) == "−1234,5"
    assert FR.number(3, decimals=0) == "3"


def test_a_day_is_said_in_words_and_as_a_bare_date_where_a_language_has_none() -> None:
    assert FR.day("2026-11-02") == "2 novembre 2026"
    assert FR.day(date(2026, 11, 1)) == "1er novembre 2026"
    noon = datetime(2026, 11, 2, 12, tzinfo=UTC)
    assert FR.day(noon.isoformat()) == FR.day(noon.astimezone().date())
    bare = replace(FR, grammar=replace(FR.grammar, dates=None))
    assert bare.day("2026-11-02") == "2026-11-02"
    assert [EN.ordinal_words("position", n) for n in (1, 12, 13)] == [
        "first position", "twelfth position", "13th position",
    ]  # fmt: skip
    assert [FR.ordinal_words("part_heading", n) for n in (1, 13)] == ["Première partie", "13e partie"]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [("a", "A."), (" so: ", "So:"), ("x…", "X…"), ("A!", "A!"), ("is it ?", "Is it ?"), ("Done.", "Done.")],
)
def test_a_sentence_has_a_capital_and_one_stop(text: str, sentence: str) -> None:
    assert EN.sentence(text) == sentence
