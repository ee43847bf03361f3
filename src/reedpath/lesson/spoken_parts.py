"""Spoken parts: what a part is called in a sentence and over its steps, and whether it comes back."""

from __future__ import annotations

from reedpath.lesson.model import Lesson, LessonPart
from reedpath.lesson.naming import in_language
from reedpath.wording import Catalogue

# parts in a row from which only the first and the last are named; common practice, no source
NAMED_APART = 2


def root_of(lesson: Lesson, index: int) -> int:
    """The part that a part repeats, or itself."""
    same = lesson.parts[index].same_as
    return index if same is None else same


def comes_back(lesson: Lesson, index: int) -> bool:
    """Whether a part is told as one that comes back: what the source calls by a name of its own is called so."""
    part = lesson.parts[index]
    return part.same_as is not None and (part.found or part.label == lesson.parts[part.same_as].label)


def _ordinal(lesson: Lesson, index: int) -> int:
    """The number of a part among those that the program found and that are new, from 1."""
    return sum(1 for part in lesson.parts[: index + 1] if part.found and part.same_as is None and part.like is None)


def is_cut(part: LessonPart) -> bool:
    """Whether a part is only the beginning of the one that it is like."""
    return part.shared > part.last - part.first


def part_words(lesson: Lesson, index: int, catalogue: Catalogue) -> str:
    """A part as it is spoken of: "the second part", or by its own name."""
    lesson = in_language(lesson, catalogue.name)
    root = root_of(lesson, index)
    part = lesson.parts[root]
    if not part.found:
        return catalogue.say("part.named", label=part.label)
    if part.like is not None:
        key = "part.cut_short" if is_cut(part) else "part.with_ending"
        return catalogue.say(key, part=part_words(lesson, part.like, catalogue))
    return catalogue.ordinal_words("part", _ordinal(lesson, root))


def own_name_words(lesson: Lesson, index: int, catalogue: Catalogue) -> str:
    """A part as it is spoken of where it stands, by a name of its own where it has one."""
    part = lesson.parts[index]
    if part.same_as is None or comes_back(lesson, index):
        return part_words(lesson, index, catalogue)
    return catalogue.say("part.named", label=part.label)


def _new_heading(lesson: Lesson, index: int, catalogue: Catalogue) -> str:
    """Heading of a part that repeats no other."""
    part = lesson.parts[index]
    if not part.found:
        return part.label
    if part.like is not None:
        like = lesson.parts[part.like]
        ordinal = _part_ordinal(lesson, part.like, catalogue)
        heading = catalogue.say("part.heading", ordinal=ordinal, label=part.label) if like.found else like.label
        return catalogue.say("part.heading_cut" if is_cut(part) else "part.heading_like", heading=heading)
    if len(lesson.parts) == 1:
        return catalogue.say("part.whole")
    return catalogue.say("part.heading", ordinal=_part_ordinal(lesson, index, catalogue), label=part.label)


def _part_ordinal(lesson: Lesson, index: int, catalogue: Catalogue) -> str:
    return catalogue.ordinal_words("part_heading", max(1, _ordinal(lesson, index)))


def heading_of(lesson: Lesson, index: int, catalogue: Catalogue) -> str:
    """Heading of a part, with "again" where it comes back."""
    part = lesson.parts[index]
    heading = _new_heading(lesson, root_of(lesson, index), catalogue)
    if part.same_as is None:
        return heading
    if not comes_back(lesson, index):
        return part.label
    return catalogue.say("part.heading_again", heading=heading if part.found else part.label)


def run_of_labels(lesson: Lesson, first: int, last: int, catalogue: Catalogue) -> str:
    """The labels of parts from one to another: "A and B", "A to D"."""
    labels = list(dict.fromkeys(part.label for part in lesson.parts[first : last + 1]))
    if len(labels) <= NAMED_APART:
        return catalogue.join(labels)
    return catalogue.say("through.run", first=labels[0], last=labels[-1])


def heading_again(lesson: Lesson, first: int, last: int, catalogue: Catalogue) -> str:
    """Heading of parts that were played before: what the source itself calls anew needs no "again"."""
    headings = [heading_of(lesson, index, catalogue) for index in range(first, last + 1)]
    if len(set(headings)) == 1:
        return headings[0]
    named = catalogue.sentence(run_of_labels(lesson, first, last, catalogue)).rstrip(".")
    again = any(comes_back(lesson, index) for index in range(first, last + 1))
    return named if not again else catalogue.say("part.heading_again", heading=named)
