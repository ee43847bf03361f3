"""Metre: what its beat is, how its units are grouped, where bars begin and end, and where in a bar a beat falls.

The one place that knows. A click, a ribbon, a film and a band go by `beat_of`, lengths told in words and tempos to
practise at by `practice_beat`, notation by `groups_of`:

    metre        beat             in practice      groups
    4/4, 3/4     quarter          quarter          the beats
    2/2          half             quarter          the beats
    6/8, 9/8     dotted quarter   dotted quarter   the beats
    3/8          eighth           eighth           the bar
    6/4          quarter          quarter          two dotted halves
    7/8          eighth           eighth           2 + 2 + 3 eighths

Theory calls a metre compound where its upper number is 6, 9, 12 ... and divides it into beats of three units
("Compound meters", reference of teoria.com). 3/8 is simple by that rule, three eighths; its bar is one beat only
where it goes fast, which no time signature tells. 6/4 is compound, and so are its groups. But a beat is felt from
about 240 down to 40 a minute (London, "Hearing in Time", 2nd edition 2012, chapter 2, abstract), which is where a
metronome's scale begins too. At the default tempo of 100 quarters a minute the dotted half of 6/4 comes 33 times, and
a lesson begins slower still: so what is counted and clicked in 6/4 is the quarter.

Bars are told to people by the numbers that they have in the source, and by which time each is played: where repeats
are written out, where only some bars of a source are taken, or where its first bar is no 1, counting gives others.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator
from fractions import Fraction

from msgspec import Struct

from reedpath.errors import PhraseError
from reedpath.phrase.events import Event, Metre, Phrase

# a metre where a phrase gives none; common practice, no source
COMMON_TIME = Metre(Fraction(0), 4, 4)
# bars; a bound for phrases that contradict themselves (a note a million bars away), not a musical one
MOST_BARS = 100_000
# lower number of a metre from which on three units are one beat, and from which on units are grouped by beams;
# see above, and common practice, no source
SHORT_UNIT = 8
# quarter notes of the longest beat that is practised slowly: a dotted quarter; common practice, no source
LONGEST_PRACTISED = Fraction(3, 2)
# "12a" and "12 (2)" are bar 12; "X1", as MusicXML names the second half of a bar that a repeat cuts, has no number
_NUMBER = re.compile(r"\d{1,9}")


class Bar(Struct, frozen=True):
    """One bar.

    number : 1 for the first full bar, 0 for the pickup before it.
    onset, end : beats; the end is the next bar's onset.
    metre : the metre in force.
    """

    number: int
    onset: Fraction
    end: Fraction
    metre: Metre

    @property
    def beats(self) -> tuple[Fraction, ...]:
        """Onsets of its beats, after its own start, which is the first; a pickup's beats count back from its end."""
        beat = beat_of(self.metre)
        first = self.onset + (self.end - self.onset) % beat if self.number == 0 else self.onset
        count = -((first - self.end) // beat)
        beats = [first + index * beat for index in range(count)]
        return tuple(beats if first == self.onset else [self.onset, *beats])


class CountedBeat(Struct, frozen=True):
    """A beat that is counted aloud.

    onset : beats (quarter notes) from the start of the phrase, negative in a count-in.
    first : whether it is the first of its bar.
    """

    onset: Fraction
    first: bool


class BarPlace(Struct, frozen=True):
    """Where a beat falls: in which bar, and how many beats (quarter notes) after its bar line.

    In a pickup the beats are counted as if the bar were whole, so that a pickup of one beat in 4/4 starts
    at beat 3.
    """

    number: int
    beats: Fraction


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


def is_compound(count: int) -> bool:
    """
    Whether a metre of so many units divides into beats of three.

    >>> [count for count in range(1, 13) if is_compound(count)]
    [6, 9, 12]
    """
    return count > 3 and count % 3 == 0


def beat_of(metre: Metre) -> Fraction:
    """
    What is counted and clicked as one beat, in quarter notes.

    Three units in compound metres of eighths and shorter notes (6/8, 9/8, 12/8, 6/16), else the unit: an eighth in
    3/8, a quarter in 6/4. The module says why.

    >>> [str(beat_of(Metre(Fraction(0), *metre))) for metre in ((6, 8), (7, 8), (3, 8), (6, 4), (2, 2))]
    ['3/2', '1/2', '1/2', '1', '2']
    """
    return Fraction(4, metre.unit) * (3 if is_compound(metre.count) and metre.unit >= SHORT_UNIT else 1)


def practice_beat(metre: Metre) -> Fraction:
    """
    What is counted as one beat in slow practice, in quarter notes: longer beats than a dotted quarter go by quarters.

    A lesson goes slowly and a metronome does not (its scale begins at 40).

    >>> [str(practice_beat(Metre(Fraction(0), *metre))) for metre in ((6, 8), (3, 4), (2, 2))]
    ['3/2', '1', '1']
    """
    beat = beat_of(metre)
    return beat if beat <= LONGEST_PRACTISED else Fraction(1)


def groups_of(metre: Metre) -> tuple[Fraction, ...]:
    """
    The groups that beams and cut notes make plain in a bar, in quarter notes.

    Three units each in compound metres and in 3/8, whose bar is beamed as one; twos and a last three in other metres
    of short units; else the units themselves (common practice of engravers, no source).

    >>> [[str(group) for group in groups_of(Metre(Fraction(0), *metre))] for metre in ((6, 4), (3, 8), (7, 8))]
    [['3', '3'], ['3/2'], ['1', '1', '3/2']]
    """
    count, is_short = metre.count, metre.unit >= SHORT_UNIT
    if is_compound(count) or (count == 3 and is_short):
        sizes = [3] * (count // 3)
    elif is_short and count > 3:
        sizes = [2] * (count // 2 - 1) + [2 + count % 2]
    else:
        sizes = [1] * count
    return tuple(size * Fraction(4, metre.unit) for size in sizes)


def metre_at(phrase: Phrase, beats: Fraction) -> Metre:
    """The metre in force at a beat, 4/4 where the phrase gives none."""
    return next((metre for metre in reversed(phrase.metres) if metre.onset <= beats), COMMON_TIME)


def metres_of(phrase: Phrase) -> tuple[Metre, ...]:
    """The metres of a phrase in order, 4/4 from the start where it gives none."""
    metres = sorted(phrase.metres, key=lambda metre: metre.onset)
    for metre in metres:
        if metre.count < 1 or metre.unit < 1:
            raise PhraseError("phrase.metre", count=metre.count, unit=metre.unit)
    if not metres or metres[0].onset > 0:
        metres.insert(0, COMMON_TIME)
    return tuple(metres)


def _spans(phrase: Phrase, end: Fraction) -> Iterator[tuple[Fraction, Fraction, Metre]]:
    metres = metres_of(phrase)
    for index, metre in enumerate(metres):
        start = max(metre.onset, phrase.pickup)
        later = metres[index + 1].onset if index + 1 < len(metres) else None
        stop = end if later is None else max(later, phrase.pickup)
        while start < stop:
            bar_end = start + metre.bar if later is None else min(start + metre.bar, stop)
            yield start, bar_end, metre
            start = bar_end


def bars(phrase: Phrase, *, until: Fraction | None = None) -> tuple[Bar, ...]:
    """The bars of a phrase, the pickup first (as bar 0) where there is one.

    A change of metre begins a new bar, and cuts the one before short if it must. The last bar is whole,
    even where the phrase ends inside it.

    until : beat to which bars are wanted; the phrase's end where None.

    Raises `PhraseError` for a metre that cannot be, and for more than 100,000 bars.
    """
    end = phrase.end if until is None else until
    found: list[Bar] = []
    if phrase.pickup > 0 and end > 0:
        found.append(Bar(0, Fraction(0), phrase.pickup, metres_of(phrase)[0]))
    for number, (start, stop, metre) in enumerate(_spans(phrase, end), start=1):
        if number > MOST_BARS:
            raise PhraseError("phrase.too_many_bars", most=MOST_BARS)
        found.append(Bar(number, start, stop, metre))
    return tuple(found)


def bar_place(bars: tuple[Bar, ...], beats: Fraction) -> BarPlace:
    """Bar and beat of a moment, in beats from the phrase's start; past the last bar its count runs on.

    Raises `PhraseError` where there are no bars, or the moment lies before the first.
    """
    index = bisect_right(bars, beats, key=lambda bar: bar.onset) - 1
    if index < 0:
        raise PhraseError("phrase.no_bar_at", beat=beats)
    bar = bars[index]
    if bar.number == 0:
        return BarPlace(0, bar.metre.bar - (bar.end - beats))
    return BarPlace(bar.number, beats - bar.onset)


def counted_beats(phrase: Phrase, start: Fraction, end: Fraction) -> list[CountedBeat]:
    """The beats from ``start`` (which may lie before the phrase, in a count-in) up to ``end``."""
    metre = metre_at(phrase, Fraction(0))
    first = phrase.pickup
    while first > start:
        first -= metre.bar
    before = phrase.pickup - first
    whole = [Bar(0, first + at, first + at + metre.bar, metre) for at in _steps(before, metre.bar)]
    whole += [bar for bar in bars(phrase, until=end) if bar.number > 0]
    beats = [CountedBeat(beat, beat == bar.onset) for bar in whole for beat in bar.beats]
    return [beat for beat in beats if start <= beat.onset < end]


def _steps(length: Fraction, step: Fraction) -> list[Fraction]:
    return [index * step for index in range(int(length / step))]


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
        # the pickup of what is played next, at the end of a bar, does not give the bar its number
        number = numbers[0] if numbers else number + 1
        turns[number] += 1
        printed.append(PrintedBar(number, turns[number]))
    return tuple(printed)


def numbered_bars(phrase: Phrase) -> NumberedBars:
    """The bars of a phrase, at least one, with their numbers in the source."""
    found = bars(phrase) or (Bar(1, Fraction(0), Fraction(0), metre_at(phrase, Fraction(0))),)
    return NumberedBars(tuple(bar.onset for bar in found), printed_bars(phrase, found))
