"""What a lesson does not hold of its source, on the pages that are handed out."""

from __future__ import annotations

from fractions import Fraction as F

from msgspec.structs import replace

from reedpath.arrange import Change, ChangeKind
from reedpath.errors import NOWHERE
from reedpath.lesson import Lesson, make_lesson
from reedpath.page import change_words, encode_lesson_page, format_left_out
from reedpath.page.handout.contents import contents_of
from reedpath.page.handout.typesetting import load_paper
from reedpath.phrase import LeftOut, Metre
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.routes import phrase_of, route_of

EN, FR = load_catalogue("en"), load_catalogue("fr")
MANY = tuple(LeftOut("voice", NOWHERE, 4, (("name", f"voice {number} <of> \\many"),)) for number in range(9))


def lesson_without(*left_out: LeftOut) -> Lesson:
    route = built_route("2d 3d' 4b")
    return make_lesson(replace(route, phrase=replace(route.phrase, left_out=left_out)))


def test_plain_text_is_wrapped_and_french_colons_stay_with_their_word() -> None:
    told = format_left_out(
        lesson_without(LeftOut("voice", NOWHERE, 4, (("name", "a very long name"),))), catalogue=FR, width=30
    )
    assert told == "\nLaissé de côté dans l’original\n  Voix a very long name\u202f: 4\n    notes.\n"


def test_plain_text_of_nothing_is_nothing() -> None:
    assert format_left_out(lesson_without(), catalogue=EN) == ""


def test_the_hand_out_tells_the_first_few_and_how_many_more() -> None:
    told = contents_of(lesson_without(*MANY), catalogue=EN, paper=load_paper("a4"))["left_out"]
    assert [block["title"] for block in told] == ["Left out of the source"]
    assert told[0]["lines"][0] == "Voice voice 0 <of> \\many: 4 notes."
    assert told[0]["lines"][-1] == "And 4 more kinds of things."
    assert contents_of(lesson_without(), catalogue=EN, paper=load_paper("a4"))["left_out"] == []


def test_every_page_says_how_many_notes_are_rounded() -> None:
    """X:1 M:6/8 (7:2:7zzzzG3|c3 e3|: a septuplet that begins with its pickup inside a beat."""
    phrase = phrase_of("r:4/7 G4:3/7 C5:3/7 E5:3/7", metres=(Metre(F(0), 6, 8),), pickup=F(1))
    lesson = make_lesson(route_of(phrase))
    assert format_left_out(lesson, catalogue=FR) == (
        "\nDeviné ou incertain\n  Le rythme d’une note, arrondi dans la partition à ce qui peut s’écrire\n"
        "    (levée).\n"
    )
    said = "The rhythm of one note, rounded in the score to what can be written (pickup)."
    told = contents_of(lesson, catalogue=EN, paper=load_paper("a4"))["left_out"]
    assert told[0]["lines"] == [said]
    assert said in encode_lesson_page(lesson, sounds=(), languages=("en",)).decode()


def test_a_long_name_can_be_broken_on_the_hand_out() -> None:
    told = contents_of(
        lesson_without(LeftOut("decoration", values=(("name", "x" * 60),))), catalogue=EN, paper=load_paper("a4")
    )
    assert "\u200b" in told["left_out"][0]["lines"][0]


def test_a_change_of_several_notes_agrees_with_its_number() -> None:
    chord = Change(ChangeKind.SILENT, (66, 75), (), 1.0)
    assert change_words(chord, "Mesure 1", FR, spelt=(6, -3)) == "Mesure 1\u202f: fa♯3 et mi♭4 ne sont pas joués"
    assert change_words(Change(ChangeKind.OCTAVE, (82,), (70,), 0.5), "Bar 1", EN, spelt=()) == (
        "Bar 1: B♭5 is played as B♭4"
    )
    both = Change(ChangeKind.HARMONY, (66,), (67, 71), 0.5)
    assert change_words(both, "Mesure 2", FR, spelt=()) == "Mesure 2\u202f: sol3 et si3 remplacent fa♯3"
