"""What the lesson says, against what the trade says and what standards say of languages.

Sources, each again beside its check: the trade facts' table of notations in general use (section 6; rows from
French and German Wikipedia and a French player's article of 2014, the rest common practice); Unicode CLDR as the
babel package carries it (plurals, ordinals, decimal signs, lists); CommonMark as the markdown-it-py package reads
it; the French custom of calling the A of 440 Hz la3 (common practice, no source).
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from importlib.resources import files
from itertools import pairwise

import pytest

from reedpath.harp import Alteration, Breath, Embouchure, Move
from reedpath.lesson import format_steps, make_lesson, steps_of
from reedpath.pitch import Key
from reedpath.wording import catalogue_names, key_words, load_catalogue, move_words, parse_catalogue
from support.built_routes import built_route

pytestmark = pytest.mark.outside

FOUR_BLOW, FOUR_DRAW = Move((4,), Breath.BLOW), Move((4,), Breath.DRAW)


def bent(hole: int, depth: int) -> Move:
    return Move((hole,), Breath.DRAW, Alteration.BEND, -depth)


# trade facts, section 6: hole word, blow, draw, bends of a half, a whole and one and a half steps, overbends kept
# and section 18, from pages of German teachers
TRADE = {
    "de": ["Kanal", "Blaston", "Ziehton", "Halbton", "Ganzton", "Anderthalbton", "Overblow", "Overdraw", "bending"],
    "en": ["hole", "blow", "draw", "half-step", "whole-step", "step-and-a-half", "overblow", "overdraw", "bend"],
    "fr": [
        "trou",
        "soufflé",
        "aspiré",
        "d’un demi-ton",
        "d’un ton",
        "d’un ton et demi",
        "overblow",
        "overdraw",
        "altéré",
    ],
}


@pytest.mark.parametrize("language", TRADE)
def test_moves_are_called_as_the_trade_calls_them(language: str) -> None:
    catalogue = load_catalogue(language)
    hole, blow, draw, half, whole, half_more, overblow, overdraw, bend = TRADE[language]
    assert hole in catalogue.say("hole.number", hole="4")
    assert blow in move_words(FOUR_BLOW, catalogue)
    assert draw in move_words(FOUR_DRAW, catalogue)
    for move, depth in ((bent(4, 1), half), (bent(3, 2), whole), (bent(3, 3), half_more)):
        assert re.search(rf"{depth}(?! et demi)", move_words(move, catalogue))
        assert bend in move_words(move, catalogue)
    assert overblow in move_words(Move((6,), Breath.BLOW, Alteration.OVERBLOW, 3), catalogue)
    assert overdraw in move_words(Move((7,), Breath.DRAW, Alteration.OVERDRAW, 2), catalogue)
    split = Move((1, 4), Breath.BLOW, embouchure=Embouchure.TONGUE)
    assert {"1", "2", "3", "4"} <= set(re.findall(r"\d", move_words(split, catalogue)))


def test_french_speaks_of_altération_as_french_wikipedia_does() -> None:
    # French Wikipedia, "Harmonica diatonique"
    assert load_catalogue("fr").say("alteration.bend") == "altération"


GERMAN_NOTES = """
[key]
major = "{note}-Dur"
minor = "{note}-Moll"
unknown = "Tonart unbekannt"
[notes.letters]
major = ["C", "Des", "D", "Es", "E", "F", "Fis", "G", "As", "A", "B", "H"]
minor = ["c", "cis", "d", "es", "e", "f", "fis", "g", "gis", "a", "b", "h"]
"""


def test_a_german_catalogue_can_name_b_natural_h_and_b_flat_b() -> None:
    # German Wikipedia, "Richter-Harmonika"; minor keys in small letters: common practice, no source
    grammar = (files("reedpath.wording") / "en.toml").read_text(encoding="utf-8").partition("[notes.letters]")[0]
    german = parse_catalogue(grammar + GERMAN_NOTES, name="de")
    assert (german.note(71), german.note(70)) == ("H", "B")
    assert (key_words(Key(10), german), key_words(Key(11, "minor"), german)) == ("B-Dur", "h-Moll")


def test_la3_is_the_a_of_440_hertz_in_french() -> None:
    assert load_catalogue("fr", notes="solfege").note_with_octave(69) == "la3"


@pytest.mark.parametrize("language", catalogue_names())
def test_plurals_and_ordinals_are_those_of_cldr(language: str) -> None:
    babel = pytest.importorskip("babel")
    locale, grammar = babel.Locale(language), load_catalogue(language).grammar
    for number in [*range(0, 1201), 12345]:
        assert grammar.plural.form_of(number) == locale.plural_form(number), number
        assert grammar.ordinal.form_of(number) == locale.ordinal_form(number), number
    for text in ("0.5", "1.5", "1.0", "2.25"):
        from decimal import Decimal

        decimals = len(text.partition(".")[2])
        assert grammar.plural.form_of(float(text), decimals=decimals) == locale.plural_form(Decimal(text)), text


@pytest.mark.parametrize("language", catalogue_names())
def test_numbers_and_lists_are_written_as_cldr_has_them(language: str) -> None:
    pytest.importorskip("babel")
    from babel.lists import format_list
    from babel.numbers import format_decimal

    catalogue = load_catalogue(language)
    assert catalogue.number(1.25) == format_decimal(1.25, locale=language)
    for things in (["4"], ["4", "5"], ["1", "2", "3"], ["1", "2", "3", "4"]):
        for link, style in (("and", "standard"), ("or", "or")):
            cldr = format_list(things, style=style, locale=language)
            # CLDR's American English has the comma before "and"; ours is without, as most of the world writes it
            assert catalogue.join(things, link=link) == re.sub(r", (and|or) ", r" \1 ", cldr)


@pytest.mark.parametrize("language", catalogue_names())
def test_days_are_written_as_cldr_has_them(language: str) -> None:
    pytest.importorskip("babel")
    from babel.dates import format_date

    catalogue = load_catalogue(language)
    for number in range(366):
        day = date(2028, 1, 1) + timedelta(number)
        if day.day > 1:
            assert catalogue.day(day) == format_date(day, "long", locale="en_GB" if language == "en" else language)
    # the first of a month: CLDR has "1", a letter has "1er" and "1º"; common practice, no source
    firsts = {"fr": "1er mai 2028", "it": "1º maggio 2028"}
    first = date(2028, 5, 1)
    assert catalogue.day(first) == firsts.get(
        language, format_date(first, "long", locale="en_GB" if language == "en" else language)
    )


def test_steps_md_is_read_by_commonmark_as_it_is_meant() -> None:
    markdown = pytest.importorskip("markdown_it")
    lesson = make_lesson(
        built_route("2d 3d' 4b 4d 4d 3d' 2d:2 r:1 (1 2 3)d [1 4]b 6bo 5d^1 4d_1 2d:4"),
        title="1. *Coal* &lt; <ash> [x](y) _z_ `w` # | ~",
    )
    tokens = markdown.MarkdownIt("commonmark").parse(format_steps(lesson))
    headings: list[tuple[str, str]] = []
    items: list[str] = []
    for before, token in pairwise(tokens):
        if token.type == "inline":
            plain = "".join(child.content for child in token.children or [] if child.type in ("text", "text_special"))
            assert {child.type for child in token.children or []} <= {"text", "text_special"}
            (headings.append((before.tag, plain)) if before.type == "heading_open" else items.append(plain))
    assert headings[0] == ("h1", lesson.title)
    assert [text for tag, text in headings if tag == "h2"] == ["English", "Français"]
    blocks = [block for language in lesson.languages for block in steps_of(lesson, language)]
    assert [text for tag, text in headings if tag == "h3"] == [block.title for block in blocks]
    assert " ".join(items) == " ".join(step.text for block in blocks for step in block.steps)
