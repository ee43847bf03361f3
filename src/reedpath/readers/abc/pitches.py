"""Pitches of ABC notes: letters, octaves, the key's and the bar's accidentals (ABC 2.1, sections 4.1, 4.2, 11.3)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from reedpath.pitch import LETTER_SEMITONES

# semitones of each accidental sign (section 4.2)
ALTERATIONS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
# MIDI number of the note C; section 4.1's staff
_MIDDLE_C = 60


@dataclass(frozen=True, slots=True)
class Spelling:
    """A note as written: letter, octaves above the one of C, accidental sign."""

    letter: str
    octave: int
    sign: str = ""

    @classmethod
    def of(cls, sign: str, letter: str, marks: str) -> Spelling:
        """Spelling of the parts of a note sign."""
        octave = int(letter.islower()) + marks.count("'") - marks.count(",")
        return cls(letter.upper(), octave, sign)

    @property
    def line(self) -> tuple[str, int]:
        """Its line or space on the staff."""
        return self.letter, self.octave


@dataclass(slots=True)
class AccidentalsInForce:
    """The accidentals in force in a bar.

    signature : of the key.
    spread : how far an accidental reaches in its bar: "pitch" (every octave, the standard's default),
        "octave" or "not".
    """

    signature: Mapping[str, int] = field(default_factory=dict)
    spread: str = "pitch"
    _bar: dict[tuple[str, int | None], int] = field(default_factory=dict)
    _tied: dict[tuple[str, int], int] = field(default_factory=dict)

    def new_bar(self) -> None:
        """Forget the accidentals of the bar; a note tied over the bar line keeps its own."""
        self._bar.clear()

    def tie(self, spellings: Mapping[tuple[str, int], int]) -> None:
        """Alterations of the notes whose sound goes on in the next ones."""
        self._tied = dict(spellings)

    def alteration(self, spelling: Spelling) -> int:
        """Semitones by which a note is altered; its own accidental is remembered for the bar."""
        key = (spelling.letter, spelling.octave if self.spread == "octave" else None)
        if spelling.sign:
            alter = ALTERATIONS[spelling.sign]
            if self.spread != "not":
                self._bar[key] = alter
            return alter
        if spelling.line in self._tied:
            return self._tied[spelling.line]
        return self._bar.get(key, self.signature.get(spelling.letter, 0))

    def midi(self, spelling: Spelling) -> tuple[int, int]:
        """MIDI number of a note, before any transposition, and its alteration in semitones."""
        alter = self.alteration(spelling)
        return _MIDDLE_C + 12 * spelling.octave + LETTER_SEMITONES[spelling.letter] + alter, alter
