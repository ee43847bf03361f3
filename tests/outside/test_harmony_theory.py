"""What a note is over a chord, against published tables of theory."""

from __future__ import annotations

import pytest

from reedpath.harmony import Chord, NoteKind, over_chord
from reedpath.pitch import Key

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
