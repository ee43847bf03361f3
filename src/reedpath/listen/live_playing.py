"""Live: where in a route a player is, and how far off, while he or she plays along with a sound.

The sound's own clock says which events are due; of those, the one is taken that explains the pitch best, by the same
measure as for a recorded take (`reedpath.listen.fit`), early and late counted against it. So a note that comes a
little early is still its own event's, and a wrong note is the event's in whose time it falls.
"""

from __future__ import annotations

from bisect import bisect_right
from math import inf, isnan
from operator import itemgetter

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from reedpath.arrange import Route
from reedpath.harp import Harp, Move, Notation, format_move, load_notation
from reedpath.listen.expected import Expected, score_of, sounding_midi
from reedpath.listen.fit import pitch_fit
from reedpath.listen.judging import LATE_SECONDS, cents_told
from reedpath.listen.live import LiveListener, LiveMove

# the event of a sound that belongs to none
NO_EVENT = -1
# standard deviations of LATE_SECONDS beyond which an event is not looked at: there even the best pitch can't speak
# for it (its log likelihood is 2.9, and 3 deviations cost 4.5)
WIDEST_DEVIATIONS = 3.0
# semitones beyond the course of an event in which a pitch is still drawn on its hole
NEAR_COURSE = 0.5


class LiveMark(Struct, frozen=True, array_like=True):
    """A moment of sound, as it is drawn.

    seconds : on the clock that came with the sound.
    hole, semitones : on whose cord, and how far above the natural note of its breath.
    event : index of the route's event that it belongs to, `NO_EVENT` for none.
    cents : pitch less the event's target, or less that of the move that sounds.
    is_right : whether it is its event's note, and no further off than is told of a recorded take.
    sign : the move that sounds, as tab.
    hz : pitch.
    """

    seconds: float
    hole: int
    semitones: float
    event: int
    cents: float
    is_right: bool
    sign: str
    hz: float


class DueEvents:
    """Tells which event a pitch belongs to at a moment.

    route : what is played. factor : of its written tempo.
    """

    def __init__(self, route: Route, factor: float = 1.0) -> None:
        self.events = score_of(route).events
        self._starts = [event.start_seconds / factor for event in self.events]
        self._ends = [event.end_seconds / factor for event in self.events]
        self._beyond = WIDEST_DEVIATIONS * LATE_SECONDS
        # the first event that sounds as long as the one at this place or longer, so that none is passed over
        self._until = np.maximum.accumulate(self._ends).tolist() if self._ends else []

    def at(self, seconds: float, midi: float) -> Expected | None:
        """The event that a pitch belongs to, None for one that is in no event's time and no neighbour's.

        seconds : from beat 0, at the tempo that is played. midi : MIDI number with its fraction.
        """
        own: tuple[float, Expected | None] = (-inf, None)
        beside: tuple[float, Expected | None] = (0.0, None)  # what lies outside its time must speak for itself
        for place in range(bisect_right(self._starts, seconds + self._beyond) - 1, -1, -1):
            if self._until[place] < seconds - self._beyond:
                break
            event, outside = self.events[place], max(self._starts[place] - seconds, seconds - self._ends[place], 0.0)
            fit = float(pitch_fit(np.array([midi]), event.midi, event.low, event.high)[0])
            worth = fit - 0.5 * (outside / LATE_SECONDS) ** 2
            if outside == 0.0:
                own = max(own, (worth, event), key=itemgetter(0))
            else:
                beside = max(beside, (worth, event), key=itemgetter(0))
        return max(own, beside, key=itemgetter(0))[1] if beside[1] is not None else own[1]


class LivePlaying:
    """Follows a player through a route, or freely, block by block.

    Parameters
    ----------
    harp : the instrument. rate : of the blocks, hertz.
    route : what is played along; None for playing freely. factor : of its written tempo.
    notation : in which moves are written.
    """

    def __init__(
        self,
        harp: Harp,
        rate: int,
        *,
        route: Route | None = None,
        factor: float = 1.0,
        notation: Notation | str = "sign",
    ) -> None:
        self.harp, self._rate = harp, rate
        self._listener = LiveListener(harp, rate, route=route)
        self._due = DueEvents(route, factor) if route is not None else None
        self._notation = load_notation(notation) if isinstance(notation, str) else notation
        self._signs: dict[Move, str] = {}
        self._naturals: dict[Move, tuple[float, ...]] = {}
        self._fed = 0

    def feed(self, block: npt.NDArray[np.float32], seconds: float) -> tuple[LiveMark | None, ...]:
        """
        Take in a block of one channel, shape (frames,).

        Parameters
        ----------
        seconds : when its first frame sounds, from beat 0 of what is played along; any clock for playing freely.

        Returns
        -------
        What is new since the last block, every 4 ms; None for silence.
        """
        ahead = seconds - self._fed / self._rate
        self._fed += len(block)
        return tuple(self._mark(heard, heard.seconds + ahead) for heard in self._listener.feed(block))

    def _mark(self, heard: LiveMove, seconds: float) -> LiveMark | None:
        if heard.move is None:
            return None
        midi = 69.0 + 12.0 * float(np.log2(heard.hz / 440.0))
        event = self._due.at(seconds, midi) if self._due is not None else None
        if event is None:
            cents, move, is_right = heard.cents, heard.move, False
        else:
            cents = min((100.0 * (midi - own) for own in event.midi), key=abs)
            is_near = event.low - NEAR_COURSE < midi < event.high + NEAR_COURSE
            move = event.move if is_near else heard.move
            is_right = abs(cents) <= cents_told(heard.age_seconds)
        hole, semitones = self._place(move, midi)
        return LiveMark(
            seconds=seconds,
            hole=hole,
            semitones=semitones,
            event=NO_EVENT if event is None else event.index,
            cents=0.0 if isnan(cents) else cents,
            is_right=is_right,
            sign=self._sign(heard.move),
            hz=heard.hz,
        )

    def _place(self, move: Move, midi: float) -> tuple[int, float]:
        """The hole of a move that a pitch is drawn on, and how far above its natural note."""
        if move not in self._naturals:
            self._naturals[move] = tuple(sounding_midi(self.harp, Move((one,), move.breath))[0] for one in move.holes)
        wanted, naturals = sounding_midi(self.harp, move), self._naturals[move]
        reed, least = 0, inf
        for place, own in enumerate(wanted):
            if abs(midi - own) < least:
                reed, least = place, abs(midi - own)
        return move.holes[reed], midi - naturals[reed]

    def _sign(self, move: Move) -> str:
        if move not in self._signs:
            self._signs[move] = format_move(move, self._notation)
        return self._signs[move]
