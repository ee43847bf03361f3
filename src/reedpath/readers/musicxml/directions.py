"""Directions and bar lines of a MusicXML measure: repeats and jumps, tempo, swing and names of parts."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

from reedpath.data import replace
from reedpath.errors import Place
from reedpath.readers.bars import OrderSigns
from reedpath.readers.limits import FASTEST_BPM, SLOWEST_BPM
from reedpath.readers.musicxml.numbers import LONGEST, MOST_DIVISIONS, measure_place, number_in, text_of
from reedpath.readers.musicxml.score_parts import ScorePart
from reedpath.readers.omissions import Omissions
from reedpath.readers.playing_order import MOST_TIMES
from reedpath.readers.swing_words import swing_of_words

# beats (quarter notes) of the units of a metronome mark; MusicXML 4.0, note-type-value
_UNITS = {
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
}
# kinds of directions that hold for all parts; common practice, no source
_CONDUCTING = frozenset({"rehearsal", "metronome", "words", "segno", "coda"})
# words of jumps where a file gives them no sound element; common practice, no source
_JUMP_WORDS = (
    ("da_capo", re.compile(r"^\s*(d\.?\s?c\.?\b|da\s+capo)", re.IGNORECASE)),
    ("dal_segno", re.compile(r"^\s*(d\.?\s?s\.?\b|dal\s+segno)", re.IGNORECASE)),
    ("to_coda", re.compile(r"^\s*(to\s+coda|al?\s+coda\s*$)", re.IGNORECASE)),
    ("fine", re.compile(r"^\s*fine\s*\.?\s*$", re.IGNORECASE)),
)
_SOUND_SIGNS = {
    "segno": "segno",
    "coda": "coda",
    "dacapo": "da_capo",
    "dalsegno": "dal_segno",
    "tocoda": "to_coda",
    "fine": "fine",
}


@dataclass(slots=True)
class Directions:
    """What a measure says beside its notes, while it is read.

    endings : in force in this measure; open_endings : in force in the next one.
    coda_signs : coda signs that do not say whether one jumps from them or to them.
    bpm, label : of the last direction read, None where it gave none.
    """

    signs: OrderSigns = field(default_factory=OrderSigns)
    endings: frozenset[int] = frozenset()
    open_endings: frozenset[int] = frozenset()
    coda_signs: int = 0
    swing: Fraction | None = None
    bpm: float | None = None
    label: str | None = None

    def mark(self, name: str) -> None:
        """Set one of the signs."""
        self.signs = self.signs.with_sign(name)


def _bpm_of_metronome(metronome: Element) -> float | None:
    unit = _UNITS.get(text_of(metronome, "beat-unit"))
    number = re.search(r"\d{1,4}(?:\.\d{1,3})?", text_of(metronome, "per-minute"))
    if unit is None or number is None:
        return None
    dots = min(len(metronome.findall("beat-unit-dot")), 3)
    return float(number[0]) * float(unit * (2 - Fraction(1, 2**dots)))


def _is_swing_equation(metronome: Element) -> bool:
    """Whether a mark equates two eighths with a quarter and an eighth of a triplet."""
    return metronome.find("metronome-note/metronome-tuplet") is not None


def _read_swing(sound: Element, said: Directions, omissions: Omissions, where: Place) -> None:
    swing = sound.find("swing")
    if swing is None:
        return
    if text_of(swing, "swing-type") not in ("", "eighth"):
        omissions.note("short-swing", where)
    elif swing.find("straight") is not None:
        said.swing = Fraction(1)
    else:
        first = number_in(swing, "first", 1, 100, where=where)
        second = number_in(swing, "second", 1, 100, where=where)
        if first and second:
            said.swing = first / second


def _read_sound(sound: Element, said: Directions, omissions: Omissions, where: Place) -> None:
    for attribute, name in _SOUND_SIGNS.items():
        if sound.get(attribute):
            said.mark(name)
    if sound.get("forward-repeat") == "yes":
        said.mark("starts")
    tempo = re.fullmatch(r"\d{1,6}(\.\d{1,9})?", (sound.get("tempo") or "").strip())
    if tempo:
        said.bpm = float(tempo[0])
    _read_swing(sound, said, omissions, where)


def _read_words(text: str, said: Directions, *, has_sound: bool) -> None:
    swing = swing_of_words(text)
    if swing is not None and said.swing is None:
        said.swing = swing
    if not has_sound:
        for name, pattern in _JUMP_WORDS:
            if pattern.search(text):
                said.mark(name)


def _read_type(kind: Element, said: Directions, omissions: Omissions, where: Place, *, has_sound: bool) -> None:
    if kind.tag == "rehearsal":
        said.label = (kind.text or "").strip()[:100] or said.label
    elif kind.tag == "words":
        _read_words((kind.text or "")[:500], said, has_sound=has_sound)
    elif kind.tag == "segno" and not has_sound:
        said.mark("segno")
    elif kind.tag == "coda" and not has_sound:
        said.coda_signs += 1
    elif kind.tag == "metronome":
        if _is_swing_equation(kind):
            said.swing = said.swing or Fraction(2)
        elif said.bpm is None:
            said.bpm = _bpm_of_metronome(kind)
    elif kind.tag in ("dynamics", "wedge"):
        omissions.note("dynamics", where)


def read_direction(element: Element, said: Directions, omissions: Omissions, *, where: Place) -> None:
    """Take in a <direction> or a <sound>; its tempo and label are left in ``said``."""
    said.bpm = said.label = None
    sounds = [element] if element.tag == "sound" else element.findall("sound")
    for sound in sounds:
        _read_sound(sound, said, omissions, where)
    has_sound = any(sound.get(attribute) for sound in sounds for attribute in _SOUND_SIGNS)
    for kind in element.iterfind("direction-type/*"):
        _read_type(kind, said, omissions, where, has_sound=has_sound)
    if said.bpm is not None and not SLOWEST_BPM <= said.bpm <= FASTEST_BPM:
        omissions.note("strange-tempo", where, bpm=f"{said.bpm:g}")
        said.bpm = None


def _ending_numbers(text: str) -> frozenset[int]:
    numbers = (int(number) for number in re.findall(r"\d{1,2}", text[:200]))
    return frozenset(number for number in numbers if 1 <= number <= MOST_TIMES)


def read_barline(barline: Element, said: Directions, *, where: Place) -> None:
    """Take in a bar line: repeats and endings."""
    ending = barline.find("ending")
    if ending is not None and ending.get("type") == "start":
        said.endings = said.open_endings = _ending_numbers(ending.get("number", ""))
    elif ending is not None:
        said.open_endings = frozenset()
    repeat = barline.find("repeat")
    if repeat is not None and repeat.get("direction") == "forward":
        said.mark("starts")
    elif repeat is not None:
        times = repeat.get("times", "2")
        played = int(times) if re.fullmatch(r"\d{1,2}", times) else 2
        said.signs = replace(said.signs, times=min(max(played, 2), MOST_TIMES))
    for name in ("segno", "coda"):
        if barline.find(name) is not None:
            said.mark(name)


def _conducts(element: Element) -> bool:
    if element.tag == "sound" or element.find("sound") is not None:
        return True
    return any(kind.tag in _CONDUCTING for kind in element.iterfind("direction-type/*"))


def conducted_in(part: ScorePart) -> list[list[tuple[Fraction, Element]]]:
    """Directions in each measure of a part, with their onsets in beats from the start of their bar.

    Scores write tempos, labels and jumps over their top part alone.
    """
    divisions = Fraction(1)
    found = []
    for number, measure in enumerate(part.measures, start=1):
        where = replace(measure_place(measure, number), part=part.title)
        at, here = Fraction(0), []
        for element in measure:
            if element.tag == "attributes":
                divisions = (
                    number_in(element, "divisions", Fraction(1, 1000), MOST_DIVISIONS, where=where) or divisions
                )
            elif element.tag in ("direction", "sound"):
                if _conducts(element):
                    here.append((at / divisions, element))
            elif element.find("chord") is None and element.find("grace") is None:
                length = number_in(element, "duration", 0, LONGEST, where=where) or Fraction(0)
                at = max(Fraction(0), at - length) if element.tag == "backup" else at + length
        found.append(here)
    return found
