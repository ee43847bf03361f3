"""Routes whose beats are divided in two, as they are asked for and as somebody plays them otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import cycle

from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.phrase import Metre, Tempo

# quarters of a note of a whole beat between the pairs, in pairs, as in tunes
PAIRS_TO_A_BEAT = 3


@dataclass(frozen=True)
class Divided:
    """A way to divide beats.

    pair : quarters that a pair of notes lasts. ratio : times that its first note is as long as the second.
    pairs : to a beat. compound : whether it is written in 12/8.
    """

    pair: Fraction
    ratio: Fraction
    pairs: int = 1
    compound: bool = False

    def as_played(self, ratio: float) -> Divided:
        """The same with a first note so many times as long as the second."""
        return Divided(self.pair, Fraction(ratio).limit_denominator(60), self.pairs, self.compound)


EIGHTHS = Divided(Fraction(1), Fraction(1))
SIXTEENTHS = Divided(Fraction(1, 2), Fraction(1), pairs=2)
TRIPLET = Divided(Fraction(1), Fraction(2))
TWELVE_EIGHT = Divided(Fraction(3, 2), Fraction(2), compound=True)
DOTTED = Divided(Fraction(1), Fraction(3))


def divided(route: Route, way: Divided, *, bpm: float) -> Route:
    """The moves of a route in pairs of notes, after every third beat one that lasts a whole beat.

    bpm : beats a minute, dotted quarters in 12/8.
    """
    first = way.pair * way.ratio / (1 + way.ratio)
    beat = way.pair * way.pairs
    lengths = cycle([*[first, way.pair - first] * (way.pairs * PAIRS_TO_A_BEAT), beat])
    at, ways = Fraction(0), []
    for one, length in zip(route.events, lengths, strict=False):
        ways.append(replace(one, event=replace(one.event, onset=at, duration=length)))
        at += length
    phrase = replace(
        route.phrase,
        events=tuple(one.event for one in ways),
        metres=(Metre(Fraction(0), 12, 8) if way.compound else Metre(Fraction(0), 4, 4),),
        tempos=(Tempo(Fraction(0), bpm * float(beat)),),
        swing=Fraction(1),
        pickup=Fraction(0),
    )
    return replace(route, phrase=phrase, events=tuple(ways))
