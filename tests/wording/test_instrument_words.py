from __future__ import annotations

import pytest
from msgspec.structs import replace

from reedpath.arrange import TERMS, ChangeKind, level_names
from reedpath.harp import (
    EQUAL,
    Alteration,
    Breath,
    Embouchure,
    Move,
    load_temperament,
    load_tuning,
    make_harp,
    notation_names,
    reach_of,
    temperament_names,
    tuning_names,
)
from reedpath.pitch import Key
from reedpath.wording import (
    CAUTIONS,
    catalogue_names,
    harp_words,
    key_words,
    load_catalogue,
    move_words,
    named_words,
    plain_names,
    position_words,
    shift_words,
    temperament_words,
    tuning_words,
    typed_names,
)
from reedpath.wording.grammar import NoteNames

CATALOGUES = [load_catalogue(name) for name in catalogue_names()]
EN, FR = load_catalogue("en"), load_catalogue("fr")


@pytest.mark.parametrize("catalogue", CATALOGUES, ids=lambda one: one.name)
@pytest.mark.parametrize("short", [False, True])
def test_every_move_of_every_tuning_has_words_of_its_own(catalogue, short) -> None:
    for tuning in tuning_names():
        reach = reach_of(load_tuning(tuning))
        moves = [*reach.single, *reach.multiple]
        moves += [replace(one, embouchure=Embouchure.TONGUE) for one in moves if not one.is_split]
        words = [move_words(move, catalogue, short=short) for move in moves]
        assert len(set(words)) == len(words), tuning
        for move, text in zip(moves, words, strict=True):
            assert "{" not in text, text
            assert all(str(hole) in text for hole in move.holes), text


@pytest.mark.parametrize("catalogue", CATALOGUES, ids=lambda one: one.name)
def test_everything_that_can_be_named_has_a_name(catalogue) -> None:
    named = {
        "term": TERMS and [term if isinstance(term, str) else term.name for term in TERMS],
        "level": level_names(),
        "change": [kind.value for kind in ChangeKind],
        "tuning": tuning_names(),
        "temperament": temperament_names(),
        "notation": notation_names(),
        "caution": CAUTIONS,
        "embouchure": [one.value for one in Embouchure],
    }
    for kind, names in named.items():
        for name in names:
            assert catalogue.has(f"{kind}.{name}"), f"{kind}.{name}"
    assert all(catalogue.has(f"reason.{name}") for name in [*named["term"], "air", "truth"])


def test_the_catalogue_names_no_tuning_or_temperament_that_does_not_ship() -> None:
    for kind, names in (("tuning", tuning_names()), ("temperament", temperament_names())):
        keys = {key.removeprefix(f"{kind}.") for key in EN.messages if key.startswith(f"{kind}.")}
        assert keys == set(names)


def test_english_titles_are_those_of_the_files() -> None:
    for name in tuning_names():
        assert tuning_words(load_tuning(name), EN) == load_tuning(name).title
    for name in temperament_names():
        assert temperament_words(load_temperament(name), EN) == load_temperament(name).title


def test_a_users_own_tuning_keeps_its_own_title_even_under_a_shipped_name() -> None:
    own = replace(load_tuning("standard"), title="mine", draw=load_tuning("raised-5-draw").draw)
    assert tuning_words(own, FR) == "mine"
    assert temperament_words(replace(EQUAL, cents=(1.0,) * 12, title="mien"), FR) == "mien"
    assert temperament_words(replace(EQUAL, name="bare", title=""), FR) == "bare"


def test_harps() -> None:
    names = ["A", "Bb", "Low F", "High G"]
    assert [harp_words(make_harp(name), EN) for name in names] == ["A harp", "B♭ harp", "Low F harp", "High G harp"]
    assert [harp_words(make_harp(name), FR) for name in names] == [
        "harmonica en la (A)", "harmonica en si♭ (B♭)", "harmonica en fa (F) grave", "harmonica en sol (G) aigu",
    ]  # fmt: skip
    lower = replace(make_harp("C"), key_midi=make_harp("C").key_midi - 24)
    assert harp_words(lower, EN) == "C harp, 2 octaves lower"
    assert harp_words(make_harp("C", "solo"), EN, with_tuning=True) == "C harp (solo layout on ten holes)"


def test_keys_positions_and_shifts() -> None:
    assert (key_words(Key(4), EN), key_words(Key(9, "minor"), FR), key_words(None, EN)) == (
        "E major",
        "la mineur",
        "key unknown",
    )
    assert (position_words(2, EN), position_words(12, FR)) == ("second position", "douzième position")
    assert [shift_words(shift, EN) for shift in (0, 12, -24, 1, -3)] == [
        "as written", "an octave up", "2 octaves down", "1 half step up", "3 half steps down",
    ]  # fmt: skip


def test_a_name_that_no_catalogue_knows_is_itself() -> None:
    assert named_words("level", "my own", EN) == "my own"
    assert move_words(None, EN) == "nothing to play"


