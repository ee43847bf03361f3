"""How notes are spelt: as the source writes them, wherever the phrase is moved, or else as its key asks."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import replace
from reedpath.phrase import Event, Ornaments, Phrase, lead_line, note_fifths, performed
from reedpath.pitch import Key, letter_and_sign, near_signature
from reedpath.readers import read_phrase

KEYS = [Key(tonic, mode) for tonic in range(12) for mode in ("major", "minor")]


def abc(notes: str, key: str = "F") -> Phrase:
    return read_phrase(f"X:1\nM:4/4\nL:1/4\nK:{key}\n{notes}|".encode(), format="abc")


def names(phrase: Phrase) -> str:
    spelt = []
    for event in phrase.events:
        for midi in event.midi:
            letter, sign = letter_and_sign(note_fifths(midi, phrase.key, goes_up=False, written=event.fifths))
            spelt.append(letter + ("#" if sign > 0 else "b" if sign < 0 else ""))
    return " ".join(spelt)


def note(midi: int, *fifths: int, onset: int = 0, **fields: object) -> Event:
    return Event(Fraction(onset), Fraction(1), (midi,), fifths=fifths, **fields)


@pytest.mark.parametrize(
    ("notes", "key", "said"),
    [
        ("A ^G A =B", "F", "A G# A B"),
        ("A _A G ^c", "F", "A Ab G C#"),
        ("_C ^E B, F", "C", "Cb E# B F"),
        ("^^F G", "C", "G G"),
        ("[A^c] [F_d]", "F", "A C# F Db"),
        ("{^g}a a", "F", "A A"),
        ("A ^G", "F transpose=2", "B A#"),
        ("c _B", "Gb", "B A#"),
    ],
)
def test_abc_says_how_its_notes_are_spelt(notes: str, key: str, said: str) -> None:
    assert names(abc(notes, key)) == said


def test_a_grace_note_is_spelt_as_it_is_written() -> None:
    grace, *_ = performed(abc("{^g}a b")).events
    assert grace.grace
    assert letter_and_sign(note_fifths(grace.midi[0], Key(5), goes_up=True, written=grace.fifths)) == ("G", 1)


def test_what_says_pitches_alone_is_spelt_by_its_key() -> None:
    phrase = Phrase((note(68), note(73, onset=1)), key=Key(5))
    assert names(phrase) == "Ab Db"


def test_in_another_key_the_notes_keep_their_place_in_it() -> None:
    phrase = abc("F A ^c B")
    assert names(phrase.moved(2)) == "G B D# C"
    assert names(phrase.moved(-5)) == "C E G# F"
    assert names(phrase.moved(12)) == names(phrase)


def test_a_spelling_of_two_signs_is_left_to_the_key() -> None:
    assert names(abc("^G", "E").moved(4)) == "C"  # B double sharp would be written


def test_a_chord_of_several_voices_keeps_all_spellings() -> None:
    events = (note(61, 7), note(68, 8))
    (event,) = lead_line(Phrase(events), most_notes=2).events
    assert set(event.fifths) == {7, 8}


@given(st.sampled_from(KEYS), st.lists(st.integers(-8, 12), min_size=1, max_size=8), st.integers(-11, 11))
def test_a_spelling_always_sounds_as_its_note(key: Key, fifths: list[int], semitones: int) -> None:
    events = tuple(
        note(60 + 7 * one % 12, one, onset=index, ornaments=Ornaments()) for index, one in enumerate(fifths)
    )
    moved = Phrase(events, key=key).moved(semitones)
    for event in moved.events:
        place = note_fifths(event.midi[0], moved.key, goes_up=False, written=event.fifths)
        assert (7 * place - event.midi[0]) % 12 == 0
        assert abs(letter_and_sign(place)[1]) < 2
    there_and_back = moved.moved(-semitones)
    for was, now in zip(events, there_and_back.events, strict=True):
        assert not now.fifths or now.fifths == was.fifths or (now.fifths[0] - was.fifths[0]) % 12 == 0


def test_of_two_signatures_of_one_sound_ours_is_written() -> None:
    assert near_signature([(-6,), (-1, -5), ()], Key(6)) == [(6,), (11, 7), ()]
    assert near_signature([(0,), (1,)], Key(0)) == [(0,), (1,)]
    assert near_signature([(), ()], None) == [(), ()]


def test_an_event_alone_keeps_its_spelling_where_other_notes_are_asked() -> None:
    event = replace(note(61, 7), midi=(62,))
    assert note_fifths(62, Key(0), goes_up=False, written=event.fifths) == 2
