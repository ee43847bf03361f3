"""Spelling in the score: letters, accidentals and octaves of notes, and which accidentals are shown in a bar."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from reedpath.phrase import note_fifths
from reedpath.pitch import LETTER_SEMITONES, LETTERS_BY_FIFTHS, Key, letter_and_sign

# MusicXML's names by alteration in semitones (MusicXML 4.0, accidental-value)
NAMES = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


@dataclass(frozen=True, slots=True)
class Spelled:
    """A written pitch: letter, alteration in semitones, octave (4 begins at middle C)."""

    letter: str
    alter: int
    octave: int


def spell(midi: int, key: Key | None, *, goes_up: bool, written: Iterable[int] = ()) -> Spelled:
    """
    The written pitch of a MIDI number.

    goes_up : whether the next note is higher (it decides the tritone of the key).
    written : how the source spells notes of its event (`Event.fifths`).

    >>> spell(70, Key(4), goes_up=False), spell(70, Key(4), goes_up=True)
    (Spelled(letter='B', alter=-1, octave=4), Spelled(letter='A', alter=1, octave=4))
    """
    letter, alter = letter_and_sign(note_fifths(midi, key, goes_up=goes_up, written=written))
    octave = (midi - alter - LETTER_SEMITONES[letter]) // 12 - 1
    return Spelled(letter, alter, octave)


def signature_alters(fifths: int) -> dict[str, int]:
    """Alteration of each letter that a signature changes.

    >>> signature_alters(2), signature_alters(-1)
    ({'F': 1, 'C': 1}, {'B': -1})
    """
    return (
        dict.fromkeys(LETTERS_BY_FIFTHS[:fifths], 1) if fifths >= 0 else dict.fromkeys(LETTERS_BY_FIFTHS[fifths:], -1)
    )


@dataclass(slots=True)
class Accidentals:
    """The accidentals in force within one bar."""

    fifths: int
    shown: dict[tuple[str, int], int] = field(default_factory=dict)

    def show(self, pitch: Spelled) -> str | None:
        """The accidental to show before a note, None where the signature or the bar has said it."""
        place = (pitch.letter, pitch.octave)
        in_force = self.shown.get(place, signature_alters(self.fifths).get(pitch.letter, 0))
        self.shown[place] = pitch.alter
        return None if in_force == pitch.alter else NAMES[pitch.alter]
