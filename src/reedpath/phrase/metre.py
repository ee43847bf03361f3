"""Bars: where they begin and end, and where in a bar a beat falls."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from reedpath.errors import PhraseError
from reedpath.phrase.events import Metre, Phrase

__all__ = ["Bar", "BarPlace", "bar_label", "bar_place", "bars", "beat_of"]

# a metre where a phrase gives none; common practice, no source
COMMON_TIME = Metre(Fraction(0), 4, 4)
# bars; a bound for phrases that contradict themselves (a note a million bars away), not a musical one
MOST_BARS = 100_000


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar.

    number : 1 for the first full bar, 0 for the pickup before it.
    onset, end : beats; the end is the next bar's onset.
    metre : the metre in force.
    """

    number: int
    onset: Fraction
    end: Fraction
    metre: Metre


@dataclass(frozen=True, slots=True)
class BarPlace:
    """Where a beat falls: in which bar, and how many beats (quarter notes) after its bar line.

    In a pickup the beats are counted as if the bar were whole, so that a pickup of one beat in 4/4 starts
    at beat 3.
    """

    number: int
    beats: Fraction


def beat_of(metre: Metre) -> Fraction:
    """
    What is counted as one beat, in quarter notes: three units in compound metres (6/8, 9/8, 12/8), else the unit.

    >>> beat_of(Metre(Fraction(0), 6, 8)), beat_of(Metre(Fraction(0), 7, 8))
    (Fraction(3, 2), Fraction(1, 2))
    """
    compound = metre.unit >= 8 and metre.count > 3 and metre.count % 3 == 0
    return Fraction(4, metre.unit) * (3 if compound else 1)


def metres_of(phrase: Phrase) -> tuple[Metre, ...]:
    """The metres of a phrase in order, 4/4 from the start where it gives none."""
    metres = sorted(phrase.metres, key=lambda metre: metre.onset)
    for metre in metres:
        if metre.count < 1 or metre.unit < 1:
            raise PhraseError(f"a metre of {metre.count}/{metre.unit}: both are at least 1")
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

    Parameters
    ----------
    until : beat to which bars are wanted; the phrase's end where None.

    Raises
    ------
    PhraseError
        For a metre that cannot be, and for more than 100,000 bars.
    """
    end = phrase.end if until is None else until
    found: list[Bar] = []
    if phrase.pickup > 0 and end > 0:
        found.append(Bar(0, Fraction(0), phrase.pickup, metres_of(phrase)[0]))
    for number, (start, stop, metre) in enumerate(_spans(phrase, end), start=1):
        if number > MOST_BARS:
            raise PhraseError(f"the phrase runs over more than {MOST_BARS:,} bars")
        found.append(Bar(number, start, stop, metre))
    return tuple(found)


def bar_place(bars: tuple[Bar, ...], beats: Fraction) -> BarPlace:
    """Bar and beat of a moment, in beats from the phrase's start; past the last bar its count runs on.

    Raises
    ------
    PhraseError
        Where there are no bars, or the moment lies before the first.
    """
    index = bisect_right(bars, beats, key=lambda bar: bar.onset) - 1
    if index < 0:
        raise PhraseError(f"beat {beats} lies in no bar")
    bar = bars[index]
    if bar.number == 0:
        return BarPlace(0, bar.metre.bar - (bar.end - beats))
    return BarPlace(bar.number, beats - bar.onset)


def bar_label(bars: tuple[Bar, ...], beats: Fraction) -> str:
    """Where a beat stands, in the words that places are given in.

    >>> bar_label((Bar(1, Fraction(0), Fraction(4), COMMON_TIME),), Fraction(3, 2))
    'bar 1'
    """
    return f"bar {bar_place(bars, beats).number}"
