"""Chords as blues players say them, by their place in a key ("I7", "bVIm7"), and what a note is over one.

A note over a chord is one of its notes, a blue note of the key, a tension, or one that rubs:

- An **avoid note** lies a half step (a minor ninth) above a note of the chord; an **available tension** a whole step
  above one ("Avoid note", Wikipedia, with its table of the modes).
- The **blue notes** are the flat third, fifth and seventh of the key. A blues wears them over all its chords: the
  scale of the key is kept while the chords change ("12 bar blues chords", tamingthesaxophone.com). Where they lie a
  half step above a note of the chord they rub all the same, which the player may like or not.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum

from reedpath.errors import SettingsError
from reedpath.pitch import Key

# semitones above the tonic of each numeral of the major scale
NUMERALS = {"I": 0, "II": 2, "III": 4, "IV": 5, "V": 7, "VI": 9, "VII": 11}
# semitones above the root of each kind of chord (any handbook of harmony)
KINDS = {
    "": (0, 4, 7),
    "6": (0, 4, 7, 9),
    "7": (0, 4, 7, 10),
    "9": (0, 4, 7, 10, 14),
    "m": (0, 3, 7),
    "m7": (0, 3, 7, 10),
}
# semitones of the third of a minor chord, whose numeral is written in small letters, a major one's in capitals: see
# the article "Roman numeral analysis" of Wikipedia
MINOR_THIRD = 3
# the kind that "*" stands for: a blues chord of the key's own mode; common practice, no source
OWN_KIND = {"major": "7", "minor": "m7"}
_CHORD = re.compile(r"(b|#)?(VII|VI|IV|V|III|II|I)(\*|m7|m|6|7|9|)")
# semitones above the tonic of the blue notes; common practice, no source
BLUE_STEPS = (3, 6, 10)
# those of them that a minor key has in its scale, where they are no blue notes (any handbook of harmony)
MINOR_SCALE_STEPS = (3, 10)
# what the notes of a chord are called by their semitones above its root (any handbook of harmony)
DEGREES = {
    0: "root", 3: "third", 4: "third", 6: "fifth", 7: "fifth", 8: "fifth", 9: "sixth", 10: "seventh", 11: "seventh",
    14: "ninth",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord in a key, as blues players name it by its place there: "I7", "IV7", "bVIm7".

    root : pitch class, 0 = C to 11 = B.
    steps : semitones above the root, ascending from 0.
    numeral : its place in the key ("IV", "bVI"), a minor chord's in small letters ("iv"); empty where it is not told.
        It makes no other chord.
    """

    root: int
    steps: tuple[int, ...]
    numeral: str = field(default="", compare=False)

    @property
    def printed(self) -> str:
        """Its place in the key as it is printed: "IV", "♭VI"."""
        return self.numeral.replace("b", "♭").replace("#", "♯")

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Pitch classes of all its notes."""
        return frozenset((self.root + step) % 12 for step in self.steps)

    @property
    def third(self) -> int:
        """Semitones of its third."""
        return self.steps[1]

    @property
    def seventh(self) -> int:
        """Semitones of its seventh, or the minor one where it has none."""
        return self.steps[3] if len(self.steps) > 3 and self.steps[3] > 9 else 10

    def degree_of(self, pitch_class: int) -> str:
        """What a note of the chord is in it: "root", "third" ...; empty for a note that it has not."""
        step = (pitch_class - self.root) % 12
        return next((DEGREES.get(one, "") for one in self.steps if one % 12 == step), "")


def parse_chord(text: str, key: Key) -> Chord:
    """
    Read a chord in a key; "*" is the blues chord of the key's own mode.

    >>> parse_chord("IV7", Key(4)).root, parse_chord("I*", Key(9, "minor")).steps
    (9, (0, 3, 7, 10))
    """
    match = _CHORD.fullmatch(text)
    if match is None:
        raise SettingsError("harmony.unknown_chord", name=text, kinds=[kind for kind in KINDS if kind])
    sign, numeral, kind = match.groups()
    shift = {"b": -1, "#": 1, None: 0}[sign]
    steps = KINDS[OWN_KIND[key.third] if kind == "*" else kind]
    root = (key.tonic + NUMERALS[numeral] + shift) % 12
    return Chord(root, steps, (sign or "") + (numeral.lower() if steps[1] == MINOR_THIRD else numeral))


class NoteKind(StrEnum):
    """What a note is over a chord."""

    CHORD = "chord"  # one of its notes
    BLUE = "blue"  # a blue note of the key that rubs on nothing
    BLUE_RUB = "blue_rub"  # a blue note of the key, or the third or seventh of a minor one, a half step above one
    TENSION = "tension"  # another note, a whole step above a note of the chord
    AVOID = "avoid"  # another note, a half step above a note of the chord
    OUTSIDE = "outside"  # anything else


@dataclass(frozen=True, slots=True)
class OverChord:
    """A note over a chord.

    kind : what it is there.
    degree : of a note of the chord what it is in it; of one that rubs the note of the chord a half step below it;
        else empty.
    """

    kind: NoteKind
    degree: str = ""


def over_chord(midi: int, chord: Chord, key: Key) -> OverChord:
    """
    What a note is over a chord of a key.

    >>> C_in_G = [over_chord(60, parse_chord(name, Key(7)), Key(7)) for name in ("V7", "I7", "IV7")]
    >>> [(one.kind.value, one.degree) for one in C_in_G]
    [('chord', 'seventh'), ('avoid', 'third'), ('chord', 'root')]
    """
    degree, below = chord.degree_of(midi), chord.degree_of(midi - 1)
    if degree:
        return OverChord(NoteKind.CHORD, degree)
    step = (midi - key.tonic) % 12
    if step in BLUE_STEPS:
        plain = NoteKind.TENSION if key.third == "minor" and step in MINOR_SCALE_STEPS else NoteKind.BLUE
        return OverChord(NoteKind.BLUE_RUB if below else plain, below)
    if below:
        return OverChord(NoteKind.AVOID, below)
    return OverChord(NoteKind.TENSION if chord.degree_of(midi - 2) else NoteKind.OUTSIDE)
