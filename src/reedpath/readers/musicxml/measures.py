"""Measures of a MusicXML part: metre, chords, and what the first part directs for all."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from xml.etree.ElementTree import Element

from reedpath.errors import ReadError
from reedpath.readers.musicxml.numbers import number_in

__all__ = ["LONGEST", "MOST_DIVISIONS", "chords_of", "conducted_in", "metre_of"]

# divisions of a quarter note, and a duration in them; ours: larger ones are faults
MOST_DIVISIONS = 1_000_000
LONGEST = 100_000_000
_UNITS = ("1", "2", "4", "8", "16", "32", "64")
# notes of the finest unit in a bar; ours
_LONGEST_BAR = 256
_CONDUCTING = frozenset({"rehearsal", "metronome", "words", "segno", "coda"})


def metre_of(time: Element, *, where: str) -> tuple[int, int] | None:
    """Count and unit of a time signature, additive ones summed; None for free metre."""
    if time.find("senza-misura") is not None:
        return None
    counts = [element.text or "" for element in time.iterfind("beats")]
    units = [(element.text or "").strip() for element in time.iterfind("beat-type")]
    total, finest = Fraction(0), 1
    for count, unit in zip(counts, units, strict=False):
        numbers = [number.strip() for number in count.split("+")]
        if not all(number.isdecimal() and len(number) < 4 for number in numbers) or unit not in _UNITS:
            raise ReadError(f"no metre: {count[:20]}/{unit[:20]}", where=where)
        total += Fraction(sum(map(int, numbers)), int(unit))
        finest = max(finest, int(unit))
    if not total or total * finest > _LONGEST_BAR:
        raise ReadError("no metre that a bar can have", where=where)
    return int(total * finest), finest


def chords_of(measure: Element) -> list[list[Element]]:
    """Elements of a measure, the notes of a chord together."""
    groups: list[list[Element]] = []
    for element in measure:
        before = groups[-1][-1] if groups else None
        joins = element.tag == "note" and element.find("chord") is not None
        if joins and before is not None and _may_share_chord(before, element):
            groups[-1].append(element)
        else:
            groups.append([element])
    return groups


def _may_share_chord(before: Element, note: Element) -> bool:
    if before.tag != "note" or before.find("rest") is not None:
        return False
    return (before.find("grace") is None) == (note.find("grace") is None)


def _conducts(element: Element) -> bool:
    if element.tag == "sound" or element.find("sound") is not None:
        return True
    return any(kind.tag in _CONDUCTING for kind in element.iterfind("direction-type/*"))


def conducted_in(measures: Sequence[Element]) -> list[list[tuple[Fraction, Element]]]:
    """Directions in the measures of a part, with their onsets in beats from the start of their bar.

    Scores write tempos, labels and jumps over their top part alone.
    """
    divisions = Fraction(1)
    found = []
    for number, measure in enumerate(measures, start=1):
        where = f"measure {number} of the first part"
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