def test_moves_as_the_brief_of_a_lesson_says_them() -> None:
    bent = Move((4,), Breath.DRAW, Alteration.BEND, -1)
    assert move_words(bent, EN) == "4 draw, half-step bend"
    assert move_words(bent, FR) == "4 aspiré, altéré d’un demi-ton"
    assert move_words(bent, EN, short=True) == "4 draw half-step bend"
    deep = Move((10,), Breath.BLOW, Alteration.BEND, -6)
    assert move_words(deep, EN) == "10 blow, 6-half-step bend"
    assert move_words(deep, FR) == "10 soufflé, altéré de 6 demi-tons"


BLOW, DRAW, TONGUE = Breath.BLOW, Breath.DRAW, Embouchure.TONGUE


@pytest.mark.parametrize(
    ("move", "english", "french"),
    [
        (Move((4,), DRAW), ("4 draw", "4 draw"), ("4 aspiré", "4 aspiré")),
        (
            Move((3,), DRAW, Alteration.BEND, -3),
            ("3 draw, step-and-a-half bend", "3 draw step-and-a-half bend"),
            ("3 aspiré, altéré d’un ton et demi", "3 aspiré altéré d’un ton et demi"),
        ),
        (
            Move((10,), BLOW, Alteration.BEND, -2),
            ("10 blow, whole-step bend", "10 blow whole-step bend"),
            ("10 soufflé, altéré d’un ton", "10 soufflé altéré d’un ton"),
        ),
        (
            Move((5,), DRAW, Alteration.BEND, 0),
            ("5 draw, slight dip", "5 draw dip"),
            ("5 aspiré, à peine altéré", "5 aspiré à peine altéré"),
        ),
        (Move((6,), BLOW, Alteration.OVERBLOW, 3), ("6 overblow", "6 overblow"), ("6 overblow", "6 overblow")),
        (Move((7,), DRAW, Alteration.OVERDRAW, 3), ("7 overdraw", "7 overdraw"), ("7 overdraw", "7 overdraw")),
        (Move((4, 5), BLOW), ("4 and 5 blow", "4 and 5 blow"), ("4 et 5 soufflés", "4 et 5 soufflés")),
        (
            Move((2, 5), DRAW, embouchure=TONGUE),
            ("2 and 5 draw, tongue on 3 and 4", "2 and 5 draw split"),
            ("2 et 5 aspirés, langue sur le 3 et le 4", "2 et 5 aspirés à la langue"),
        ),
        (
            Move((4,), DRAW, embouchure=TONGUE),
            ("4 draw, tongue-blocked", "4 draw tongue-blocked"),
            ("4 aspiré, langue posée", "4 aspiré langue posée"),
        ),
    ],
    ids=repr,
)
def test_what_every_kind_of_move_is_called(move: Move, english: tuple[str, str], french: tuple[str, str]) -> None:
    assert (move_words(move, EN), move_words(move, EN, short=True)) == english
    assert (move_words(move, FR), move_words(move, FR, short=True)) == french


def test_harps_octaves_away_from_the_customary_one() -> None:
    harps = [replace(make_harp("C"), key_midi=60 + 12 * octaves) for octaves in (-2, -1, 0, 1, 2)]
    assert [harp_words(harp, EN) for harp in harps] == [
        "C harp, 2 octaves lower", "Low C harp", "C harp", "High C harp", "C harp, 2 octaves higher",
    ]  # fmt: skip
    assert [harp_words(harp, FR) for harp in harps[3:]] == [
        "harmonica en do (C) aigu", "harmonica en do (C), 2 octaves plus haut",
    ]  # fmt: skip
    assert harp_words(make_harp("Low F"), FR, with_tuning=True) == "harmonica en fa (F) grave (majeur standard)"


def test_shifts_in_french_and_beyond_the_octave() -> None:
    assert [shift_words(shift, FR) for shift in (0, -12, 24, 1, -7, 13)] == [
        "comme écrit", "une octave plus bas", "2 octaves plus haut", "1 demi-ton plus haut",
        "7 demi-tons plus bas", "13 demi-tons plus haut",
    ]  # fmt: skip


GERMAN_NAMES = replace(  # as German names the two notes
    EN, grammar=replace(EN.grammar, notes={"letters": NoteNames((*EN.notes.major[:10], "B", "H"))})
)  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("B", "Bb"), ("low b", "low bb"), ("A, B, H", "A, Bb, H"), ("Bb", "Bb"), ("B♭", "B♭"), ("B flat", "B flat"),
        ("B-Dur", "B-Dur"), ("b-Moll", "b-Moll"), ("B minor", "B minor"), ("Bm", "Bm"), ("B (B♭)", "B (B♭)"),
        ("", ""),
    ],
)  # fmt: skip
def test_a_b_alone_is_b_flat_where_the_language_calls_it_so(typed: str, read: str) -> None:
    assert plain_names(typed, GERMAN_NAMES) == read
    assert plain_names(typed, EN) == plain_names(typed, load_catalogue("fr")) == typed


def test_a_b_of_the_trade_is_an_h_in_a_field_to_type_in() -> None:
    assert typed_names("A, B, Low B, Bb", GERMAN_NAMES) == "A, H, Low H, Bb"
    assert typed_names("A, B", EN) == "A, B"
