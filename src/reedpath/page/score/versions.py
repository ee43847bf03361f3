"""Versions: the same phrase at several levels in one score, all tabs under one staff, or a staff for each.

Where two versions sound the same notes, the tab of the second stands as a further line under that of the first. Where
they do not, each has its own staff, and bars and beats stand under one another.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass
from xml.etree.ElementTree import Element, tostring

from reedpath.lesson import Lesson
from reedpath.page.score.elements import add, clean_text
from reedpath.page.score.musicxml import MusicXmlScore, score_of
from reedpath.page.score.sheet import sheet_of
from reedpath.wording import Catalogue

# what a note of one version must share with that of another to be written once
_SOUND = ("grace", "chord", "cue", "pitch", "duration", "type", "dot")


@dataclass(frozen=True, slots=True)
class VersionsScore:
    """A score of several versions.

    musicxml : as `encode_musicxml` gives it.
    on_one_staff : whether all tabs stand under one staff, the first version's uppermost.
    """

    musicxml: bytes
    on_one_staff: bool


def _bars(lesson: Lesson) -> list[tuple[object, ...]]:
    return [(bar.onset, bar.end, bar.metre.signature) for bar in sheet_of(lesson).bars]


def _notes(root: Element) -> dict[str, Element]:
    return {note.get("id", ""): note for note in root.iter("note") if note.get("id")}


def _sound(note: Element) -> tuple[str, ...]:
    return tuple(tostring(child, encoding="unicode").strip() for tag in _SOUND for child in note.findall(tag))


def _sound_alike(roots: Sequence[Element]) -> bool:
    first, *others = ({name: _sound(note) for name, note in _notes(root).items()} for root in roots)
    return all(other == first for other in others)


def _add_lines(root: Element, others: Sequence[Element]) -> None:
    """Put the tab of other versions under that of the first."""
    notes = _notes(root)
    for number, other in enumerate(others, start=2):
        for name, note in _notes(other).items():
            for lyric in note.findall("lyric"):
                further = deepcopy(lyric)
                further.set("number", str(number))
                notes[name].append(further)


def _without_directions(part: Element) -> None:
    for measure in part.iter("measure"):
        for direction in measure.findall("direction"):
            measure.remove(direction)


def _renamed(root: Element, number: int) -> tuple[Element, Element]:
    """The entry in the list of parts and the part of a version, under names that no other version has."""
    (entry,), (part,) = root.findall("part-list/score-part"), root.findall("part")
    for one in (entry, part, *entry.iter("score-instrument"), *entry.iter("midi-instrument")):
        one.set("id", one.get("id", "").replace("P1", f"P{number}"))
    for name, note in _notes(root).items():
        note.set("id", f"v{number}{name}")
    return entry, part


def _named(entry: Element, name: str) -> None:
    for child in list(entry):
        if child.tag == "part-name":
            child.text = clean_text(name)
            child.attrib.pop("print-object", None)
            abbreviation = Element("part-abbreviation")
            abbreviation.text = child.text
            entry.insert(list(entry).index(child) + 1, abbreviation)


def _add_staves(root: Element, others: Sequence[Element], names: Sequence[str]) -> None:
    """Put a staff for each further version under that of the first."""
    (listed,) = root.findall("part-list")
    for entry in listed:
        _named(entry, names[0])
    for number, (other, name) in enumerate(zip(others, names[1:], strict=True), start=2):
        entry, part = _renamed(other, number)
        _named(entry, name)
        _without_directions(part)
        listed.append(entry)
        root.append(part)
    group = Element("part-group", number="1", type="start")
    add(group, "group-symbol", "bracket")
    listed.insert(0, group)
    listed.append(Element("part-group", number="1", type="stop"))


def encode_versions(lessons: Sequence[Lesson], names: Sequence[str], *, catalogue: Catalogue) -> VersionsScore | None:
    """Several versions of one phrase as one score; None where their bars are not alike.

    names : what each version is called, where it has a staff of its own.
    """
    first, *others = (_bars(lesson) for lesson in lessons)
    if any(other != first for other in others):
        return None
    root, *others_roots = (score_of(lesson, catalogue).root for lesson in lessons)
    alike = _sound_alike([root, *others_roots])
    if alike:
        _add_lines(root, others_roots)
    else:
        _add_staves(root, others_roots, names)
    return VersionsScore(MusicXmlScore(root, ()).encoded(), alike)
