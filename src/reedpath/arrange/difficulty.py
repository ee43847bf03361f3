"""Difficulty: what a move costs a player by itself, whatever stands around it.

A bend's points come from the gap of the two reeds and the depth, and grow with the distance of its pitch from
the easiest register; nothing is listed by hole, so every tuning and length of harp has its values.
"""

from __future__ import annotations

import math

from reedpath.arrange.player import Player, Weights
from reedpath.harp import Alteration, Breath, Embouchure, Move, Tuning, natural_semitones

# semitones; the deepest dip of a hole whose reeds lie a semitone apart that counts as a usable ornament:
# half of the gap, from memory
DIP_SEMITONES = 0.5


def _bend_breath(tuning: Tuning, hole: int) -> Breath | None:
    gap = tuning.draw[hole - 1] - tuning.blow[hole - 1]
    return None if gap == 0 else Breath.DRAW if gap > 0 else Breath.BLOW


def bend_room(tuning: Tuning, player: Player, move: Move) -> float:
    """How much further down this player can bend the sound of a move, in semitones."""
    if len(move.holes) > 1 or move.alteration.is_overbend:
        return 0.0
    hole = move.holes[0]
    if _bend_breath(tuning, hole) is not move.breath:
        return 0.0
    depths = player.draw_bends if move.breath is Breath.DRAW else player.blow_bends
    if not depths:
        return 0.0
    gap = abs(tuning.draw[hole - 1] - tuning.blow[hole - 1])
    deepest = float(min(gap - 1, max(depths))) if gap > 1 else DIP_SEMITONES
    return max(0.0, deepest + move.semitones)


def allows(player: Player, move: Move) -> bool:
    """Whether a player's level lets the move sound a pitch of its own."""
    if move.is_split:
        return player.splits
    if len(move.holes) > 1:
        return player.chords
    if move.alteration is Alteration.BEND:
        depths = player.draw_bends if move.breath is Breath.DRAW else player.blow_bends
        return -move.semitones in depths
    if move.alteration is Alteration.OVERBLOW:
        return player.overblows
    return player.overdraws or move.alteration is not Alteration.OVERDRAW


def bend_points(tuning: Tuning, weights: Weights, hole: int, breath: Breath, depth: float) -> float:
    """Points of holding a hole's note bent by ``depth`` semitones; 0 for no bend."""
    if depth <= 0:
        return 0.0
    table = weights.move
    gap = abs(tuning.draw[hole - 1] - tuning.blow[hole - 1])
    if gap < 2:
        return table.dip
    by_depth = table.draw_bend[str(min(gap, table.deepest_known_gap))]
    points = by_depth[min(math.ceil(depth), len(by_depth)) - 1]
    octaves = abs(natural_semitones(tuning, hole, breath) - table.easiest_bend_semitones) / 12
    factor = table.blow_bend_factor if breath is Breath.BLOW else 1.0
    return float(points * factor * (1 + table.bend_register * octaves))


def _overbend_points(tuning: Tuning, weights: Weights, move: Move) -> float:
    table = weights.move
    points, easiest = (
        (table.overblow, table.easiest_overblow_semitones)
        if move.alteration is Alteration.OVERBLOW
        else (table.overdraw, table.easiest_overdraw_semitones)
    )
    octaves = abs(natural_semitones(tuning, move.holes[0], move.breath) - easiest) / 12
    return points * (1 + table.overbend_register * octaves)


def move_points(tuning: Tuning, weights: Weights, player: Player, move: Move) -> tuple[float, float]:
    """Points of a move by itself: those that do not depend on its length, and those that do (bends, overbends)."""
    table = weights.move
    factor = player.move_factor
    if move.alteration.is_overbend:
        return 0.0, factor * _overbend_points(tuning, weights, move)
    if move.alteration is Alteration.BEND:
        return 0.0, factor * bend_points(tuning, weights, move.holes[0], move.breath, -move.semitones)
    points = table.natural
    if move.is_split:
        points += table.split
    elif len(move.holes) > 1:
        points += table.chord * (len(move.holes) - 1)
    else:
        points += table.tongue_single if move.embouchure is Embouchure.TONGUE else 0.0
        bendable = _bend_breath(tuning, move.holes[0]) is move.breath and (
            abs(tuning.draw[move.holes[0] - 1] - tuning.blow[move.holes[0] - 1]) > 1
        )
        points += 0.0 if bendable else table.no_bend_below
    return factor * points, 0.0
