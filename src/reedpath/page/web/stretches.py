"""Stretches: what a student can choose to play: the whole phrase, a part, or a spot to practise apart."""

from __future__ import annotations

from dataclasses import dataclass

from reedpath.lesson import Lesson
from reedpath.page.handout.told import bars_words
from reedpath.page.score.written import Sheet
from reedpath.wording import Catalogue

__all__ = ["Stretch", "stretches_of"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Some events in a row.

    kind : "whole", "part" or "spot".
    number : of the part or spot in the lesson, from 0.
    first, last : indexes of events, inclusive.
    """

    kind: str
    number: int
    first: int
    last: int

    def name(self, lesson: Lesson, catalogue: Catalogue) -> str:
        """What it is called."""
        if self.kind == "whole":
            return catalogue.say("web.whole")
        if self.kind == "spot":
            return catalogue.say("spot.number", number=self.number + 1)
        return lesson.parts[self.number].label

    def place(self, sheet: Sheet, catalogue: Catalogue) -> str:
        """The bars it stands in."""
        return bars_words(sheet, self.first, self.last, catalogue)


def stretches_of(lesson: Lesson) -> tuple[Stretch, ...]:
    """The stretches of a lesson: all of it, its parts where it has several, its spots."""
    events = lesson.route.events
    if not events:
        return ()
    whole = Stretch("whole", 0, 0, len(events) - 1)
    parts = [Stretch("part", index, part.first, part.last) for index, part in enumerate(lesson.parts)]
    spots = [Stretch("spot", index, one.spot.first, one.spot.last) for index, one in enumerate(lesson.drills)]
    return (whole, *(parts if len(parts) > 1 else ()), *spots)
