"""Groups of parts: what a long list of parts is folded into.

Parts that lie under one label of the source ("Verse", cut and numbered) are one group; those that the program found
are taken together by so many.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from msgspec import Struct

from reedpath.lesson.model import Lesson
from reedpath.lesson.naming import in_language
from reedpath.lesson.spoken_parts import run_of_labels
from reedpath.wording import Catalogue

# parts that are listed as they are, and parts without a label that make a group; what fits a telephone's screen
MOST_UNFOLDED, GROUPED = 8, 8


class PartGroup(Struct, frozen=True):
    """Some parts in a row.

    first, last : their indexes in the lesson, inclusive.
    label : the source's own, empty for parts that the program found.
    """

    first: int
    last: int
    label: str

    def name(self, lesson: Lesson, catalogue: Catalogue) -> str:
        """What it is called: as the source does, or by its first and last part."""
        if self.first == self.last:
            return in_language(lesson, catalogue.name).parts[self.first].label
        if self.label:
            return self.label
        return run_of_labels(in_language(lesson, catalogue.name), self.first, self.last, catalogue)


def _places(lesson: Lesson) -> Iterator[tuple[int, str]]:
    """For each part of the lesson, the number of the source's part that it begins in, -1 for none, and its label."""
    labelled = lesson.route.phrase.parts
    for part in lesson.parts:
        onset = lesson.route.events[part.first].event.onset
        inside = [index for index, one in enumerate(labelled) if one.onset <= onset < one.end]
        index = -1 if part.found or not inside else max(inside, key=lambda one: labelled[one].onset)
        yield index, "" if index < 0 else labelled[index].label


def part_groups(lesson: Lesson) -> tuple[PartGroup, ...]:
    """The parts of a lesson in groups, in order; none where they are few enough to be listed as they are."""
    if len(lesson.parts) <= MOST_UNFOLDED:
        return ()
    groups: list[PartGroup] = []
    for (index, label), run in groupby(enumerate(_places(lesson)), key=lambda one: one[1]):
        numbers = [number for number, _ in run]
        step = GROUPED if index < 0 else len(numbers)
        groups += [
            PartGroup(first, min(first + step - 1, numbers[-1]), label)
            for first in range(numbers[0], numbers[-1] + 1, step)
        ]
    return tuple(groups)
