"""Reach: every sound that the reeds of a harp allow, derived from the reeds alone, and whether a move is one of them.

A hole has two reeds. On the breath of the higher one the note can be bent down between the two: a gap of
g semitones leaves g - 1 whole semitones, and a gap of one semitone leaves a shallow dip (Bahnson, Antaki &
Beery, J. Acoust. Soc. Am. 103, 1998: bends lie inside the interval of the two reeds). On the breath of the
lower reed the hole can be made to overblow or overdraw, a semitone above the higher reed (same source:
outside the interval; the semitone is the trade's, common practice).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct

from reedpath.errors import Clause, NotationError, Place, Term
from reedpath.harp.harp import Harp
from reedpath.harp.moves import Alteration, Breath, Embouchure, Move
from reedpath.harp.tuning import Tuning

# semitones above the higher reed at which a hole overbends; common practice, no source
OVERBEND_SEMITONES = 1
# neighbouring holes that one mouth takes as a chord; common practice, no source
MOST_CHORD_HOLES = 4
# holes from one side of the tongue to the other, counting both ends; common practice, no source
MOST_SPLIT_SPAN = 5


def natural_semitones(tuning: Tuning, hole: int, breath: Breath) -> int:
    """Semitones above the key note of a hole's natural note."""
    return (tuning.blow if breath is Breath.BLOW else tuning.draw)[hole - 1]


def _moves_of_hole(tuning: Tuning, hole: int) -> list[Move]:
    blow, draw = tuning.blow[hole - 1], tuning.draw[hole - 1]
    moves = [Move((hole,), Breath.BLOW), Move((hole,), Breath.DRAW)]
    gap = abs(draw - blow)
    if gap == 0:
        return moves
    bend_breath = Breath.DRAW if draw > blow else Breath.BLOW
    depths = [0] if gap == 1 else range(-1, -gap, -1)
    moves += [Move((hole,), bend_breath, Alteration.BEND, depth) for depth in depths]
    over = Alteration.OVERBLOW if bend_breath is Breath.DRAW else Alteration.OVERDRAW
    moves.append(Move((hole,), bend_breath.other, over, gap + OVERBEND_SEMITONES))
    return moves


@lru_cache(maxsize=64)
def single_moves(tuning: Tuning) -> tuple[Move, ...]:
    """All one-hole moves of a tuning, hole by hole: naturals, bends (deepening), overbend."""
    return tuple(move for hole in range(1, tuning.holes + 1) for move in _moves_of_hole(tuning, hole))


def _multiple_moves(tuning: Tuning) -> list[Move]:
    moves = []
    for breath in Breath:
        for first in range(1, tuning.holes + 1):
            for size in range(2, MOST_CHORD_HOLES + 1):
                if first + size - 1 <= tuning.holes:
                    moves.append(Move(tuple(range(first, first + size)), breath))
            for span in range(3, MOST_SPLIT_SPAN + 1):
                if first + span - 1 <= tuning.holes:
                    moves.append(Move((first, first + span - 1), breath, embouchure=Embouchure.TONGUE))
    return moves


def pitches_of(tuning: Tuning, move: Move) -> tuple[int, ...]:
    """Semitones above the key note of each sounding hole of a move, in the order of the holes."""
    return tuple(natural_semitones(tuning, hole, move.breath) + move.semitones for hole in move.holes)


class Reach(Struct, frozen=True):
    """All the pitches a tuning can sound, and the moves that sound them.

    single : every one-hole move, dips included.
    multiple : chords on neighbouring holes and tongue-blocked splits.
    by_pitches : sorted semitones above the key note -> moves that sound exactly these (no dips).
    """

    tuning: Tuning
    single: tuple[Move, ...]
    multiple: tuple[Move, ...]
    by_pitches: Mapping[tuple[int, ...], tuple[Move, ...]]

    def moves_for(self, *semitones: int) -> tuple[Move, ...]:
        """Moves that sound exactly these pitches (semitones above the key note), perhaps none."""
        return self.by_pitches.get(tuple(sorted(set(semitones))), ())


@lru_cache(maxsize=64)
def reach_of(tuning: Tuning) -> Reach:
    """Derive the reach of a tuning from its reeds."""
    single, multiple = single_moves(tuning), tuple(_multiple_moves(tuning))
    by_pitches: dict[tuple[int, ...], list[Move]] = defaultdict(list)
    for move in (*single, *multiple):
        if not move.is_dip:
            by_pitches[tuple(sorted(set(pitches_of(tuning, move))))].append(move)
    frozen = MappingProxyType({pitches: tuple(moves) for pitches, moves in by_pitches.items()})
    return Reach(tuning, single, multiple, frozen)


def midi_of(harp: Harp, move: Move) -> tuple[int, ...]:
    """MIDI numbers of each sounding hole of a move on a harp."""
    return tuple(harp.key_midi + pitch for pitch in pitches_of(harp.tuning, move))


def holes_exist(holes: tuple[int, ...], most: int) -> None:
    """Raise NotationError where a hole lies beyond the last one, ``most``."""
    for hole in holes:
        if not 1 <= hole <= most:
            raise NotationError("harp.no_hole", where=Place(hole=hole), number=hole, most=most)


def _clause(move: Move) -> Clause | Term:
    """What a single hole does, for an error."""
    if move.alteration is not Alteration.BEND:
        return Term(move.alteration if move.alteration.is_overbend else move.breath)
    breath = Term(move.breath)
    if move.is_dip:
        return Clause("harp.bent_less", breath=breath)
    if move.semitones == -1:
        return Clause("harp.bent_one", breath=breath)
    return Clause("harp.bent", breath=breath, semitones=-move.semitones)


def no_such_move(move: Move, tuning: Tuning) -> NotationError:
    """The error for what a single hole does not do, with all that it does."""
    possible = [_clause(one) for one in single_moves(tuning) if one.holes == move.holes]
    return NotationError("harp.no_such_move", where=Place(hole=move.holes[0]), move=_clause(move), possible=possible)


def check_move(move: Move, tuning: Tuning) -> None:
    """
    Raise NotationError, naming the hole and what it can do, if no harp of that tuning can play the move.

    The embouchure is not asked; a chord may be as wide as the harp, a split as wide as the tongue reaches.

    >>> from reedpath.harp import Breath, load_tuning
    >>> check_move(Move((12,), Breath.DRAW), load_tuning("standard"))
    Traceback (most recent call last):
    ...
    reedpath.errors.NotationError: hole 12: there is no hole 12: this harp has 10
    """
    holes_exist(move.holes, tuning.holes)
    if len(move.holes) > 1:
        span = move.holes[-1] - move.holes[0] + 1
        if move.is_split and span > MOST_SPLIT_SPAN:
            raise NotationError(
                "harp.split_too_wide", where=Place(hole=move.holes[0]), most=MOST_SPLIT_SPAN, span=span
            )
        return
    plain = Move(move.holes, move.breath, move.alteration, move.semitones)
    if plain not in single_moves(tuning):
        raise no_such_move(plain, tuning)
