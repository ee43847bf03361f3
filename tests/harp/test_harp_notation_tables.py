"""Notation tables: what ships, and what a wrong table is told."""

import pytest

from reedpath.data import shipped_text
from reedpath.errors import NotationError, SettingsError
from reedpath.harp import (
    Alteration,
    Breath,
    Move,
    format_move,
    load_notation,
    notation_names,
    parse_move,
    parse_notation,
)

SIGN = shipped_text("reedpath.harp", "notations/sign.toml")


def test_the_notations_of_english_french_and_german_teaching_ship():
    assert {"sign", "arrow", "bracket", "letters-en", "letters-fr", "letters-de"} <= set(notation_names())


@pytest.mark.parametrize(
    ("name", "languages"),
    [("letters-en", {"en"}), ("letters-fr", {"fr", "es", "it"}), ("letters-de", {"de"})],
)
def test_letters_say_whose_language_they_are(name, languages):
    assert set(load_notation(name).languages) == languages


@pytest.mark.parametrize("name", notation_names())
def test_every_table_names_its_source(name):
    assert load_notation(name).source


def test_an_unknown_name_lists_the_known_ones():
    with pytest.raises(SettingsError, match="there is no notation named 'signs'") as caught:
        load_notation("signs")
    assert "letters-fr" in caught.value.hint


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("[write]", "[write", "mine.toml: not TOML: "),
        ('title = "', 'titel = "', r"mine.toml, 'titel': there is no such field"),
        ('draw = "-{holes}{marks}"', "", r"'write.draw': this is missing"),
        ('draw = "-{holes}{marks}"', 'draw = "-{marks}"', r"mine.toml, 'write.draw': a template has"),
        ('draw = "-{holes}{marks}"', 'draw = "-{holes}{holes}"', r"mine.toml, 'write.draw': a template has"),
        ('draw = "-{holes}{marks}"', 'draw = "-{holes}{wrong}"', r"mine.toml, 'write.draw': a template has"),
        ('draw = "-{holes}{marks}"', 'draw = "-{holes}marks}"', r"mine.toml, 'write.draw': a template has"),
        ('blow = ["{holes}{marks}"]', 'blow = "{holes}"', r"'read.blow': \"{holes}\" is not a list"),
        ('overdraw = ["{holes}o"', 'overdraw = ["o"', r"mine.toml, 'read.overdraw': a template has"),
        ('chord = "(1 2 3)"', 'chord = "(1 2,3)"', r"'several.chord': .*as in "),
        ('split = "1/4"', 'split = "14"', r"'several.split': .*as in 1/4"),
        ('bend = "\'"', 'bend = ""', r"'marks.bend': this is empty"),
        ("prior = 1.0", "prior = 0", "'prior': 0 is too low: over 0"),
        ('"½\'" = "q\'"', '"½\'" = "½"', r"mine.toml, 'ascii.½'': the substitute must be ASCII, unlike '½'"),
    ],
)
def test_a_wrong_table_is_told_where(old, new, message):
    assert old in SIGN
    with pytest.raises(SettingsError, match=message):
        parse_notation(SIGN.replace(old, new, 1), name="mine")


def test_a_users_own_table_drives_both_directions():
    mine = parse_notation(SIGN.replace('"-{holes}', '"z{holes}').replace('bend = "\'"', 'bend = "!"'), name="mine")
    bend = Move((3,), Breath.DRAW, Alteration.BEND, -2)
    assert format_move(bend, mine) == "z3!!"
    assert parse_move("z3!!", mine) == bend
    with pytest.raises(NotationError, match="not a move"):
        parse_move("-3!!", mine)


def test_the_substitutes_of_arrows_are_plain():
    assert format_move(Move((4,), Breath.BLOW), "arrow", ascii_only=True) == "^4"
    assert format_move(Move((5,), Breath.DRAW, Alteration.BEND, 0), "sign", ascii_only=True) == "-5q'"


def test_of_several_readings_the_one_on_the_harp_counts_else_the_first():
    both = parse_notation(SIGN.replace("draw = []", 'draw = ["+{holes}{marks}"]'), name="both")
    assert parse_move("+(1 2)", both).breath is Breath.BLOW
    # blown, hole 4 does not bend; drawn, it does
    assert parse_move("+4'", both) == Move((4,), Breath.DRAW, Alteration.BEND, -1)
    # neither way does hole 4 bend so far
    assert parse_move("+4''''", both) == Move((4,), Breath.BLOW, Alteration.BEND, -4)
