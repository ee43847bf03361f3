"""Writing and reading moves as tab."""

import pytest
from hypothesis import given

from reedpath.errors import NotationError
from reedpath.harp import (
    Alteration,
    Breath,
    Embouchure,
    Move,
    check_move,
    format_move,
    load_notation,
    load_tuning,
    notation_names,
    parse_move,
    parse_tuning,
    reach_of,
    tuning_names,
)
from support.examples import examples
from support.spent_bytes import many_from_bytes

BLOW, DRAW = Breath.BLOW, Breath.DRAW
TUCK = Embouchure.TONGUE
TWELVE = parse_tuning(
    'blow = ["C4","E4","G4","C5","E5","G5","C6","E6","G6","C7","E7","G7"]\n'
    'draw = ["D4","G4","B4","D5","F5","A5","B5","D6","F6","A6","B6","D7"]',
    name="twelve",
)


def bend(hole, breath, depth):
    return Move((hole,), breath, Alteration.BEND, -depth)


@pytest.mark.parametrize("notation", notation_names())
def test_every_move_of_every_tuning_comes_back(notation):
    for tuning in (*map(load_tuning, tuning_names()), TWELVE):
        reach = reach_of(tuning)
        for move in (*reach.single, *reach.multiple):
            check_move(move, tuning)
            for ascii_only in (False, True):
                text = format_move(move, notation, ascii_only=ascii_only)
                assert not ascii_only or text.isascii(), tuning.name
                assert parse_move(text, notation, tuning=tuning) == move, tuning.name


@pytest.mark.parametrize("notation", notation_names())
def test_no_two_moves_are_written_alike(notation):
    reach = reach_of(load_tuning("natural-minor-first"))
    moves = (*reach.single, *reach.multiple)
    assert len({format_move(move, notation) for move in moves}) == len(moves)


# Worked rows of the tab table: blow, draw, semitone, whole tone, tone and a half (gufosaggio.net for the
# apostrophes; letters: common practice, no source)
@pytest.mark.parametrize(
    ("notation", "written"),
    [
        ("sign", "+4 -4 -4' -3'' -3''' +6o -7o -(1 2 3) -1/4"),
        ("letters-en", "4B 4D 4D' 3D'' 3D''' 6OB 7OD (1 2 3)D 1/4D"),
        ("letters-fr", "4S 4A 4A' 3A'' 3A''' 6OB 7OD (1 2 3)A 1/4A"),
        ("letters-de", "4B 4Z 4Z' 3Z'' 3Z''' 6OB 7OD (1 2 3)Z 1/4Z"),
        ("arrow", "↑4 ↓4 ↓4' ↓3'' ↓3''' ↑6o ↓7o ↓(1 2 3) ↓1/4"),
        ("bracket", "4 (4) (4') (3'') (3''') 6o (7o) (1+2+3) (1/4)"),
    ],
)
def test_each_notation_writes_as_it_is_taught(notation, written):
    moves = [
        Move((4,), BLOW),
        Move((4,), DRAW),
        bend(4, DRAW, 1),
        bend(3, DRAW, 2),
        bend(3, DRAW, 3),
        Move((6,), BLOW, Alteration.OVERBLOW, 3),
        Move((7,), DRAW, Alteration.OVERDRAW, 2),
        Move((1, 2, 3), DRAW),
        Move((1, 4), DRAW, embouchure=TUCK),
    ]
    assert " ".join(format_move(move, notation) for move in moves) == written


