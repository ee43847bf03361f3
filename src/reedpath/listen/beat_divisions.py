"""How the beats of a route are divided in two, and what that lets one ask of their playing.

Four divisions are told apart, by what is written in a beat:

    eighths       a quarter in halves; as long as each other, or as the phrase swings
    sixteenths    an eighth in halves, as long as each other
    long short    a quarter and an eighth: under a 3 in a beat of a quarter, or as the beat of 6/8, 9/8 and 12/8;
                  twice as long
    dotted        a dotted eighth and a sixteenth; three times as long

A shuffle is written as any of the first, the third and, loosely, the fourth: it is two to one, and not dotted
(German Wikipedia). So a dotted pair that is played two to one is as asked too (common practice of writers, no
source). Beats that hold other notes tell nothing, and neither do 3/8, 5/8, 7/8, nor the sixteenths and dotted notes
of a phrase whose eighths swing.
"""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Route, RouteEvent
from reedpath.data import replace
from reedpath.listen.answer_kinds import BeatDivision
from reedpath.listen.expected import Score
from reedpath.phrase import Metre, Phrase, beat_of, metre_at, timing_of

Float64 = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# notes on beats that must be heard for anything to be told; common practice, no source
FEWEST_ON_BEATS = 4
# lower number of a metre up to which quarters have halves of their own; not those of 6/8 or 7/8
SHORTEST_UNIT = 4
QUARTER, DOTTED_QUARTER = Fraction(1), Fraction(3, 2)
HALF, TWO_THIRDS, FOURTH, THREE_FOURTHS = Fraction(1, 2), Fraction(2, 3), Fraction(1, 4), Fraction(3, 4)
# what a reader says of a source whose sixteenths swing, which a phrase does not carry (`phrase.left_out`)
SIXTEENTHS_SWING = "short-swing"


@dataclass(frozen=True, slots=True)
class DivisionAsked:
    """What is asked of a division.

    ratio : times that the first note of a pair is as long as the second. least : as few times as do as well.
    written : where in its pair the second note is written, 0 to 1.
    beat_share : length of a pair, as a share of a beat.
    fewest : pairs that must be heard for anything to be told.
    """

    ratio: float
    least: float
    written: float
    beat_share: float = 1.0
    fewest: int = 5


# fewest pairs: common practice, no source; sixteenths lie half as far apart as eighths, so that the jitter of onsets
# is twice the share of what is measured
ASKED = {
    BeatDivision.EIGHTHS: DivisionAsked(1.0, 1.0, 0.5),
    BeatDivision.SIXTEENTHS: DivisionAsked(1.0, 1.0, 0.5, beat_share=0.5, fewest=8),
    BeatDivision.LONG_SHORT: DivisionAsked(2.0, 2.0, 2.0 / 3.0),
    BeatDivision.DOTTED: DivisionAsked(3.0, 2.0, 0.75),
}


@dataclass(frozen=True, slots=True, eq=False)
class SwingGround:
    """What a route lets one ask of one division; arrays of shape (events of the score,).

    division : which. asked : of it.
    even_seconds : onsets at the written tempo, all beats halved evenly. beat_seconds : length of a quarter there.
    pair_seconds : length of a pair.
    on_beat : which begin on a beat, or on an eighth where these are divided. is_second : which are second notes that
        tell. goes_along : which are second notes, also those that begin with a glide or a run and so tell nothing.
    events : their indexes in the route.
    """

    division: BeatDivision
    asked: DivisionAsked
    even_seconds: Float64
    beat_seconds: Float64
    pair_seconds: Float64
    on_beat: Bools
    is_second: Bools
    goes_along: Bools
    events: npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _PlaceInBeat:
    """Where an event begins.

    beat : onset of its beat. length : of that beat, quarters. share : of it that lies before the event.
    """

    beat: Fraction
    length: Fraction
    share: Fraction

    @property
    def key(self) -> tuple[Fraction, Fraction]:
        """The beat that it lies in."""
        return self.beat, self.length


def _place(phrase: Phrase, onset: Fraction) -> _PlaceInBeat | None:
    """Where in its beat something begins; None in metres whose beats have no two halves or thirds."""
    metre = metre_at(phrase, onset)
    length = _beat_length(metre)
    if length is None:
        return None
    first = max(metre.onset, phrase.pickup) if length == DOTTED_QUARTER else phrase.pickup % 1
    beat, rest = divmod(onset - first, length)
    return _PlaceInBeat(first + beat * length, length, rest / length)


