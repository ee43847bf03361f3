"""What a note is over a chord, against published tables of theory."""

from __future__ import annotations

import pytest
from music21 import key as music21_key
from music21 import pitch as music21_pitch
from music21 import roman

from reedpath.harmony import (
    Chord,
    FormPlace,
    NoteKind,
    Rating,
    form_key,
    form_names,
    form_places,
    load_form,
    over_chord,
    placed,
    proposed_bars,
)
from reedpath.pitch import Key
from support.phrases import phrase_of

C_MAJOR = (0, 2, 4, 5, 7, 9, 11)

# Wikipedia, "Avoid note", table "Avoid notes for modes of the C major scale": chord, avoid notes. Its one exception
# by its own words, the sixth over Dm7, is a whole step above the fifth and left out here.
MODES = [
    ("Cmaj7", Chord(0, (0, 4, 7, 11)), {5}),
    ("Em7", Chord(4, (0, 3, 7, 10)), {5, 0}),
    ("Fmaj7", Chord(5, (0, 4, 7, 11)), set()),
    ("G7", Chord(7, (0, 4, 7, 10)), {0}),
    ("Am7", Chord(9, (0, 3, 7, 10)), {5}),
    ("Bm7b5", Chord(11, (0, 3, 6, 10)), {0}),
]


@pytest.mark.parametrize(("name", "chord", "avoided"), MODES, ids=[name for name, *_ in MODES])
def test_avoid_notes_of_the_modes_of_c_major(name: str, chord: Chord, avoided: set[int]) -> None:
    # the blue notes of C lie outside its major scale: the table knows none
    kinds = {note: over_chord(note, chord, Key(0)).kind for note in C_MAJOR}
    neither = (NoteKind.BLUE, NoteKind.BLUE_RUB)
    assert {note for note, kind in kinds.items() if kind is NoteKind.AVOID} == avoided, name
    assert not any(kind in neither for note, kind in kinds.items() if note in avoided)


@pytest.mark.parametrize(
    ("chord", "available"),
    [
        (Chord(7, (0, 4, 7, 10)), {9, 4}),  # the same table: G7 has 9 and 13
        (Chord(9, (0, 3, 7, 10)), {11, 2}),  # Am7 has 9 and 11
        (Chord(5, (0, 4, 7, 11)), {7, 11, 2}),  # Fmaj7 has 9, sharp 11 and 13
    ],
)
def test_available_tensions_lie_a_whole_step_above_a_note_of_the_chord(chord: Chord, available: set[int]) -> None:
    kinds = {note: over_chord(note, chord, Key(0)).kind for note in C_MAJOR}
    assert {note for note, kind in kinds.items() if kind is NoteKind.TENSION} == available


@pytest.mark.parametrize("name", form_names())
@pytest.mark.parametrize("tonic", [0, 4, 9])
def test_the_numerals_of_a_form_name_its_chords(name: str, tonic: int) -> None:
    """music21's reading of roman numerals: small letters for minor, signs before the numeral. In pop and blues they
    count from the major scale, whatever the key (Wikipedia, "Roman numeral analysis", "Jazz and pop numerals")."""
    form = load_form(name)
    major = music21_key.Key(music21_pitch.Pitch(tonic).name)
    for bar in range(len(form.bars)):
        for chord in form.chords_of_bar(
            bar, form_key(form, Key(tonic, "minor" if form.mode == "minor" else "major"))
        ):
            judged = roman.RomanNumeral(chord.numeral, major)
            triad = {(chord.root + step) % 12 for step in chord.steps[:3]}
            assert {one.pitchClass for one in judged.pitches} == triad, chord.numeral


def sitting(text: str, key: str, bar: int) -> FormPlace:
    phrase = phrase_of(text, key=key)
    assert phrase.key is not None
    return placed(phrase, load_form("twelve-bar"), phrase.key, bar)


def test_c_on_the_first_beat_of_the_fifth_chord_in_g_is_its_seventh() -> None:
    """Definition: D7 is D F sharp A C."""
    telling = sitting("c5 1/2 d5 1/2", "G", 9).telling
    assert telling is not None
    assert (telling.midi, telling.beat, telling.chord.numeral, telling.over.degree) == (72, 1, "V", "seventh")


def test_the_major_third_of_the_key_contradicts_the_seventh_of_the_fourth_chord() -> None:
    """Wikipedia, "Twelve-bar blues": the flat seventh of the subdominant contradicts the third of the tonic chord."""
    lick = "b4 1/8 d5 e5 d5 b4 1/2"  # rests on the third of the key
    rubbing = sitting(lick, "G", 5).rubbing
    assert rubbing is not None
    assert (rubbing.midi, rubbing.over.degree) == (71, "seventh")
    assert sitting(lick, "G", 1).rating is Rating.GOOD
    assert sitting(lick, "G", 5).rating is not Rating.GOOD


def test_one_blues_scale_serves_for_the_first_and_the_fourth_chord() -> None:
    """tamingthesaxophone.com, "12 bar blues chords": the scale of the key is kept over all three areas, and its
    dissonances are a matter of taste; so nothing but blue notes rubs, and the first two areas need no taste."""
    run = "g4 1/8 bb4 c5 db5 d5 f5 d5 bb4 | g4 1/1"
    for bar in (1, 5):
        assert sitting(run, "G", bar).rating is Rating.GOOD
    assert sitting(run, "G", 9).rating is not Rating.POOR


def test_a_line_that_is_sung_again_over_the_fourth_chord_is_proposed_at_both_places() -> None:
    """Wikipedia, "Twelve-bar blues": the lyrics' AAB, the second line as the first, over the IV chord."""
    phrase = phrase_of("g4 1/4 bb4 c5 bb4 | g4 1/2 r 1/2", key="G")
    bars = [one.bar for one in proposed_bars(form_places(phrase, load_form("twelve-bar"), Key(7)))]
    assert bars[:2] == [1, 5]


def test_a_turnaround_that_walks_from_tonic_to_dominant_sits_in_the_last_two_bars() -> None:
    """Common practice, no source: I in bar 11, V in bar 12."""
    place = sitting("g5 1/4 f5 e5 eb5 | d5 1/1", "G", 11)
    assert place.is_turnaround
    assert place.rating is Rating.GOOD
    assert place.rest is not None
    assert place.rest.over.degree == "root"
