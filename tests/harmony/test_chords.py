"""Chords in a key and notes over them, as values."""

from __future__ import annotations

import pytest

from reedpath.harmony import Chord, NoteKind, OverChord, over_chord, parse_chord
from reedpath.pitch import Key

E_MAJOR = Key(4)


def test_the_numeral_of_a_minor_chord_is_in_small_letters_and_a_flat_is_printed_as_one() -> None:
    found = [parse_chord(name, Key(9, "minor")) for name in ("I*", "IVm7", "bVI7", "V7", "bVIm")]
    assert [one.numeral for one in found] == ["i", "iv", "bVI", "V", "bvi"]
    assert [one.printed for one in found] == ["i", "iv", "♭VI", "V", "♭vi"]


def test_a_chord_knows_its_place_in_the_key_and_is_the_same_without() -> None:
    assert [parse_chord(name, E_MAJOR).numeral for name in ("I7", "IV9", "bVI7", "I*")] == ["I", "IV", "bVI", "I"]
    assert parse_chord("IV7", E_MAJOR) == Chord(9, (0, 4, 7, 10))


@pytest.mark.parametrize(
    ("note", "chord", "kind", "degree"),
    [
        (4, "I7", NoteKind.CHORD, "root"),  # E
        (8, "I7", NoteKind.CHORD, "third"),  # G sharp
        (2, "I7", NoteKind.CHORD, "seventh"),  # D
        (7, "I7", NoteKind.BLUE, ""),  # G
        (10, "I7", NoteKind.BLUE, ""),  # B flat
        (9, "I7", NoteKind.AVOID, "third"),  # A
        (1, "I7", NoteKind.TENSION, ""),  # C sharp, the sixth
        (3, "I7", NoteKind.AVOID, "seventh"),  # D sharp, the major seventh
        (7, "IV7", NoteKind.CHORD, "seventh"),
        (8, "IV7", NoteKind.AVOID, "seventh"),  # the key's major third over the fourth chord
        (2, "IV7", NoteKind.BLUE_RUB, "third"),
        (4, "V7", NoteKind.AVOID, "third"),  # the key's tonic over the fifth chord
        (7, "V7", NoteKind.BLUE_RUB, "fifth"),
        (2, "V7", NoteKind.BLUE, ""),
        (8, "Im7", NoteKind.AVOID, "third"),
        (9, "Im7", NoteKind.TENSION, ""),
        (6, "V9", NoteKind.CHORD, "fifth"),
        (1, "V9", NoteKind.CHORD, "ninth"),
        (6, "bVI7", NoteKind.TENSION, ""),
    ],
)
def test_what_a_note_is_over_a_chord_in_e(note: int, chord: str, kind: NoteKind, degree: str) -> None:
    assert over_chord(note + 60, parse_chord(chord, E_MAJOR), E_MAJOR) == OverChord(kind, degree)


def test_note_chord_and_key_moved_together_are_the_same() -> None:
    for name in ("I7", "IV7", "V9", "bVIm7", "IIm", "I6"):
        for note in range(12):
            told = {
                over_chord(note + moved, parse_chord(name, Key(moved)), Key(moved)) for moved in range(12)
            }  # fmt: skip
            assert len(told) == 1