@pytest.mark.parametrize(
    ("text", "notation", "move"),
    [
        # look-alike characters
        ("−4", "sign", Move((4,), DRAW)),
        ("–4", "sign", Move((4,), DRAW)),
        ("＋4", "sign", Move((4,), BLOW)),
        ("－４", "sign", Move((4,), DRAW)),
        ("-3’’", "sign", bend(3, DRAW, 2)),
        ('-3"', "sign", bend(3, DRAW, 2)),
        ("-3”’", "sign", bend(3, DRAW, 3)),
        ("-3″", "sign", bend(3, DRAW, 2)),
        ("-3‴", "sign", bend(3, DRAW, 3)),
        ("-3´", "sign", bend(3, DRAW, 1)),
        ("6°", "sign", Move((6,), BLOW, Alteration.OVERBLOW, 3)),
        # the letter b: a bend where signs rule, blow where letters do
        ("-4b", "sign", bend(4, DRAW, 1)),
        ("-3bb", "sign", bend(3, DRAW, 2)),
        ("4b", "sign", bend(4, BLOW, 1)),
        ("-4♭", "sign", bend(4, DRAW, 1)),
        ("4b", "letters-en", Move((4,), BLOW)),
        ("4b", "letters-de", Move((4,), BLOW)),
        ("4d'", "letters-en", bend(4, DRAW, 1)),
        ("4'd", "letters-en", bend(4, DRAW, 1)),
        ("10bb'", "letters-en", bend(10, BLOW, 2)),
        ("10b''", "letters-en", bend(10, BLOW, 2)),
        # ten is a hole, eleven two holes that stand side by side on no harp of ten
        ("10", "sign", Move((10,), BLOW)),
        ("-123", "sign", Move((1, 2, 3), DRAW)),
        ("12", "sign", Move((1, 2), BLOW)),
        ("8910", "sign", Move((8, 9, 10), BLOW)),
        ("910A", "letters-fr", Move((9, 10), DRAW)),
        ("14", "sign", None),
        ("0", "sign", None),
        ("11", "sign", None),
        # ranges
        ("1-4", "sign", None),
        ("-1-4", "sign", None),
        ("4-5", "sign", None),
        ("1-4D", "letters-en", None),
        ("(1-4)D", "letters-en", None),
        ("4-5D", "letters-en", Move((4, 5), DRAW)),
        ("1-4 split", "sign", Move((1, 4), BLOW, embouchure=TUCK)),
        ("-1-4 split", "sign", Move((1, 4), DRAW, embouchure=TUCK)),
        ("1–4D chord", "letters-en", Move((1, 2, 3, 4), DRAW)),
        ("(1-4) chord", "bracket", Move((1, 2, 3, 4), DRAW)),
        ("-4 split", "sign", None),
        # several holes
        ("(1 2 3)", "sign", Move((1, 2, 3), BLOW)),
        ("-(1 2 3)", "sign", Move((1, 2, 3), DRAW)),
        ("-[1,2,3]", "sign", Move((1, 2, 3), DRAW)),
        ("(-1 -2 -3)", "sign", Move((1, 2, 3), DRAW)),
        ("(1D 2D)", "letters-en", Move((1, 2), DRAW)),
        ("(-1 2)", "sign", None),
        ("(1 4)D", "letters-en", Move((1, 4), DRAW, embouchure=TUCK)),
        ("(1 2/5)D", "letters-en", Move((1, 2, 5), DRAW, embouchure=TUCK)),
        ("-(3 2 1)", "sign", None),
        ("-(1 1)", "sign", None),
        ("(1 2)'", "sign", None),
        # breath said by brackets
        ("(4)", "bracket", Move((4,), DRAW)),
        ("[4]", "bracket", Move((4,), DRAW)),
        ("④", "bracket", Move((4,), DRAW)),
        ("⑩'", "bracket", bend(10, DRAW, 1)),
        ("(4)'", "bracket", bend(4, DRAW, 1)),
        ("(1 2 3)", "bracket", Move((1, 2, 3), DRAW)),
        ("123", "bracket", Move((1, 2, 3), BLOW)),
        ("(4)", "sign", None),
        # overbends without a breath: the hole tells
        ("6o", "sign", Move((6,), BLOW, Alteration.OVERBLOW, 3)),
        ("7o", "sign", Move((7,), DRAW, Alteration.OVERDRAW, 2)),
        ("6OB", "sign", Move((6,), BLOW, Alteration.OVERBLOW, 3)),
        ("7od", "letters-en", Move((7,), DRAW, Alteration.OVERDRAW, 2)),
        ("6ÜB", "letters-de", Move((6,), BLOW, Alteration.OVERBLOW, 3)),
        # arrows on either side
        ("4↑", "arrow", Move((4,), BLOW)),
        ("3↓''", "arrow", bend(3, DRAW, 2)),
        ("⇩3", "arrow", Move((3,), DRAW)),
        ("v3'", "arrow", bend(3, DRAW, 1)),
        ("↑4", "arrow-reversed", Move((4,), DRAW)),
        ("4", "sign-plain-draw", Move((4,), DRAW)),
        # names of notes, words, nothing
        ("Bb4", "sign", None),
        ("B", "letters-de", None),
        ("", "sign", None),
        ("split", "sign", None),
        ("²", "sign", None),
        ("-(² ³)", "sign", None),
        ("٣", "sign", None),
        ("(" * 70, "sign", None),
        ("1" * 81, "sign", None),
        ("-1-99 chord", "sign", None),
    ],
)
def test_what_people_type(text, notation, move):
    if move is not None:
        assert parse_move(text, notation) == move
    else:
        with pytest.raises(NotationError):
            parse_move(text, notation)


def test_twelve_is_a_hole_where_there_are_twelve():
    assert parse_move("12", tuning=TWELVE).holes == (12,)
    assert parse_move("12").holes == (1, 2)
    assert parse_move("1112", tuning=TWELVE).holes == (11, 12)


