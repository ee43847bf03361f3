"""Parts of a MusicXML score: found, named and chosen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from reedpath.errors import ReadError
from reedpath.readers.musicxml.numbers import text_of
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option

# names of a list that is told; ours
_MOST_LISTED = 20


@dataclass(frozen=True, slots=True)
class ScorePart:
    """One part: its identity in the file, its name, its measures in order.

    is_blown : whether its instrument is a wind one, a harmonica among them.
    """

    identity: str
    name: str
    measures: tuple[Element, ...]
    is_blown: bool = False

    @property
    def title(self) -> str:
        """What it is called in messages."""
        return self.name or self.identity

    @property
    def pitched(self) -> int:
        """How many notes have a pitch and are to be played."""
        return sum(
            1
            for measure in self.measures
            for note in measure.iter("note")
            if note.find("pitch") is not None and note.find("cue") is None
        )


def title_of(root: Element) -> str:
    """Title of the score."""
    return (text_of(root, "work/work-title") or text_of(root, "movement-title"))[:200]


def _measures_by_part(root: Element) -> dict[str, list[Element]]:
    """Measures of each part, from a document in either order (partwise or timewise)."""
    measures: dict[str, list[Element]] = {}
    if root.tag == "score-partwise":
        for part in root.iterfind("part"):
            measures.setdefault(part.get("id", ""), []).extend(part.iterfind("measure"))
        return measures
    for measure in root.iterfind("measure"):
        for part in measure.iterfind("part"):
            turned = Element("measure", measure.attrib)
            turned.extend(part)
            measures.setdefault(part.get("id", ""), []).append(turned)
    return measures


def _is_blown(part: Element | None) -> bool:
    """Whether the instrument's sound is of the family "wind" (MusicXML 4.0, standard sounds)."""
    return text_of(part, "score-instrument/instrument-sound").startswith("wind.")


def score_parts(root: Element) -> list[ScorePart]:
    """Parts in the order in which the score lists them.

    Raises ReadError when the document is no score.
    """
    if root.tag not in ("score-partwise", "score-timewise"):
        raise ReadError("readers.no_score", tag=root.tag)
    listed = {part.get("id", ""): part for part in root.iterfind("part-list/score-part")}
    measures = _measures_by_part(root)
    ordered = [*(each for each in listed if each in measures), *(each for each in measures if each not in listed)]
    return [
        ScorePart(each, text_of(listed.get(each), "part-name"), tuple(measures[each]), _is_blown(listed.get(each)))
        for each in ordered
    ]


def choose_part(parts: Sequence[ScorePart], wanted: Option | None, omissions: Omissions) -> ScorePart | None:
    """The part that is asked for (by identity, name or number from 1), or the first with pitched notes.

    The other parts go to the omissions; None when no part has anything.
    """
    if wanted is None:
        chosen = next((part for part in parts if part.pitched), parts[0] if parts else None)
    else:
        text = str(wanted).strip()
        numbered = [part for number, part in enumerate(parts, start=1) if text == str(number)]
        named = [part for part in parts if text.lower() in (part.identity.lower(), part.name.lower())]
        chosen = next(iter([*named, *numbered]), None)
        if chosen is None:
            listed = [part.title for part in parts[:_MOST_LISTED]]
            raise ReadError("readers.no_part", name=text, there_are=listed)
    for part in parts:
        if part is not chosen:
            if part.pitched:
                omissions.note("part", count=part.pitched, name=part.title)
            else:
                omissions.note("part-without-pitch", name=part.title)
    return chosen
