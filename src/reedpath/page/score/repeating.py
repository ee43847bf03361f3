"""Repeating: stretches of bars that come again at once are written once, between repeat signs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import deepcopy
from itertools import groupby, pairwise
from xml.etree.ElementTree import Element, tostring

from reedpath.page.score.elements import add
from reedpath.page.score.sheet import Sheet

__all__ = ["fold_repeated"]


def _is_label(element: Element) -> bool:
    """Whether an element only names a part."""
    return element.tag == "direction" and any(
        element.find(f"direction-type/{path}") is not None for path in ("rehearsal", "words[@enclosure]")
    )


def _likeness(measures: Sequence[Element], *, is_start: bool) -> tuple[str, ...]:
    """What makes two stretches of bars the same to play: all but names, numbers, bar lines and a last breath.

    is_start : whether the piece begins here, with its signatures and tempo.
    """
    texts = []
    for index, measure in enumerate(measures):
        plain = deepcopy(measure)
        plain.attrib.pop("number", None)
        opens = is_start and index == 0
        for child in list(plain):
            is_opening = opens and child.tag in ("attributes", "direction")
            if child.tag == "barline" or is_opening or _is_label(child):
                plain.remove(child)
        for note in plain.iter("note"):
            note.attrib.pop("id", None)
        if index == len(measures) - 1:
            _drop_last_breath(plain)
        texts.append(tostring(plain, encoding="unicode"))
    return tuple(texts)


def _drop_last_breath(measure: Element) -> None:
    notes = [note for note in measure.iter("note") if note.find("grace") is None]
    for notations in notes[-1].findall("notations") if notes else ():
        for articulations in notations.findall("articulations"):
            for breath in articulations.findall("breath-mark"):
                articulations.remove(breath)
            if not len(articulations):
                notations.remove(articulations)
        if not len(notations):
            notes[-1].remove(notations)


def _stretches(sheet: Sheet, measures: Sequence[Element]) -> Iterator[list[Element]]:
    """The bars of each part that begins with a bar, and those between."""
    edges = {edge for part in sheet.parts for edge in (part.onset, part.end)}
    cuts = [index for index, bar in enumerate(sheet.bars) if index == 0 or bar.onset in edges]
    for start, end in pairwise([*cuts, len(measures)]):
        yield list(measures[start:end])


def _ties_on(measures: Sequence[Element]) -> bool:
    """Whether a note is held over the end."""
    ties = [note.find("tie[@type='start']") for note in measures[-1].iter("note")]
    return bool(ties) and ties[-1] is not None


def _barline(measure: Element, location: str) -> Element:
    found = measure.find(f"barline[@location='{location}']")
    if found is not None:
        measure.remove(found)
    line = Element("barline", location=location)
    measure.insert(0 if location == "left" else len(measure), line)
    return line


def _mark(measures: Sequence[Element], times: int) -> None:
    """Set repeat signs around bars."""
    left = _barline(measures[0], "left")
    add(left, "bar-style", "heavy-light")
    add(left, "repeat", direction="forward")
    right = _barline(measures[-1], "right")
    add(right, "bar-style", "light-heavy")
    add(right, "repeat", direction="backward", **({"times": str(times)} if times > 2 else {}))


def fold_repeated(part: Element, sheet: Sheet) -> None:
    """Write stretches that come again at once only once, in place."""
    stretches = [one for one in _stretches(sheet, part.findall("measure")) if one]
    keyed = [(_likeness(one, is_start=index == 0), one) for index, one in enumerate(stretches)]
    for _, group in groupby(keyed, key=lambda pair: pair[0]):
        alike = [measures for _, measures in group]
        if len(alike) < 2 or _ties_on(alike[0]):
            continue
        _mark(alike[0], len(alike))
        for measures in alike[1:]:
            for measure in measures:
                part.remove(measure)
