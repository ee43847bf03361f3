"""Positions: the keys of music that one harp serves, and what each lacks.

Position n of a harp is the key whose tonic lies 7 (n - 1) semitones above the harp's, octaves left out: each
position is a fifth above the one before (Harp-L archive, 15 Feb 2006). What a position lacks and which moves
supply it follow from the reach alone, for any tuning.
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct

from reedpath.errors import TuningError
from reedpath.harp.harp import Harp
from reedpath.harp.moves import Alteration, Move
from reedpath.harp.reach import pitches_of, single_moves
from reedpath.harp.tuning import Tuning
from reedpath.pitch import MODES, Scale, load_scale

# positions in use; after twelve fifths the circle closes
POSITIONS = 12


class MissingDegree(Struct, frozen=True):
    """A degree of a scale that no unbent note gives, in any octave.

    degree : as musicians call it: "7", "b3".
    step : semitones above the tonic.
    bends : one-hole moves that give it by bending, from the lowest note up.
    overbends : the same by overblow or overdraw.
    """

    degree: str
    step: int
    bends: tuple[Move, ...]
    overbends: tuple[Move, ...]


class Position(Struct, frozen=True):
    """One position of a harp.

    number : 1 to 12.
    tonic : pitch class (C = 0) of the key played.
    modes : names of the church modes that unbent notes give whole (see the scales in `pitch`).
    tonic_natural : unbent move that gives the lowest tonic, None where there is none.
    tonic_bent : bend that gives the lowest tonic, None where there is none.
    """

    number: int
    tonic: int
    modes: tuple[str, ...]
    tonic_natural: Move | None
    tonic_bent: Move | None


def position_tonic(harp_key: int, position: int) -> int:
    """
    Pitch class of the key that a position of a harp plays in.

    >>> position_tonic(9, 2)     # second position on an A harp: E
    4
    """
    if not 1 <= position <= POSITIONS:
        raise TuningError("harp.position_range", last=POSITIONS, number=position)
    return (harp_key + 7 * (position - 1)) % 12


@lru_cache(maxsize=64)
def _moves_by_step(tuning: Tuning, tonic: int) -> dict[int, tuple[Move, ...]]:
    """Step above a tonic (semitones above the key note, mod 12) -> moves, from the lowest note up; no dips."""
    table: dict[int, list[Move]] = {step: [] for step in range(12)}
    moves = [move for move in single_moves(tuning) if not move.is_dip]
    for move in sorted(moves, key=lambda move: (pitches_of(tuning, move), move.holes)):
        table[(pitches_of(tuning, move)[0] - tonic) % 12].append(move)
    return {step: tuple(found) for step, found in table.items()}


def _of_kind(moves: tuple[Move, ...], *kinds: Alteration) -> tuple[Move, ...]:
    return tuple(move for move in moves if move.alteration in kinds)


def missing_degrees(tuning: Tuning, position: int, scale: Scale | str = "major") -> tuple[MissingDegree, ...]:
    """
    Degrees of a scale on a position's tonic that no unbent note gives in any octave, and what gives them.

    >>> from reedpath.harp import load_tuning
    >>> [missing.degree for missing in missing_degrees(load_tuning("standard"), 2, "blues")]
    ['b3', 'b5']
    """
    chosen = load_scale(scale) if isinstance(scale, str) else scale
    moves = _moves_by_step(tuning, position_tonic(0, position))
    return tuple(
        MissingDegree(
            degree,
            step,
            _of_kind(moves[step], Alteration.BEND),
            _of_kind(moves[step], Alteration.OVERBLOW, Alteration.OVERDRAW),
        )
        for step, degree in zip(chosen.steps, chosen.degrees, strict=True)
        if not _of_kind(moves[step], Alteration.NATURAL)
    )


def _modes(tuning: Tuning, position: int) -> tuple[str, ...]:
    return tuple(mode for mode in MODES if not missing_degrees(tuning, position, mode))


@lru_cache(maxsize=256)
def _positions(tuning: Tuning, harp_key: int) -> tuple[Position, ...]:
    found = []
    for number in range(1, POSITIONS + 1):
        tonics = _moves_by_step(tuning, position_tonic(0, number))[0]
        natural, bent = _of_kind(tonics, Alteration.NATURAL), _of_kind(tonics, Alteration.BEND)
        found.append(
            Position(
                number,
                position_tonic(harp_key, number),
                _modes(tuning, number),
                natural[0] if natural else None,
                bent[0] if bent else None,
            )
        )
    return tuple(found)


def positions(harp: Harp) -> tuple[Position, ...]:
    """
    The twelve positions of a harp.

    >>> from reedpath.harp import make_harp
    >>> second = positions(make_harp("A"))[1]
    >>> second.tonic, second.modes, second.tonic_natural.holes
    (4, ('mixolydian',), (2,))
    """
    return _positions(harp.tuning, harp.key_midi % 12)
