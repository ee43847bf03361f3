"""Harps by the names that players use, and what is told of a move that a harp has not."""

from __future__ import annotations

import pytest

from reedpath.errors import NotationError, TuningError
from reedpath.harp import (
    Alteration,
    Breath,
    Move,
    check_move,
    harp_name_and_rest,
    harp_names,
    load_tuning,
    make_harp,
    parse_temperament,
    parse_tuning,
)

STANDARD = load_tuning("standard")
BLOW, DRAW = Breath.BLOW, Breath.DRAW


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("A C", ("A", "C")), ("A,C,D,Low F", ("A", "C", "D", "Low F")), ("A C Low F", ("A", "C", "Low F")),
        ("F low, G high", ("Low F", "High G")), ("la, do", ("A", "C")), ("la et si bémol", ("A", "Bb")),
        ("fa grave do", ("Low F", "C")), ("B flat A", ("Bb", "A")), ("Bb; Eb / F#", ("Bb", "Eb", "F#")),
        ("C and Db", ("C", "Db")),
        ("A, tief F und H", ("A", "Low F", "B")),
        ("la, fa grave y sol agudo", ("A", "Low F", "High G")),
        ("do e la bemolle", ("C", "Ab")), ("B (B♭), H (B)", ("Bb", "B")),
        ("A, C Low F", ("A", "C", "Low F")), ("la, si bémol et do grave", ("A", "Bb", "Low C")),
        ("G aigu / Bb; F# and D", ("High G", "Bb", "F#", "D")),
        ("", ()), (" , ", ()), ("A, mine", ("A", "mine")),
    ],
)  # fmt: skip
def test_harps_named_in_a_row(text: str, names: tuple[str, ...]) -> None:
    assert harp_names(text) == names


@pytest.mark.parametrize(
    ("text", "name"),
    [("La", "A"), ("low fa", "Low F"), ("fa grave", "Low F"), ("sol aigu", "High G"), ("harmonica en ré", "D")],
)
def test_harps_by_french_names(text: str, name: str) -> None:
    assert make_harp(text) == make_harp(name)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("la grave", ("Low A", "")),
        ("F low, country", ("Low F", ", country")),
        ("high G", ("High G", "")),
        ("sol (G) aigu", ("High G", "")),
        ("C low D", ("C", " low D")),
        ("my best", None),
    ],
)
def test_the_name_at_the_start_of_a_text(text: str, found: tuple[str, str] | None) -> None:
    assert harp_name_and_rest(text) == found


def test_customary_octaves_run_from_g_to_f_sharp() -> None:
    keys = ("G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#")
    assert [make_harp(key).key_midi for key in keys] == list(range(55, 67))
    assert [make_harp(key).key_midi for key in ("Low F", "fa grave", "High G", "sol aiguë")] == [53, 53, 67, 67]
    assert [make_harp(name).name for name in ("harmonica en la", "Bb harp", "Low D")] == ["A", "Bb", "Low D"]
    with pytest.raises(TuningError, match="mine") as caught:
        make_harp("mine")
    assert caught.value.key == "harp.unknown_harp"


def test_reference_and_stretch_are_taken_up_to_their_ends() -> None:
    for a4_hz in (390.0, 490.0):
        assert make_harp("C", a4_hz=a4_hz).a4_hz == a4_hz
    for cents in (-50.0, 50.0):
        assert make_harp("C", stretch_cents=cents).stretch_cents == cents
    for options in ({"a4_hz": 389.9}, {"a4_hz": 490.1}, {"stretch_cents": 50.1}, {"stretch_cents": float("nan")}):
        with pytest.raises(TuningError):
            make_harp("C", **options)


@pytest.mark.parametrize("read", [parse_tuning, parse_temperament])
def test_a_text_that_is_no_table_is_told_without_a_file_of_ours(read) -> None:
    with pytest.raises(TuningError, match=r"^not TOML: "):
        read("blow = [", name="mine")


@pytest.mark.parametrize(
    ("move", "says"),
    [
        (
            Move((2,), DRAW, Alteration.BEND, -3),
            "hole 2: no draw bent 3 semitones here, only blow, draw, draw bent 1 semitone, draw bent 2 semitones, "
            "overblow",
        ),
        (
            Move((5,), DRAW, Alteration.BEND, -1),
            "hole 5: no draw bent 1 semitone here, only blow, draw, draw bent less than 1 semitone, overblow",
        ),
        (
            Move((7,), BLOW, Alteration.OVERBLOW, 2),
            "hole 7: no overblow here, only blow, draw, blow bent less than 1 semitone, overdraw",
        ),
        (Move((11,), DRAW), "hole 11: there is no hole 11: this harp has 10"),
    ],
    ids=repr,
)
def test_a_move_that_a_harp_has_not_is_told_with_what_the_hole_can(move: Move, says: str) -> None:
    with pytest.raises(NotationError) as caught:
        check_move(move, STANDARD)
    assert str(caught.value) == says


def test_a_split_is_as_wide_as_the_tongue_and_a_chord_as_the_harp() -> None:
    check_move(Move((1, 5), BLOW), STANDARD)
    check_move(Move(tuple(range(1, 11)), BLOW), STANDARD)
    check_move(Move((10,), DRAW), STANDARD)
    with pytest.raises(NotationError, match="5"):
        check_move(Move((1, 6), BLOW), STANDARD)
