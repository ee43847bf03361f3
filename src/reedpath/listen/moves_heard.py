"""Moves heard: which move of a harp sounds a pitch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from reedpath.harp import Alteration, Harp, Move, single_moves, sound_of

# cents by which a natural reed may be off and still be itself; recorded reeds lie within 3, students' own harps
# wander further (common practice, no source)
NATURAL_CENTS = 35.0
# cents taken off a bend or overblow when moves compete: it may lie anywhere, a natural reed may not
ALTERED_CENTS = 10.0
# semitones beyond its lowest and highest move in which a pitch is still a harp's own
BEYOND = 0.6
# cents that a hole further away, or the other breath, must be better by
PER_HOLE, OTHER_BREATH = 2.0, 3.0


@dataclass(frozen=True, slots=True)
class HeardMove:
    """A move, and by how many cents a pitch lies off it."""

    move: Move
    cents: float


@lru_cache(maxsize=64)
def single_pitches(harp: Harp) -> tuple[tuple[Move, float], ...]:
    """Every one-hole move of a harp with its pitch, a MIDI number with its fraction."""
    sounds = [sound_of(harp, move) for move in single_moves(harp.tuning)]
    return tuple((sound.move, sound.midi[0] + sound.cents[0] / 100.0) for sound in sounds)


def _distance(move: Move, cents: float, near: Sequence[Move]) -> float:
    """How unlikely a move is, in cents: how far off, altered or not, how far from the moves round about."""
    off = abs(cents)
    if move.alteration is Alteration.NATURAL:
        off += max(0.0, off - NATURAL_CENTS)
    elif move.is_dip or move.alteration.is_overbend:
        off += 2 * ALTERED_CENTS
    else:
        off += ALTERED_CENTS
    if near:
        off += min(
            PER_HOLE * abs(move.holes[0] - other.centre) + OTHER_BREATH * (move.breath is not other.breath)
            for other in near
        )
    return off


def heard_move(harp: Harp, midi: float, *, near: Sequence[Move] = ()) -> HeardMove:
    """
    The one-hole move that most likely sounds a pitch.

    Parameters
    ----------
    midi : MIDI number with its fraction.
    near : moves round about, to tell apart those that sound alike.

    >>> from reedpath.harp import make_harp
    >>> heard_move(make_harp("C"), 70.9).move.holes, round(heard_move(make_harp("C"), 70.9).cents)
    ((3,), -10)
    """
    pitches = single_pitches(harp)
    move, pitch = min(pitches, key=lambda one: _distance(one[0], 100.0 * (midi - one[1]), near))
    return HeardMove(move, 100.0 * (midi - pitch))


def is_within_reach(harp: Harp, midi: float) -> bool:
    """Whether a pitch lies between the lowest and the highest that a harp sounds.

    >>> from reedpath.harp import make_harp
    >>> is_within_reach(make_harp("C"), 60.0), is_within_reach(make_harp("C"), 40.0)
    (True, False)
    """
    pitches = [pitch for _, pitch in single_pitches(harp)]
    return min(pitches) - BEYOND < midi < max(pitches) + BEYOND
