"""Staves: clefs, transposition and tablature of a MusicXML part, and which staff to read of two that agree."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple
from xml.etree.ElementTree import Element

from reedpath.errors import Place
from reedpath.pitch import LETTER_SEMITONES, fifths_of
from reedpath.readers.musicxml.numbers import number_in, text_of, whole_in

# share of the tablature's notes that must lie the same number of octaves off; ours
_AGREEING = 0.8
# share by which the note counts of a staff and its tablature twin may differ; ours
_TWINS_DIFFER = 0.1


class SpeltPitch(NamedTuple):
    """A pitch as it is written: MIDI number with its fraction, and its place on the line of fifths.

    fifths : None for a quarter tone, which has no place there.
    """

    midi: Fraction
    fifths: int | None


def pitch_of(parent: Element, *, prefix: str = "", where: Place) -> SpeltPitch | None:
    """What a <pitch> or, by prefix, a <staff-tuning> says; None where it has no letter or no octave."""
    step = text_of(parent, f"{prefix}step")
    octave = whole_in(parent, f"{prefix}octave", 0, 9, where=where)
    if step not in LETTER_SEMITONES or octave is None:
        return None
    alter = number_in(parent, f"{prefix}alter", -4, 4, where=where) or Fraction(0)
    fifths = fifths_of(step, int(alter)) if alter.denominator == 1 else None
    return SpeltPitch(LETTER_SEMITONES[step] + 12 * (octave + 1) + alter, fifths)


@dataclass(slots=True)
class Staves:
    """What the attributes of a part say of its staves, as far as it has been read.

    shift : semitones from written to sounding pitch.
    tunings : for each staff its open strings by line, from the lowest; capos : frets.
    """

    shift: int = 0
    tunings: dict[str, dict[int, Fraction]] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    capos: dict[str, int] = field(default_factory=dict)

    def read(self, attributes: Element, *, where: Place) -> None:
        """Take in an <attributes>."""
        for transpose in attributes.iterfind("transpose"):
            chromatic = number_in(transpose, "chromatic", -60, 60, where=where) or Fraction(0)
            octaves = whole_in(transpose, "octave-change", -5, 5, where=where) or 0
            self.shift = round(chromatic) + 12 * octaves
        for details in attributes.iterfind("staff-details"):
            self._read_details(details, where=where)

    def _read_details(self, details: Element, *, where: Place) -> None:
        staff = details.get("number", "1")
        tuning = self.tunings.setdefault(staff, {})
        for element in details.iterfind("staff-tuning"):
            pitch = pitch_of(element, prefix="tuning-", where=where)
            line = element.get("line", "")
            if pitch is not None and line.isdecimal() and len(line) < 3:
                tuning[int(line)] = pitch.midi
        self.lines[staff] = whole_in(details, "staff-lines", 0, 24, where=where) or self.lines.get(staff, 0)
        self.capos[staff] = whole_in(details, "capo", 0, 24, where=where) or 0

    def tablature_pitch(self, staff: str, string: int | None, fret: int | None) -> int | None:
        """MIDI number that a note's string and fret give; None without one of them, or a tuning."""
        tuning = self.tunings.get(staff) or next((each for each in self.tunings.values() if each), {})
        if string is None or fret is None or not tuning:
            return None
        line = (self.lines.get(staff) or max(tuning)) - string + 1
        if line not in tuning:
            return None
        return round(tuning[line]) + self.capos.get(staff, 0) + fret


def tablature_shift(pairs: Sequence[tuple[int, int]]) -> int:
    """Octaves, in semitones, that the pitches lie off what string and fret give; 0 when they mostly do not.

    pairs : sounding MIDI number by pitch, and by string and fret.
    """
    if not pairs:
        return 0
    (shift, count), *_ = Counter(tab - pitch for pitch, tab in pairs).most_common(1)
    return shift if shift % 12 == 0 and count >= _AGREEING * len(pairs) else 0


def twin_staff(measures: Sequence[Element]) -> tuple[str, str] | None:
    """Staff to read and staff to leave where a tablature shows the notes of the staff above it; else None."""
    tabs, notes = set(), Counter[str]()
    for measure in measures:
        for clef in measure.iterfind("attributes/clef"):
            if text_of(clef, "sign") == "TAB":
                tabs.add(clef.get("number", "1"))
        for note in measure.iterfind("note"):
            if note.find("pitch") is not None:
                notes[text_of(note, "staff") or "1"] += 1
    if len(notes) != 2 or len(tabs & set(notes)) != 1:
        return None
    tab = next(iter(tabs & set(notes)))
    other = next(staff for staff in notes if staff != tab)
    if abs(notes[tab] - notes[other]) > _TWINS_DIFFER * max(notes.values()):
        return None
    return tab, other
