"""Repeating: stretches of bars that come again at once are written once, between repeat signs, and their endings.

Where the source plays a stretch twice with endings that differ, they stand under brackets, "1." and "2.". That it
does is told by its numbers of the bars as they are played: back to the first one, and at the second time past the
first ending. A last bar that another pickup fills each time, that of what is played next, is such an ending too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from itertools import pairwise
from xml.etree.ElementTree import Element, tostring

from reedpath.page.score.elements import add
from reedpath.page.score.sheet import Sheet


def _is_label(element: Element) -> bool:
    """Whether an element only names a part."""
    return element.tag == "direction" and any(
        element.find(f"direction-type/{path}") is not None for path in ("rehearsal", "words[@enclosure]")
    )


def _likeness(measure: Element, *, is_first: bool, is_last: bool) -> str:
    """What makes two bars the same to play: all but names, numbers and bar lines.

    is_first : whether the piece begins here, with its signatures and tempo.
    is_last : whether a breath behind it is none of it.
    """
    plain = deepcopy(measure)
    for name in ("number", "text"):
        plain.attrib.pop(name, None)
    for child in list(plain):
        is_opening = is_first and child.tag in ("attributes", "direction")
        if child.tag == "barline" or is_opening or _is_label(child):
            plain.remove(child)
    for note in plain.iter("note"):
        note.attrib.pop("id", None)
    if is_last:
        _drop_last_breath(plain)
    return tostring(plain, encoding="unicode")


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


@dataclass(frozen=True, slots=True)
class RepeatedBars:
    """Bars that are played several times in a row.

    first, count : index of the first, and how many are played the first time.
    times : how often; twice where endings differ.
    ending, other : how many of them, the last, are played the first time only, and how many the last time in their
        place.
    """

    first: int
    count: int
    times: int
    ending: int = 0
    other: int = 0

    @property
    def saved(self) -> int:
        """Bars that need not be written again."""
        return (self.count - self.ending) * (self.times - 1)

    @property
    def end(self) -> int:
        """Index after the last bar, all times and endings played."""
        return self.first + self.count + self.saved + self.other


def _cuts(sheet: Sheet) -> list[int]:
    """Bars at which what is repeated may begin or end: where parts do, and where the source plays bars again."""
    edges = {edge for part in sheet.parts for edge in (part.onset, part.end)}
    numbers = [bar.printed.number for bar in sheet.bars]
    jumps = {index for index, (one, after) in enumerate(pairwise(numbers), start=1) if after != one + 1}
    targets = {numbers.index(numbers[index]) for index in jumps}
    at_edges = {index for index, bar in enumerate(sheet.bars) if index == 0 or bar.onset in edges}
    return sorted(at_edges | jumps | targets | {len(sheet.bars)})


def _with_endings(sheet: Sheet) -> Iterator[RepeatedBars]:
    """The stretches that the source plays twice, maybe with another end: its numbers of the bars go back, then on."""
    numbers = [bar.printed.number for bar in sheet.bars]
    goes_on = [after == one + 1 for one, after in pairwise(numbers)]
    firsts = {number: index for index, number in reversed(list(enumerate(numbers)))}
    for again in range(1, len(numbers)):
        first = firsts[numbers[again]]
        if goes_on[again - 1] or first == again or not all(goes_on[first : again - 1]):
            continue
        after = next((index + 1 for index in range(again, len(goes_on)) if not goes_on[index]), len(numbers))
        ending = again - first - (after - again)
        if ending <= 0:
            # another pickup may fill the last bar each time
            yield RepeatedBars(first, again - first, 2, 1, 1)
        elif after < len(numbers) and numbers[after] == numbers[again - 1] + 1:
            # how long the source's second bracket is the phrase does not know: it is drawn as long as the first, or
            # up to where the bars next go back
            other = 1
            while other < ending and after + other < len(numbers) and goes_on[after + other - 1]:
                other += 1
            yield RepeatedBars(first, again - first, 2, ending, other)


def repeated_bars(measures: Sequence[Element], sheet: Sheet) -> tuple[RepeatedBars, ...]:
    """The bars that come again at once, whole parts or what the source itself repeats, none within others.

    measures : of the sheet, one for each of its bars.
    """
    inside = [_likeness(one, is_first=index == 0, is_last=False) for index, one in enumerate(measures)]
    ending = [_likeness(one, is_first=index == 0, is_last=True) for index, one in enumerate(measures)]

    def times(first: int, count: int) -> int:
        found = 1
        while True:
            again = first + found * count
            is_same = (
                again + count <= len(measures)
                and inside[first : first + count - 1] == inside[again : again + count - 1]
                and ending[first + count - 1] == ending[again + count - 1]
            )
            if not is_same:
                return found
            found += 1

    cuts = _cuts(sheet)

    def has_alike(one: RepeatedBars) -> bool:
        again, body = one.first + one.count, one.count - one.ending
        if body <= 0 or inside[one.first : one.first + body] != inside[again : again + body]:
            return False
        return not any(_ties_on(measures[:stop]) for stop in (one.first + body, again, again + body))

    with_endings = {one.first: one for one in _with_endings(sheet) if has_alike(one)}
    repeats: list[RepeatedBars] = []
    done = 0
    for place, first in enumerate(cuts[:-1]):
        if first < done:
            continue
        ways = [RepeatedBars(first, end - first, times(first, end - first)) for end in cuts[place + 1 :]]
        ways += [with_endings[first]] if first in with_endings else []
        best = max(ways, key=lambda one: (one.saved, -one.count))
        if best.saved and not _ties_on(measures[first : first + best.count]):
            repeats.append(best)
            done = best.end
    return tuple(repeats)


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


def _bracket(measures: Sequence[Element], number: int, *, ends: str) -> None:
    """Set the bracket of an ending over bars; it closes ("stop") or stays open at its end ("discontinue")."""
    for measure, location, kind in ((measures[0], "left", "start"), (measures[-1], "right", ends)):
        line = measure.find(f"barline[@location='{location}']")
        if line is None:
            line = _barline(measure, location)
        ending = Element("ending", number=str(number), type=kind)
        if kind == "start":
            ending.text = f"{number}."
        # the schema has it before the repeat sign and after the style of the line
        line.insert(len(line.findall("bar-style")), ending)


def fold_repeated(part: Element, repeated: Iterable[RepeatedBars]) -> None:
    """Write bars that come again at once, as `repeated_bars` finds them, only once, in place."""
    measures = part.findall("measure")
    for one in repeated:
        again = one.first + one.count
        _mark(measures[one.first : again], one.times)
        if one.ending:
            _bracket(measures[again - one.ending : again], 1, ends="stop")
            _bracket(measures[again + one.saved : one.end], 2, ends="discontinue")
        for measure in measures[again : again + one.saved]:
            part.remove(measure)
