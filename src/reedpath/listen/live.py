"""Live: which move sounds, while it sounds.

`reedpath.hear.Tracker` gives the pitch, guided by what the harp can sound; here the move is found that most
likely makes it. A reed begins flat, by half a semitone and more, and is up to its pitch only after some periods; so
while a note is new, a pitch between two moves is taken for the upper one. Where two moves sound alike (2 draw and
3 blow), the one nearer to what was played before is taken, and with a route at hand, the one that the route plays.
Several holes at once are named where the route asks for them: a chord or split when each of its reeds is heard, an
octave, which has no partial that its lower reed has not, as a sound like that of its lower hole.
`bench/listen_live.py` measures how soon after its onset a note is named.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from functools import lru_cache
from math import exp, isnan

import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.harp import Harp, Move
from reedpath.hear import LivePitch, Tracker
from reedpath.listen.expected import pitch_prior, sounding_midi
from reedpath.listen.moves_heard import heard_move, single_pitches

# moves that count as what was just played
REMEMBERED = 2
# cents within which another move sounds the same
ALIKE_CENTS = 40.0
# cents beyond which the pitch followed is none of a chord's, but the common root of its notes
FOREIGN_CENTS = 100.0
# semitones by which an octave in a temperament may miss twelve
OCTAVE_SEMITONES = 0.5
# seconds that a move must be heard to be remembered
SETTLED_SECONDS = 0.05
# semitones by which a note just begun is thought flat, and seconds in which this fades to a third. Measured on the
# recorded notes of bench/listen_live.py and on accordion reeds (Debian's fluid-soundfont-gm): 40 to 100 cents flat
# at the onset, 10 to 50 after 12 ms
FLAT_SEMITONES, FLAT_SECONDS = 0.5, 0.025


@dataclass(frozen=True, slots=True)
class LiveMove:
    """What sounds at a moment.

    seconds : since the listener began. hz : pitch, NaN for silence. confidence : 0 to 1.
    level_db : level of the sound, full scale is 0.
    move : the move that most likely sounds, None for silence.
    cents : pitch less that of the move; of several holes the nearest one's, pulled by the others by some cents, NaN
        where none of them is near.
    alike : other moves that sound the same.
    age_seconds : how long the note has been heard, glides included.
    """

    seconds: float
    hz: float
    confidence: float
    level_db: float
    move: Move | None
    cents: float
    alike: tuple[Move, ...]
    age_seconds: float = 0.0


def _without_octaves(pitches: tuple[float, ...]) -> tuple[float, ...]:
    """The pitches that are no octave of a lower one."""
    kept: list[float] = []
    for pitch in sorted(pitches):
        if all(abs((pitch - low + 6.0) % 12.0 - 6.0) > OCTAVE_SEMITONES for low in kept):
            kept.append(pitch)
    return tuple(kept)


@lru_cache(maxsize=4096)
def _likeliest(harp: Harp, cents: int, near: tuple[Move, ...]) -> Move:
    """The move that most likely sounds a pitch, a MIDI number in hundredths; kept, since a held note comes back."""
    return heard_move(harp, cents / 100.0, near=near).move


class LiveListener:
    """Names the move that sounds on a harp, block by block.

    Parameters
    ----------
    harp : the instrument. rate : of the blocks, hertz.
    route : what is being played, where that is known: its moves are preferred to others of the same pitch, and those
        of several holes are listened for.

    >>> import numpy as np
    >>> from reedpath.harp import make_harp
    >>> listener = LiveListener(make_harp("C"), 48000)
    >>> tone = np.sin(2 * np.pi * 523.25 * np.arange(4800) / 48000).astype(np.float32)
    >>> listener.feed(tone)[-1].move.holes
    (4,)
    """

    def __init__(self, harp: Harp, rate: int, *, route: Route | None = None) -> None:
        self.harp = harp
        asked = dict.fromkeys(one.choice.move for one in route.events if one.choice.move) if route else {}
        self._asked = frozenset(asked)
        self._several: dict[tuple[float, ...], list[Move]] = {}
        for move in asked:
            if len(move.holes) > 1:
                self._several.setdefault(_without_octaves(sounding_midi(harp, move)), []).append(move)
        sets = [pitches for pitches in self._several if len(pitches) > 1]
        self._tracker = Tracker(rate, prior=pitch_prior(harp), together=sets)
        self._pitches = dict(single_pitches(harp))
        self._same: dict[Move, tuple[Move, ...]] = {}
        self._before: deque[Move] = deque(maxlen=REMEMBERED)
        self._current: Move | None = None
        self._since_seconds = 0.0

    def feed(self, block: npt.ArrayLike) -> tuple[LiveMove, ...]:
        """Take in a block of one channel, shape (frames,); what is new since the last one, every 4 ms."""
        return tuple(self._named(pitch) for pitch in self._tracker.feed(block))

    def _named(self, pitch: LivePitch) -> LiveMove:
        midi = pitch.midi
        if isnan(midi):
            self._remember(None, pitch.seconds)
            return LiveMove(pitch.seconds, pitch.hz, pitch.confidence, pitch.level_db, None, float("nan"), ())
        same = tuple(self._several[pitch.together]) if pitch.together else self._single(pitch)
        move = next((one for one in same if one in self._asked), same[0])
        self._remember(move, pitch.seconds)
        others = tuple(one for one in same if one != move)
        cents = self._cents(midi, move)
        return LiveMove(
            pitch.seconds, pitch.hz, pitch.confidence, pitch.level_db, move, cents, others, pitch.age_seconds
        )

    def _single(self, pitch: LivePitch) -> tuple[Move, ...]:
        """The moves that may sound one pitch, the likeliest first."""
        meant = pitch.midi + FLAT_SEMITONES * exp(-pitch.age_seconds / FLAT_SECONDS)
        likeliest = _likeliest(self.harp, round(100.0 * meant), tuple(self._before))
        if likeliest not in self._same:
            self._same[likeliest] = (likeliest, *self._alike(likeliest))
        return self._same[likeliest]

    def _alike(self, move: Move) -> list[Move]:
        """Other moves that sound the same: of one hole, and octaves over it that the route asks for."""
        own = self._pitches[move]
        singles = [((midi,), [other]) for other, midi in self._pitches.items() if other != move and not other.is_dip]
        return [
            other
            for pitches, moves in [*singles, *self._several.items()]
            if len(pitches) == 1 and 100.0 * abs(pitches[0] - own) < ALIKE_CENTS
            for other in moves
        ]

    def _cents(self, midi: float, move: Move) -> float:
        """How far a pitch lies from the nearest of a move's."""
        cents = min((100.0 * (midi - own) for own in sounding_midi(self.harp, move)), key=abs)
        return cents if len(move.holes) == 1 or abs(cents) < FOREIGN_CENTS else float("nan")

    def _remember(self, move: Move | None, seconds: float) -> None:
        if move != self._current:
            self._current, self._since_seconds = move, seconds
        elif move is not None and seconds - self._since_seconds > SETTLED_SECONDS:
            self._before.append(move)
            self._since_seconds = float("inf")