def _beat_length(metre: Metre) -> Fraction | None:
    if metre.unit <= SHORTEST_UNIT:
        return QUARTER
    return DOTTED_QUARTER if beat_of(metre) == DOTTED_QUARTER else None


def _straight_beats(phrase: Phrase) -> frozenset[int]:
    """Beats of a quarter that are played as written whatever the swing: with triplets, or said to be so."""
    return timing_of(replace(phrase, swing=Fraction(2))).straight_beats


def _division(
    place: _PlaceInBeat, held: set[Fraction], phrase: Phrase, straight: Collection[int]
) -> BeatDivision | None:
    """Which division an event is the second note of.

    held : shares of its beat at which notes begin. straight : beats that do not swing.
    """
    share = place.share
    if place.length == DOTTED_QUARTER:
        is_long_short = phrase.swing == 1 and share == TWO_THIRDS and held <= {Fraction(0), TWO_THIRDS}
        return BeatDivision.LONG_SHORT if is_long_short else None
    number = int((place.beat - phrase.pickup % 1) // 1)
    if share == HALF and held <= {Fraction(0), HALF}:
        return BeatDivision.EIGHTHS if number not in straight else None
    if share == TWO_THIRDS and held <= {Fraction(0), TWO_THIRDS}:
        return BeatDivision.LONG_SHORT
    if phrase.swing != 1:
        return None
    if share == THREE_FOURTHS and held == {Fraction(0), THREE_FOURTHS}:
        return BeatDivision.DOTTED
    in_fourths = held <= {Fraction(0), FOURTH, HALF, THREE_FOURTHS}
    if in_fourths and share in (FOURTH, THREE_FOURTHS) and share - FOURTH in held:
        return BeatDivision.SIXTEENTHS
    return None


def _is_ornamented(one: RouteEvent) -> bool:
    """Whether a note begins with something else than itself, so that it tells nothing of the time."""
    return bool(one.event.grace or one.choice.lead_in or one.choice.attack_semitones)


def _is_anchor(place: _PlaceInBeat, division: BeatDivision) -> bool:
    """Whether a note tells where the beats lie that are divided so."""
    if division is BeatDivision.SIXTEENTHS:
        return place.length == QUARTER and place.share in (0, HALF)
    return place.share == 0


def _asked(division: BeatDivision, phrase: Phrase) -> DivisionAsked | None:
    """What a phrase asks of a division; None where it is not known."""
    asked, swing = ASKED[division], float(phrase.swing)
    if division is BeatDivision.SIXTEENTHS and any(one.kind == SIXTEENTHS_SWING for one in phrase.left_out):
        return None
    return dataclasses.replace(asked, ratio=swing, least=swing) if division is BeatDivision.EIGHTHS else asked


def swing_grounds(route: Route, score: Score) -> tuple[SwingGround, ...]:
    """What a route lets one ask, for each division that enough of its beats have."""
    phrase, ways = route.phrase, [route.events[expected.index] for expected in score.events]
    even, straight = timing_of(replace(phrase, swing=Fraction(1))), _straight_beats(phrase)
    all_places = [None if event.grace else _place(phrase, event.onset) for event in phrase.events]
    held: dict[tuple[Fraction, Fraction], set[Fraction]] = defaultdict(set)
    for at in all_places:
        if at is not None:
            held[at.key].add(at.share)
    plain = np.array([not _is_ornamented(one) for one in ways], dtype=np.bool_)
    places = [all_places[expected.index] for expected in score.events]
    divisions = [None if at is None else _division(at, held[at.key], phrase, straight) for at in places]
    even_seconds = np.array([even.seconds_at(one.event.onset) for one in ways])
    beat_seconds = score.array("beat_seconds")
    lengths = beat_seconds * np.array([1.0 if at is None else float(at.length) for at in places])
    events = np.array([one.index for one in score.events], dtype=np.intp)
    grounds = []
    for division in BeatDivision:
        asked = _asked(division, phrase)
        goes_along = np.array([one is division for one in divisions], dtype=np.bool_)
        is_second = plain & goes_along
        on_beat = plain & np.array([at is not None and _is_anchor(at, division) for at in places], dtype=np.bool_)
        if asked is not None and is_second.sum() >= asked.fewest and on_beat.sum() >= FEWEST_ON_BEATS:
            pair_seconds = lengths * asked.beat_share
            grounds.append(
                SwingGround(
                    division, asked, even_seconds, beat_seconds, pair_seconds, on_beat, is_second, goes_along, events
                )
            )
    return tuple(grounds)
