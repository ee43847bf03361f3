"""The beats that a click counts, laid over a phrase's bars and on before them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from reedpath.phrase import Metre, Phrase, bars, beat_of

__all__ = ["CountedBeat", "bar_starts", "counted_beats", "first_metre"]

# a metre where a phrase gives none; common practice, no source
COMMON_TIME = Metre(Fraction(0), 4, 4)


@dataclass(frozen=True, slots=True)
class CountedBeat:
    """A beat that is counted aloud.

    onset : beats (quarter notes) from the start of the phrase, negative in a count-in.
    first : whether it is the first of its bar.
    """

    onset: Fraction
    first: bool


def first_metre(phrase: Phrase) -> Metre:
    """The metre that a phrase starts in."""
    return next((metre for metre in phrase.metres if metre.onset == 0), COMMON_TIME)


def bar_starts(phrase: Phrase, end: Fraction) -> list[Fraction]:
    """Beats at which full bars start, from the end of the pickup up to, not including, ``end``."""
    return [bar.onset for bar in bars(phrase, until=end) if bar.number > 0]


def _beats_between(start: Fraction, end: Fraction, length: Fraction) -> list[CountedBeat]:
    count = -((start - end) // length)
    return [CountedBeat(start + index * length, index == 0) for index in range(count)]


def counted_beats(phrase: Phrase, start: Fraction, end: Fraction) -> list[CountedBeat]:
    """The counted beats from ``start`` (which may lie before the phrase, in a count-in) up to ``end``."""
    metre = first_metre(phrase)
    found: list[CountedBeat] = []
    at = phrase.pickup
    while at > start:
        at -= metre.bar
        found = _beats_between(at, at + metre.bar, beat_of(metre)) + found
    for bar in bars(phrase, until=end):
        if bar.number > 0:
            found += _beats_between(bar.onset, bar.end, beat_of(bar.metre))
    return [beat for beat in found if start <= beat.onset < end]
