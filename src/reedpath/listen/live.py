"""Live: which move sounds, while it sounds.

`reedpath.hear.Tracker` gives the pitch, guided by what the harp can sound; here the move is found that most
likely makes it. Where two moves sound alike (2 draw and 3 blow), the one nearer to what was played before is
taken, and with a route at hand, the one that the route plays. A value is ready as soon as half a window (16 ms)
has passed after its moment, whatever the size of the blocks; `bench/listen_live.py` measures how soon after its
onset a note is named.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.harp import Harp, Move
from reedpath.hear import LivePitch, Tracker
from reedpath.listen.expected import pitch_prior
from reedpath.listen.moves_heard import heard_move, single_pitches

__all__ = ["LiveListener", "LiveMove"]

# moves that count as what was just played
REMEMBERED = 2
# cents within which another move sounds the same
ALIKE_CENTS = 40.0
# values in a row that a move must be heard to be remembered (50 ms)
SETTLED = 5


@dataclass(frozen=True, slots=True)
class LiveMove:
    """What sounds at a moment.

    seconds : since the listener began. hz : pitch, NaN for silence. confidence : 0 to 1.
    level_db : level of the sound, full scale is 0.
    move : the move that most likely sounds, None for silence. cents : pitch less that of the move.
    alike : other moves that sound the same.
    """

    seconds: float
    hz: float
    confidence: float
    level_db: float
    move: Move | None
    cents: float
    alike: tuple[Move, ...]


class LiveListener:
    """Names the move that sounds on a harp, block by block.

    Parameters
    ----------
    harp : the instrument. rate : of the blocks, hertz.
    route : what is being played, where that is known: its moves are preferred to others of the same pitch.

    >>> import numpy as np
    >>> from reedpath.harp import make_harp
    >>> listener = LiveListener(make_harp("C"), 48000)
    >>> tone = np.sin(2 * np.pi * 523.25 * np.arange(4800) / 48000).astype(np.float32)
    >>> listener.feed(tone)[-1].move.holes
    (4,)
    """

    def __init__(self, harp: Harp, rate: int, *, route: Route | None = None) -> None:
        self.harp = harp
        self._tracker = Tracker(rate, prior=pitch_prior(harp))
        self._before: deque[Move] = deque(maxlen=REMEMBERED)
        self._current: Move | None = None
        self._held = 0
        moves = {one.choice.move for one in route.events} if route else set()
        self._asked = frozenset(move for move in moves if move is not None)

    def feed(self, block: npt.ArrayLike) -> tuple[LiveMove, ...]:
        """Take in a block of one channel, shape (frames,); what is new since the last one, every 10 ms."""
        return tuple(self._named(pitch) for pitch in self._tracker.feed(block))

    def _named(self, pitch: LivePitch) -> LiveMove:
        midi = pitch.midi
        if midi != midi:
            self._remember(None)
            return LiveMove(pitch.seconds, pitch.hz, pitch.confidence, pitch.level_db, None, float("nan"), ())
        guess = heard_move(self.harp, midi, near=tuple(self._before))
        pitches = dict(single_pitches(self.harp))
        alike = [
            move
            for move, own in pitches.items()
            if move != guess.move and 100.0 * abs(own - pitches[guess.move]) < ALIKE_CENTS and not move.is_dip
        ]
        move = next((one for one in (guess.move, *alike) if one in self._asked), guess.move)
        others = tuple(one for one in (guess.move, *alike) if one != move)
        self._remember(move)
        cents = 100.0 * (midi - pitches[move])
        return LiveMove(pitch.seconds, pitch.hz, pitch.confidence, pitch.level_db, move, cents, others)

    def _remember(self, move: Move | None) -> None:
        self._held = self._held + 1 if move == self._current else 1
        self._current = move
        if move is not None and self._held == SETTLED:
            self._before.append(move)
