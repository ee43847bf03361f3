"""Steps grouped into captions, how long it takes to read them, and which are shown while a phrase is played.

The steps of a lesson are the same in every language but for their words, so a caption is named by the places of
its steps, and lasts as long as the slowest language needs.

In passing only the most useful ones are shown that there is time to read: what is harder than the middle of the
phrase, and that a part comes again. Each group has a time in which it would have to be read, beginning a little
before its note. Among all sets of groups that do not overlap, the one with the greatest sum of weights is taken, the
weight of a group being the effort of its hardest event: weighted interval scheduling by dynamic programming
(Kleinberg & Tardos, "Algorithm Design", 2005, section 6.1).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from statistics import median

from reedpath.arrange import Route
from reedpath.film.timeline import Caption
from reedpath.lesson import Lesson, StepBlock, StepGroup, StepKind, steps_of
from reedpath.wording import CaptionShape, load_catalogue

# seconds that the shortest caption needs: Karamitroglou, "A proposed set of subtitling standards in Europe",
# Translation Journal 2/2 (1998), from memory
LEAST_READ_SECONDS = 1.5
# captions of no language
USUAL_SHAPE = CaptionShape()
# seconds before the eyes have found a new caption; common practice, no source
FOUND_SECONDS = 0.3
# lines that a caption holds; how many characters each and how fast they are read, its language says; "Code of Good
# Subtitling Practice" (Ivarsson & Carroll, 1998), from memory
MOST_LINES = 2
# seconds before its note that a step may come, so that it is read in time; our choice
AHEAD_SECONDS = 1.0
# points of effort that any step is worth, beside those of its events; our choice
LEAST_WEIGHT = 0.5
# seconds that a card stands at least and at most, however much is to be read; our choice
LEAST_CARD_SECONDS, MOST_CARD_SECONDS = 2.5, 14.0
# kinds of steps that say how to practise
_OF_PRACTICE = frozenset({StepKind.SPOT, StepKind.THROUGH, StepKind.SEAM})


def reading_seconds(characters: int, shape: CaptionShape = USUAL_SHAPE) -> float:
    """How long a caption must stand to be read beside a picture.

    >>> reading_seconds(60)
    4.3
    """
    return max(LEAST_READ_SECONDS, FOUND_SECONDS + characters / shape.speed)


def card_seconds(texts: Iterable[tuple[str, CaptionShape]]) -> float:
    """How long a card stands, so that each text can be read: one for each language, with its captions' shape.

    >>> card_seconds([("A card of few words", USUAL_SHAPE)])
    2.5
    """
    slowest = max(reading_seconds(len(text), shape) for text, shape in texts)
    return min(MOST_CARD_SECONDS, max(LEAST_CARD_SECONDS, slowest))


@dataclass(frozen=True, slots=True)
class CaptionPage:
    """Steps that stand on the screen together: from ``first`` up to ``stop`` of a block; seconds to read them."""

    first: int
    stop: int
    seconds: float


@dataclass(frozen=True, slots=True)
class CaptionGroup:
    """Steps that belong together.

    block : index in `steps_of`.
    kind : of its first step.
    first, last : the events it is about, None where it is about none.
    pages : one caption after the other.
    is_played : whether the events are played with it.
    played_page : the page that says how they are played: one before it may say what is waited for first.
    """

    block: int
    kind: StepKind
    first: int | None
    last: int | None
    pages: tuple[CaptionPage, ...]
    is_played: bool = True
    played_page: int = 0

    @property
    def seconds(self) -> float:
        """Seconds to read all of it."""
        return sum(page.seconds for page in self.pages)


def _said_together(block: StepBlock) -> Iterator[StepGroup]:
    """The groups of a block; the sentences of an introduction share their captions."""
    for is_intro, run in groupby(block.groups, key=lambda group: group.kind is StepKind.INTRO):
        if is_intro:
            yield StepGroup(tuple(step for group in run for step in group.steps))
        else:
            yield from run


def _characters(texts: Sequence[str]) -> int:
    """Characters of texts that stand one after the other."""
    return sum(map(len, texts)) + max(len(texts) - 1, 0)


def _pages(
    said: Sequence[Sequence[str]], shapes: Sequence[CaptionShape], first: int, stop: int
) -> Iterator[CaptionPage]:
    """Steps put on as few pages as every language allows, each for as long as the slowest needs.

    said : for each language, the texts of the block's steps. shapes : of the captions in each.
    """

    def seconds(begin: int, end: int) -> float:
        return max(
            reading_seconds(_characters(texts[begin:end]), shape) for texts, shape in zip(said, shapes, strict=True)
        )

    begin = first
    for place in range(first + 1, stop):
        if any(
            _characters(texts[begin : place + 1]) > MOST_LINES * shape.line
            for texts, shape in zip(said, shapes, strict=True)
        ):
            yield CaptionPage(begin, place, seconds(begin, place))
            begin = place
    yield CaptionPage(begin, stop, seconds(begin, stop))


def _played_step(group: StepGroup) -> int:
    """The place of the step that says how the events are played; the first where none does."""
    return next((place for place, step in enumerate(group.steps) if step.kind is StepKind.MOVE), 0)


def caption_groups_of(lesson: Lesson) -> tuple[CaptionGroup, ...]:
    """All groups of a lesson's steps in order."""
    spoken = [steps_of(lesson, language) for language in lesson.languages]
    shapes = [load_catalogue(language).grammar.captions for language in lesson.languages]
    groups: list[CaptionGroup] = []
    for index, block in enumerate(spoken[0]):
        said = [[step.text for step in blocks[index].steps] for blocks in spoken]
        stop = 0
        for group in _said_together(block):
            first, stop = stop, stop + len(group.steps)
            pages = tuple(_pages(said, shapes, first, stop))
            played = first + _played_step(group)
            page = next(number for number, one in enumerate(pages) if played < one.stop)
            groups.append(CaptionGroup(index, group.kind, group.first, group.last, pages, group.is_played, page))
    return tuple(groups)


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A group with the time it needs to be read in."""

    group: CaptionGroup
    start: float
    end: float
    weight: float
    note_end: float


def _is_told_in_passing(group: CaptionGroup) -> bool:
    """Whether a group is about what is being played, and not about practice or the harp."""
    return group.kind is StepKind.REPEAT or (group.is_played and group.kind not in _OF_PRACTICE)


def _candidates(
    route: Route,
    groups: Sequence[CaptionGroup],
    when: Callable[[int], tuple[float, float] | None],
    *,
    first: float,
    last: float,
) -> list[_Candidate]:
    efforts = [one.effort.total for one in route.events]
    middle = median(efforts) if efforts else 0.0
    wishes = []
    for group in groups:
        if group.first is None or group.last is None or not _is_told_in_passing(group):
            continue
        begins, ends = when(group.first), when(group.last)
        if begins is None or ends is None:
            continue
        effort = max(efforts[group.first : group.last + 1])
        if effort <= middle and group.kind is not StepKind.REPEAT:
            continue
        start = max(begins[0] - AHEAD_SECONDS, first)
        end = start + group.seconds
        # read before its note is over, or it would speak of what is past
        if end <= last and start <= begins[0] and end <= max(ends[1], begins[0] + AHEAD_SECONDS):
            wishes.append(_Candidate(group, start, end, LEAST_WEIGHT + effort, ends[1]))
    return sorted(wishes, key=lambda wish: wish.end)


def _best(wishes: Sequence[_Candidate]) -> list[_Candidate]:
    """The heaviest set of wishes that do not overlap; they are in order of their ends."""
    ends = [wish.end for wish in wishes]
    best: list[tuple[float, bool, int]] = [(0.0, False, 0)]
    for place, wish in enumerate(wishes):
        before = bisect_right(ends, wish.start, 0, place)
        with_it = best[before][0] + wish.weight
        best.append((with_it, True, before) if with_it > best[place][0] else (best[place][0], False, place))
    taken, place = [], len(wishes)
    while place:
        _, is_taken, before = best[place]
        if is_taken:
            taken.append(wishes[place - 1])
        place = before
    return taken[::-1]


def chosen_captions(
    route: Route,
    groups: Sequence[CaptionGroup],
    when: Callable[[int], tuple[float, float] | None],
    *,
    first_seconds: float,
    last_seconds: float,
) -> tuple[Caption, ...]:
    """The steps told between two moments.

    when : when an event begins and ends, None where it is not played.
    """
    taken = _best(_candidates(route, groups, when, first=first_seconds, last=last_seconds))
    captions: list[Caption] = []
    for index, wish in enumerate(taken):
        limit = taken[index + 1].start if index + 1 < len(taken) else last_seconds
        at = wish.start
        for page in wish.group.pages:
            captions.append(Caption(wish.group.block, page.first, page.stop, at, at + page.seconds, in_passing=True))
            at += page.seconds
        until = min(limit, max(at, wish.note_end))
        last = captions[-1]
        captions[-1] = replace(last, end_seconds=until)
    return tuple(captions)