@pytest.mark.parametrize(
    ("text", "notation", "message"),
    [
        ("-1-4", "sign", "not a move in 'signs"),
        ("1-4D", "letters-en", "1-4 could be a chord or a split"),
        ("14", "sign", "hole 14: 14 is neither a hole of a harp with 10"),
        ("-(9 11)", "sign", "hole 11: there is no hole 11: this harp has 10"),
        ("-6o", "sign", "hole 6: no overdraw here, only blow, draw, draw bent 1 semitone, overblow"),
        ("(4)", "sign", "brackets hold several holes together here"),
        ("(1 2)'", "sign", "hole 1: only a single hole is bent"),
        ("(1 2)o", "sign", "hole 1: only a single hole overblows"),
        ("-4 split", "sign", "'-4 split' is not a split"),
        ("-1/4 chord", "sign", "hole 1: '-1/4 chord' is not a chord"),
        ("012", "sign", "012 is neither a hole of a harp with 10 nor a run of neighbouring holes"),
        ("1" * 90, "sign", "too long for one move: 90 characters"),
    ],
)
def test_what_cannot_be_read_is_told_why(text, notation, message):
    with pytest.raises(NotationError, match=message):
        parse_move(text, notation)


def test_hints_say_what_to_write():
    with pytest.raises(NotationError) as caught:
        parse_move("4+5-6", "sign")
    assert "put a space between notes" in caught.value.hint
    with pytest.raises(NotationError) as caught:
        parse_move("?", "letters-fr")
    assert "1S for blow, 1A for draw, 1A' for a bend" in caught.value.hint
    for name in ("B", "Bb4", "g#5", "A-1"):
        with pytest.raises(NotationError) as caught:
            parse_move(name, "sign")
        assert "a letter first is the name of a note" in caught.value.hint, name


# Breath and bend that contradict each other on a standard harp: bends are drawn on holes 1-4 and 6, blown on
# 8-10 (derived from the two-reed rule; Bahnson et al. 1998)
@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("-5'", "hole 5: no draw bent 1 semitone here, only blow, draw, draw bent less than 1 semitone, over"),
        ("+4'", "hole 4: no blow bent 1 semitone here, only blow, draw, draw bent 1 semitone, overblow"),
        ("-9'", "hole 9: no draw bent 1 semitone here, only blow, draw, blow bent 1 semitone, overdraw"),
        ("-3''''", "hole 3: no draw bent 4 semitones here, only .*draw bent 3 semitones"),
        ("-4½'", "hole 4: no draw bent less than 1 semitone here"),
        ("-1/7", "hole 1: a split spans up to 5 holes, not 7"),
    ],
)
def test_a_move_that_no_standard_harp_plays_is_told_what_the_hole_can(text, message):
    with pytest.raises(NotationError, match=message):
        check_move(parse_move(text), load_tuning("standard"))


def test_a_move_beyond_the_last_hole():
    with pytest.raises(NotationError, match="hole 11: there is no hole 11: this harp has 10"):
        check_move(Move((10, 11), BLOW), load_tuning("standard"))


def test_the_tongue_may_play_a_single_hole():
    check_move(Move((4,), DRAW, Alteration.BEND, -1, TUCK), load_tuning("standard"))


SIGNS = "0123456789+-−'’\"bBdDoOSAZ()[]/&,. ½q↑↓^v①splitchord"


def typed(drawn):
    return drawn.pick(notation_names()), "".join(drawn.picks(SIGNS, most=14))


@examples(30)
@given(many_from_bytes(typed, size=16))
def test_whatever_is_typed_is_read_or_refused(pieces):
    for notation, text in pieces:
        try:
            move = parse_move(text, notation)
        except NotationError:
            continue
        assert parse_move(format_move(move, notation), notation) == move


def test_a_notation_value_serves_as_well_as_its_name():
    assert parse_move("4A", load_notation("letters-fr")) == Move((4,), DRAW)


def test_signed_holes_in_brackets_are_a_chord_or_a_split():
    assert parse_move("(-1 -2 -3)") == Move((1, 2, 3), DRAW)
    assert parse_move("(-1 -4)") == Move((1, 4), DRAW, embouchure=TUCK)
    assert parse_move("(+2 +3 +4)") == Move((2, 3, 4), BLOW)


@pytest.mark.parametrize("text", ["(+4+5)", "(-4-5)", "(4+5)", "(+4 +5)"])
def test_a_chord_whose_holes_carry_their_signs(text):
    assert parse_move(text, "sign") == parse_move("-(4 5)" if "-" in text else "(4 5)", "sign")


@pytest.mark.parametrize("text", ["(+4-5)", "(-5-4)", "(4-6)"])
def test_signs_in_brackets_that_are_no_chord(text):
    with pytest.raises(NotationError):
        parse_move(text, "sign")
