"""The numbers of bars as the source has them, and which time each is played: how bars are told to people.

Where repeats are written out, where only some bars of a source are taken, or where its first bar is no 1, the bars of
a phrase, counted, have other numbers than those that a teacher sees in her source.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction

from msgspec import Struct

from reedpath.phrase.events import Event, Phrase
from reedpath.phrase.metre import Bar, bars, metre_at

__all__ = ["NumberedBars", "PrintedBar", "numbered_bars", "printed_bars"]

# "12a" and "12 (2)" are bar 12; "X1", as MusicXML names the second half of a bar that a repeat cuts, has no number
_NUMBER = re.compile(r"\d{1,9}")


class PrintedBar(Struct, frozen=True):
    """A bar as the source has it: its number there, 0 for a pickup, and the how-manieth time it is played, from 1."""

    number: int
    turn: int

    @property
    def mark(self) -> str:
        """
        The bar where there is little room: its number, and from the second time on which; nothing for a pickup.

        >>> [PrintedBar(*bar).mark for bar in ((6, 1), (6, 2), (0, 1))]
        ['6', '6 (2)', '']
        """
        if self.number == 0:
            return ""
        return str(self.number) if self.turn == 1 else f"{self.number} ({self.turn})"


class NumberedBars(Struct, frozen=True):
    """The bars of a phrase with the numbers that they have in the source.

    onsets : beats at which the bars begin, ascending. printed : their numbers, as many.
    """

    onsets: tuple[Fraction, ...]
    printed: tuple[PrintedBar, ...]

    def at(self, beats: Fraction) -> PrintedBar:
        """The bar that a beat lies in; the first for what lies before it, the last for what lies after."""
        return self.printed[max(0, bisect_right(self.onsets, beats) - 1)]

    def between(self, first: Fraction, last: Fraction) -> tuple[PrintedBar, ...]:
        """The bars from that of one beat to that of another."""
        start, stop = (max(0, bisect_right(self.onsets, beats) - 1) for beats in (first, last))
        return self.printed[start : stop + 1]


def _numbers(events: Iterable[Event]) -> tuple[list[int], bool]:
    """Numbers that events name their bar by, and whether they name it at all."""
    labels = [event.place.bar for event in events if event.place.bar is not None]
    found = (_NUMBER.match(str(label)) for label in labels)
    return [int(number.group()) for number in found if number], bool(labels)


def printed_bars(phrase: Phrase, found: tuple[Bar, ...]) -> tuple[PrintedBar, ...]:
    """
    The number that each bar of a phrase has in the source, told by its events' places, and which time it is played.

    A bar without such a place follows on from the one before, or leads up to the first that has one; one whose place
    is no number goes on with the bar before. Where no event has a place, bars are counted.
    """
    onsets = [event.onset for event in phrase.events]
    inside = [phrase.events[bisect_left(onsets, bar.onset) : bisect_left(onsets, bar.end)] for bar in found]
    named = [_numbers(events) for events in inside]
    first = next((index for index, (numbers, _) in enumerate(named) if numbers), None)
    before = -1 if first is None else min(named[first][0]) - first - 1
    if first is None or before < (-1 if found[0].number == 0 else 0):
        before = found[0].number - 1 if found else 0
    printed: list[PrintedBar] = []
    turns: Counter[int] = Counter()
    number = before
    for numbers, is_named in named:
        if printed and is_named and not numbers:
            printed.append(printed[-1])
            continue
        number = min(numbers) if numbers else number + 1
        turns[number] += 1
        printed.append(PrintedBar(number, turns[number]))
    return tuple(printed)


def numbered_bars(phrase: Phrase) -> NumberedBars:
    """The bars of a phrase, at least one, with their numbers in the source."""
    found = bars(phrase) or (Bar(1, Fraction(0), Fraction(0), metre_at(phrase, Fraction(0))),)
    return NumberedBars(tuple(bar.onset for bar in found), printed_bars(phrase, found))
