"""The document that music21 is given: an empty score, and numbers and pitches as it reads them."""

from __future__ import annotations

from fractions import Fraction
from xml.etree.ElementTree import Element, SubElement

__all__ = ["add_pitch", "new_document", "plain_number"]

# letters of the twelve pitch classes as music21 is given them; any spelling would do
_SPELLINGS = ("C", "C", "D", "D", "E", "F", "F", "G", "G", "A", "A", "B")
_SHARP = frozenset({1, 3, 6, 8, 10})


def new_document() -> tuple[Element, Element]:
    """An empty partwise score and its only part."""
    root = Element("score-partwise")
    score_part = SubElement(SubElement(root, "part-list"), "score-part", id="P1")
    SubElement(score_part, "part-name").text = "read"
    return root, SubElement(root, "part", id="P1")


def plain_number(value: Fraction) -> str:
    """A number as music21 reads it: whole or decimal."""
    return str(value.numerator) if value.denominator == 1 else repr(float(value))


def add_pitch(target: Element, midi: int) -> None:
    """Add the <pitch> of a MIDI number."""
    pitch = SubElement(target, "pitch")
    SubElement(pitch, "step").text = _SPELLINGS[midi % 12]
    if midi % 12 in _SHARP:
        SubElement(pitch, "alter").text = "1"
    SubElement(pitch, "octave").text = str(midi // 12 - 1)
