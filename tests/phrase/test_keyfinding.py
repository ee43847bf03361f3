"""Key finding: unit behaviour; how often it is right is judged in tests/outside."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import SettingsError
from reedpath.phrase import Phrase, find_key
from reedpath.phrase.keyfinding import load_key_profiles, parse_key_profiles, profile_names
from reedpath.pitch import Key
from support.examples import examples
from support.phrases import phrase_of

MAJOR = "c4 1/4 d4 e4 f4 g4 1/2 e4 1/2 f4 1/4 d4 b3 d4 c4 1/2"
# weights of a profile
UP = "1,2,3,4,5,6,7,8,9,10,11,12"
MINOR = "a4 1/4 b4 c5 1/2 e5 1/4 d5 c5 b4 g#4 1/2 e4 1/4 a4 1/2"
# invented: a blues lick in E, both thirds, flat seven, flat five
BLUES = "e4 1/8 g4 1/8 g#4 1/4 b4 1/8 d5 1/8 e5 1/4 d5 1/8 bb4 1/8 a4 1/8 g4 1/8 e4 1/4 d4 1/8 e4 1/2"


@pytest.mark.parametrize("profiles", profile_names())
def test_plain_phrases(profiles):
    assert find_key(phrase_of(MAJOR), profiles=profiles).key == Key(0, "major")
    assert find_key(phrase_of(MINOR), profiles=profiles).key == Key(9, "minor")


def test_a_blues_keeps_its_tonic():
    guess = find_key(phrase_of(BLUES))
    assert guess.key == Key(4, "major")
    assert guess.blues


def test_a_minor_pentatonic_is_minor_on_its_last_note():
    guess = find_key(phrase_of("e4 1/8 g4 a4 b4 d5 b4 a4 g4 e4 1/4 d4 1/8 e4 1/2"))
    assert guess.key == Key(4, "minor")
    assert guess.runner_up is not None


def test_the_last_note_decides_between_relatives():
    notes = "c4 1/4 d4 e4 g4 a4 g4 e4 d4 a4 c5 "
    assert find_key(phrase_of(notes + "c5")).key == Key(0, "major")
    assert find_key(phrase_of(notes + "a4")).key == Key(9, "minor")


@pytest.mark.parametrize("text", ["", "c4", "c4 c5 c3"])
def test_one_pitch_class_tells_nothing(text):
    guess = find_key(phrase_of(text))
    assert guess.key is None
    assert guess.confidence == 0.0


@examples(40)
@given(st.integers(-11, 11), st.sampled_from([MAJOR, MINOR, BLUES]))
def test_moving_the_phrase_moves_the_key(semitones, text):
    phrase = phrase_of(text)
    here, there = find_key(phrase), find_key(phrase.moved(semitones))
    assert here.key is not None
    assert there.key == here.key.moved(semitones)
    assert there.confidence == pytest.approx(here.confidence)


@examples(60)
@given(st.lists(st.integers(0, 127), max_size=20))
def test_any_notes_give_an_answer(midis):
    from fractions import Fraction

    from reedpath.phrase import Event

    guess = find_key(Phrase(tuple(Event(Fraction(i), Fraction(1), (m,)) for i, m in enumerate(midis))))
    assert (guess.key is None) == (guess.runner_up is None)
    assert 0 <= guess.confidence <= 1


def test_unknown_profiles():
    with pytest.raises(SettingsError, match="'nobody'"):
        load_key_profiles("nobody")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (f"[a]\nmajor=[{UP}]\nminor=[{UP}]", "keyprofiles.toml, 'a.source': this is missing"),
        ("[a]\nsource='x'\nmajor=[1,2]", "'a.major': 2 entries, where there are 12"),
        (f"[a]\nsource='x'\nmajor=[{UP}]\nminor=[1,1,1,1,1,1,1,1,1,1,1,1]", "'a': .* not all alike"),
        ("[a]\nsource='x'\nmajer=[1]", "'a.majer': there is no such field"),
        ("[a\n", "not TOML"),
        ("[a]\nsource='x'\nblues=1", "'a.blues': 1 is not an object"),
    ],
)
def test_wrong_profile_files_say_where(text, message):
    with pytest.raises(SettingsError, match=message):
        parse_key_profiles(text)
