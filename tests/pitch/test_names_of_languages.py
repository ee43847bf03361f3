"""Notes and keys are read by the names that every language of the program gives them."""

import unicodedata

import pytest

from reedpath.errors import PitchError
from reedpath.harp import make_harp
from reedpath.pitch import MODE_FIFTHS, Key, parse_key, parse_midi, parse_pitch_class, pitch_class_name
from reedpath.wording import (
    catalogue_names,
    harp_words,
    key_words,
    load_catalogue,
    plain_names,
    typed_names,
)

CATALOGUES = [
    load_catalogue(name).with_notes(style) for name in catalogue_names() for style in load_catalogue(name).note_styles
]


@pytest.mark.parametrize("catalogue", CATALOGUES, ids=lambda one: f"{one.name} {one.note_style}")
def test_every_name_that_is_printed_is_read(catalogue):
    for number in range(12):
        for spoken in (False, True):
            typed = plain_names(catalogue.note(number, spoken=spoken), catalogue)
            assert parse_pitch_class(typed) == number
            assert (
                parse_pitch_class(plain_names(typed_names(pitch_class_name(number), catalogue), catalogue)) == number
            )
        for mode in MODE_FIFTHS:
            assert parse_key(key_words(Key(number, mode), catalogue)) == Key(number, mode)
        told = catalogue.note_with_octave(60 + number)
        if told != catalogue.note(number):  # some languages tell no octaves
            assert parse_midi(plain_names(told, catalogue)) == 60 + number
        for variant in ("", "Low ", "High "):
            harp = make_harp(variant + plain_names(catalogue.note(number), catalogue))
            assert make_harp(harp_words(harp, catalogue)) == harp
            assert make_harp(harp.name) == harp


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("sol majeur", Key(7)), ("la mineur", Key(9, "minor")), ("La", Key(9)), ("ré m", Key(2, "minor")),
        ("SI BÉMOL MAJEUR", Key(10)), ("do dièse mineur", Key(1, "minor")), ("re", Key(2)), ("E flat", Key(3)),
        ("F-sharp minor", Key(6, "minor")), ("a-Moll", Key(9, "minor")), ("C-Dur", Key(0)), ("mib", Key(3)),
        ("fa# mineur", Key(6, "minor")), ("la menor", Key(9, "minor")), ("SI bemol mayor", Key(10)),
        ("fa sostenido menor", Key(6, "minor")), ("mi bemolle maggiore", Key(3)),
        ("do diesis minore", Key(1, "minor")),
        (unicodedata.normalize("NFD", "ré bémol"), Key(1)),
    ],
)  # fmt: skip
def test_keys_in_the_words_of_several_languages(text, key):
    assert parse_key(text) == key


@pytest.mark.parametrize("text", ["sols", "lamineur x", "dorian", "misi", "A flatter", "ré dièses mineur"])
def test_words_that_only_begin_like_a_key(text):
    with pytest.raises(PitchError, match="there is no key named"):
        parse_key(text)


@pytest.mark.parametrize(("text", "midi"), [("c'", 60), ("fis''", 78), ("Es′", 63), ("h'", 71), ("Bb′", 70)])
def test_octaves_by_strokes(text, midi):
    # German books name octaves so: c' is middle C (common practice, no source)
    assert parse_midi(text) == midi


@pytest.mark.parametrize("text", ["fis4", "la'", "c", "c'4"])
def test_octaves_are_told_in_one_way_at_a_time(text):
    with pytest.raises(PitchError):
        parse_midi(text)
