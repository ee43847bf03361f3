"""A lesson of several pieces as data: written and read back, and what does not hold in one."""

from __future__ import annotations

import json
from fractions import Fraction

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import replace
from reedpath.errors import ReadError, SettingsError
from reedpath.lesson import (
    LessonOfPieces,
    LessonOfPiecesFile,
    Piece,
    VariantKind,
    WholePlace,
    WholeWords,
    WordsKind,
    checked_pieces,
    decode_lesson_of_pieces,
    encode_lesson,
    encode_lesson_of_pieces,
    is_lesson_of_pieces,
    make_lesson,
    piece_folders,
)
from reedpath.phrase import Metre
from support.built_routes import built_route
from support.examples import examples
from support.json_schemas import json_schema

VALIDATOR = jsonschema.Draft202012Validator(json_schema(LessonOfPiecesFile, title="lesson of pieces"))


def lesson(text="2d 3d' 4b 4d:1", title="", **named):
    return make_lesson(built_route(text, key=named.pop("key", "A")), title=title, **named)


def a_whole():
    return LessonOfPieces(
        title="An evening",
        pieces=(
            Piece("1-two-questions", lesson(title="Two questions")),
            Piece("2-two-questions-easy", lesson("2d 3b 4b 4d:1", title="Two questions"), 0, VariantKind.LEVEL),
            Piece("3-answer", lesson("4d 4b 3d 2d:2", title="Answer", key="D"), 0, VariantKind.FILLER),
            Piece("4-bends", lesson("3d'' 2d 1b:2", title="Bends")),
        ),
        play_through=(0, 3),
        author="Ada Lind",
        date="in spring",
        notes={"en": "Listen first.", "fr": "Écoute d'abord."},
        own_words=(
            WholeWords(
                "en", WordsKind.SENTENCE, WholePlace("piece", 2, "harp"), "Now the D.", "Take the D harp now."
            ),
        ),
    )


def read(data, whole):
    return decode_lesson_of_pieces(data, {piece.folder: piece.lesson for piece in whole.pieces}.__getitem__)


def edited(**changes):
    return json.dumps(json.loads(encode_lesson_of_pieces(a_whole())) | changes).encode()


def test_a_lesson_of_pieces_written_and_read_back_is_the_same():
    whole = a_whole()
    assert read(encode_lesson_of_pieces(whole), whole) == whole


NAMES = st.text(st.characters(codec="utf-8", exclude_characters="/\\:", exclude_categories=["C"]), min_size=1)


@given(
    folders=st.lists(NAMES.filter(lambda name: name[0] != "."), min_size=1, max_size=5, unique_by=str.casefold),
    title=st.text(),
    notes=st.dictionaries(st.sampled_from(["en", "fr"]), st.text()),
    data=st.data(),
)
@examples(60)
def test_whatever_it_is_called_it_is_read_back(folders, title, notes, data):
    taught = lesson()
    pieces = []
    for index, folder in enumerate(folders):
        own = [place for place, piece in enumerate(pieces) if piece.variant_of is None]
        of = data.draw(st.sampled_from([None, *own])) if index else None
        kind = data.draw(st.sampled_from(VariantKind)) if of is not None else None
        pieces.append(Piece(folder[:120], taught, of, kind))
    order = data.draw(st.lists(st.integers(0, len(pieces) - 1), max_size=4))
    whole = checked_pieces(LessonOfPieces(title, tuple(pieces), tuple(order), notes=notes))
    written = encode_lesson_of_pieces(whole)
    VALIDATOR.validate(json.loads(written))
    assert read(written, whole) == whole
    assert piece_folders(written) == tuple(piece.folder for piece in whole.pieces)


def test_the_file_says_nothing_twice():
    plain = json.loads(encode_lesson_of_pieces(a_whole()))
    assert plain["pieces"] == [
        {"folder": "1-two-questions"},
        {"folder": "2-two-questions-easy", "variant_of": 0, "variant": "level"},
        {"folder": "3-answer", "variant_of": 0, "variant": "filler"},
        {"folder": "4-bends"},
    ]
    VALIDATOR.validate(plain)


def test_it_is_told_from_a_lesson_of_one_phrase():
    assert is_lesson_of_pieces(encode_lesson_of_pieces(a_whole()))
    assert is_lesson_of_pieces(b'{ "version" : 1, "schema" :\n"reedpath/lesson-of-pieces"}')
    quoted = lesson(title='"schema": "reedpath/lesson-of-pieces"')
    assert not is_lesson_of_pieces(encode_lesson(quoted))
    assert not is_lesson_of_pieces(b"no JSON")


def test_harps_and_variants():
    whole = a_whole()
    assert [harp.name for harp in whole.harps] == ["A", "D"]
    assert whole.variants_of(0) == (1, 2)
    assert whole.variants_of(0, VariantKind.FILLER) == (2,)
    assert whole.variants_of(3) == ()
    assert (whole.languages, whole.paper) == (("en", "fr"), "a4")


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"pieces": []}, "pieces", ""),
        ({"pieces": [{"folder": "../elsewhere"}]}, "pieces[0].folder", ""),
        ({"pieces": [{"folder": ".hidden"}]}, "pieces[0].folder", ""),
        ({"pieces": [{"folder": "a/b"}]}, "pieces[0].folder", ""),
        ({"pieces": [{"folder": "4-bends"}, {"folder": "4-bends"}]}, "pieces[1].folder", "same folder"),
        (
            {"pieces": [{"folder": "4-bends", "variant_of": 0, "variant": "filler"}]},
            "pieces[0].variant_of",
            "no earlier piece",
        ),
        ({"pieces": [{"folder": "4-bends", "variant": "filler"}]}, "pieces[0].variant_of", "which piece"),
        (
            {"pieces": [{"folder": "4-bends"}, {"folder": "3-answer", "variant_of": 0}]},
            "pieces[1].variant",
            "what this is",
        ),
        ({"play_through": [4]}, "play_through[0]", "0..3"),
        ({"version": 2}, "version", ""),
        ({"schema": "reedpath/lesson"}, "schema", ""),
        ({"title": 3}, "title", ""),
    ],
)
def test_what_does_not_hold_is_named(changes, field, words):
    with pytest.raises(ReadError) as caught:
        read(edited(**changes), a_whole())
    assert caught.value.where.field == field
    assert words in str(caught.value)


def test_pieces_share_languages_and_paper():
    whole = a_whole()
    french = replace(whole.pieces[3], lesson=lesson("3d'' 2d 1b:2", languages=("fr",)))
    with pytest.raises(SettingsError, match="languages"):
        checked_pieces(replace(whole, pieces=(*whole.pieces[:3], french)))


def test_a_variant_for_another_level_has_the_same_bars():
    whole = a_whole()
    waltz = make_lesson(built_route("2d 3b 4b 4d:1", key="A", metres=[Metre(Fraction(0), 3, 4)]), title="Waltz")
    other = replace(whole.pieces[1], lesson=waltz)
    with pytest.raises(SettingsError, match="'Waltz' does not have the bars of 'Two questions'"):
        checked_pieces(replace(whole, pieces=(whole.pieces[0], other)))
