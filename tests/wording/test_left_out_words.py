"""What is left out of a source, told in every language: every kind, places, what weighs most first, not too much."""

from __future__ import annotations

import pytest

from reedpath.errors import NOWHERE, Place
from reedpath.phrase import LeftOut, left_out_kinds
from reedpath.phrase.version_1 import place_of_text
from reedpath.wording import (
    catalogue_names,
    left_out_blocks,
    left_out_words,
    load_catalogue,
    place_words,
)

EN, FR = load_catalogue("en"), load_catalogue("fr")


def lines(*left_out: LeftOut, language: str = "en", **options: int) -> list[str]:
    blocks = left_out_blocks(left_out, load_catalogue(language), **options)
    return [line for block in blocks for line in block.lines]


@pytest.mark.parametrize("language", catalogue_names())
def test_a_catalogue_has_a_sentence_for_every_kind_and_no_other(language: str) -> None:
    catalogue = load_catalogue(language)
    told = {key.removeprefix("left_out.") for key in catalogue.messages if key.startswith("left_out.")}
    assert told == set(left_out_kinds())


@pytest.mark.parametrize("language", catalogue_names())
def test_every_sentence_holds_its_values_for_one_and_for_many(language: str) -> None:
    catalogue = load_catalogue(language)
    for kind, entry in left_out_kinds().items():
        values = tuple((gap, f"7{gap}") for gap in sorted(entry.gaps))
        for count in (1, 17):
            told = left_out_words(LeftOut(kind, count=count, values=values), catalogue)
            assert all(text in told for _, text in values), kind
            assert "{" not in told, kind
        if "count" in catalogue.messages[f"left_out.{kind}"].gaps:
            assert "17" in told, kind


def test_numbers_agree_in_french() -> None:
    for kind in left_out_kinds():
        if "count" in FR.messages[f"left_out.{kind}"].gaps:
            form = FR.messages[f"left_out.{kind}"].variants[0]
            assert form["one"] != form["other"], kind


@pytest.mark.parametrize(
    ("place", "english", "french"),
    [
        ("bar 1", "bar 1", "mesure 1"),
        ("bar 0, line 6", "pickup, line 6", "levée, ligne 6"),
        ("bar 2, line 6", "bar 2, line 6", "mesure 2, ligne 6"),
        ("line 8, column 3", "line 8, column 3", "ligne 8, colonne 3"),
        ("track 2, channel 10", "track 2, channel 10", "piste 2, canal 10"),
        ("byte 13", "byte 13", "octet 13"),
        ("beat 3.5", "beat 3.5", "temps 3,5"),
        ("2.35 s", "2.35 s", "2,35 s"),
        ("X:8", "tune 8", "air 8"),
        ("X:2 to X:5", "tunes 2 to 5", "airs 2 à 5"),
        ("bar X1", "bar X1", "mesure X1"),
        ("somewhere else", "somewhere else", "somewhere else"),
        ("", "", ""),
    ],
)
def test_places_are_said_in_the_language(place: str, english: str, french: str) -> None:
    where = place_of_text(place)
    assert (place_words(where, EN), place_words(where, FR)) == (english, french)


def test_the_same_thing_in_several_bars_is_told_once_with_its_first_place() -> None:
    under = [LeftOut("under-lead", Place(bar=bar), 2) for bar in (3, 4, 9)]
    assert lines(*under) == ["6 notes under the lead line (first at bar 3)."]
    assert lines(*under, language="fr") == ["6 notes sous la mélodie (première fois\u202f: mesure 3)."]
    assert lines(LeftOut("trills", Place(bar=3))) == ["1 trill (bar 3)."]


def test_of_what_is_doubtful_a_few_places_are_all_named() -> None:
    """Each is to be compared with the recording: knowing the first alone she would look for the others."""

    def doubtful(count: int) -> list[LeftOut]:
        return [LeftOut("doubtful-notes", Place(seconds=10.5 + number)) for number in range(count)]

    says = "notes of the lead that may be misheard"
    assert lines(*doubtful(3)) == [f"3 {says} (10.5 s, 11.5 s and 12.5 s)."]
    assert lines(*doubtful(1)) == ["1 note of the lead that may be misheard (10.5 s)."]
    assert lines(*doubtful(7)) == [f"7 {says} (first at 10.5 s)."]
    assert lines(*doubtful(2), LeftOut("doubtful-notes", NOWHERE)) == [f"3 {says} (first at 10.5 s)."]


def test_a_span_of_tunes_is_no_first_place() -> None:
    assert lines(LeftOut("other-tunes", Place(tune=2, last_tune=50), 49)) == ["49 other tunes (tunes 2 to 50)."]


def test_things_with_other_values_are_told_apart() -> None:
    voices = [LeftOut("voice", NOWHERE, 4, (("name", name),)) for name in ("alto", "bass")]
    assert lines(*voices) == ["Voice alto: 4 notes.", "Voice bass: 4 notes."]


def test_the_weightiest_come_first_and_the_rest_is_a_number() -> None:
    kinds = ("slurs", "lyrics", "trills", "dynamics", "held-over", "staccato", "fermatas", "turns")
    told = lines(*(LeftOut(kind) for kind in kinds), most=4)
    assert told == [
        "1 note held over from before the passage.",
        "1 trill.",
        "1 turn.",
        "And 5 more kinds of things.",
    ]
    assert lines(*(LeftOut(kind) for kind in kinds[:4]), most=4)[-1] == "Lyrics."


def test_what_is_guessed_stands_apart() -> None:
    blocks = left_out_blocks([LeftOut("lengths-from-spacing", Place(line=3, column=4), 8), LeftOut("palm-mute")], FR)
    assert [(block.name, block.title) for block in blocks] == [
        ("left_out", "Laissé de côté dans l’original"),
        ("doubtful", "Deviné ou incertain"),
    ]
    assert left_out_blocks([], FR) == ()


def test_numbers_are_written_as_the_language_writes_them_and_names_are_let_be() -> None:
    loud = LeftOut("recording-too-loud", values=(("percent", "1.5"),))
    assert lines(loud, language="fr") == ["L’enregistrement est trop fort\u202f: 1,5\u202f% en est écrêté."]
    assert lines(LeftOut("part", NOWHERE, 2, (("name", "1.5"),)), language="fr") == ["Partie 1.5\u202f: 2 notes."]


def test_foreign_words_are_told_as_plain_text() -> None:
    (told,) = lines(LeftOut("decoration", Place(bar="1\x1b[2J"), 1, (("name", "a\x1b[31m\nb"),)))
    assert told.isprintable()
