"""A route as it is told: its events, lengths in counted beats and in words, and what is told at which of them."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from reedpath.arrange import Route, RouteEvent
from reedpath.harp import Alteration
from reedpath.lesson.overbend_advice import first_overbends
from reedpath.lesson.sentences import Speaker
from reedpath.lesson.time_signs import TimeSign, time_signs
from reedpath.lesson.together import first_together
from reedpath.phrase import Metre, is_compound, metre_at, practice_beat

# counted beats from which a length is said; common practice, no source
HELD_BEATS = 2
# counted beats from which a rest is counted, and from which it is said at all; common practice, no source
COUNTED_REST, SAID_REST = Fraction(1), Fraction(1, 2)
# unit of the metres in which parts of a compound beat are counted; common practice, no source
EIGHTH = 8


def has_eighths(metre: Metre) -> bool:
    """Whether beats of a metre are told in eighths where they are not whole, and not in halves."""
    return is_compound(metre.count) and metre.unit == EIGHTH


def _counted(length: Fraction, metre: Metre) -> Fraction:
    """A length in counted beats, to the nearest half."""
    return Fraction(round(2 * length / practice_beat(metre)), 2)


def length_words(length: Fraction, metre: Metre, speaker: Speaker) -> str:
    """A length in words: "two beats", "a beat and a half", "four eighths" within compound beats."""
    units = length * metre.unit / 4
    if has_eighths(metre) and units.denominator == 1 and units % 3:
        return speaker.say("beats.eighths", count=int(units))
    counted = _counted(length, metre)
    whole = int(counted)
    return speaker.say("beats.whole" if counted == whole else "beats.half", count=whole)


@dataclass(frozen=True, slots=True)
class SpokenRoute:
    """A route as it is told: its events, their lengths in counted beats, the words.

    route : whose events.
    tokens : its notes and silences as numbers (see `repeats`).
    speaker : in which words.
    signs : its changes of tempo and metre.
    together : events at which several holes sound together that did not before.
    overbends : events that bring the first overblow or overdraw.
    """

    route: Route
    tokens: tuple[int, ...]
    speaker: Speaker
    signs: tuple[TimeSign, ...] = field(init=False)
    together: frozenset[int] = field(init=False)
    overbends: dict[int, tuple[Alteration, ...]] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "signs", time_signs(self.route.phrase))
        object.__setattr__(self, "together", first_together(self.route))
        object.__setattr__(self, "overbends", first_overbends(self.route))

    def event(self, index: int) -> RouteEvent:
        """The route's event of that index."""
        return self.route.events[index]

    def counted(self, index: int, length: Fraction) -> Fraction:
        """A length in counted beats at an event, to the nearest half."""
        return _counted(length, metre_at(self.route.phrase, self.event(index).event.onset))

    def length_words(self, index: int, length: Fraction) -> str:
        """A length at an event in words."""
        return length_words(length, metre_at(self.route.phrase, self.event(index).event.onset), self.speaker)

    def gap(self, index: int) -> Fraction:
        """Silence before an event in beats (quarter notes), from the phrase's start before the first."""
        before = self.event(index - 1).event.end if index else Fraction(0)
        return max(Fraction(0), self.event(index).event.onset - before)

    def silence(self, index: int) -> Fraction:
        """Silence before an event in counted beats."""
        return self.counted(index, self.gap(index))

    def held(self, index: int) -> Fraction:
        """Length of an event in counted beats where it is long enough to be said, else 0."""
        counted = self.counted(index, self.event(index).event.duration)
        return counted if counted >= HELD_BEATS else Fraction(0)

    def paused(self, index: int) -> bool:
        """Whether something is said between the event before and this one."""
        return self.event(index).breathe_before or self.silence(index) >= SAID_REST
