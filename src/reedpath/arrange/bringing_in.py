"""Bringing in: a move for an event that the player's level or the fitting leaves out, because somebody asks for it.

What it changes is told as for any stand-in, and costs as much truth; a note that is no octave, no neighbour and no
part of what was asked loses all of it.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from reedpath.arrange.demands import Ask
from reedpath.arrange.ornaments import ornamented_moves, with_tongue
from reedpath.arrange.player import FitWeights, Player, Weights
from reedpath.arrange.route import Change, ChangeKind, Choice
from reedpath.harp import Move, Tuning, pitches_of

# semitones to which a neighbour counts as near
NEAR_SEMITONES = 2


def plays(move: Move | None, wanted: Move) -> bool:
    """Whether a move is the one wanted; lips or tongue are the player's business and not asked."""
    return move is not None and (move.holes, move.breath, move.alteration, move.semitones) == (
        wanted.holes,
        wanted.breath,
        wanted.alteration,
        wanted.semitones,
    )


def _octaves_between(asked: tuple[int, ...], given: tuple[int, ...]) -> int:
    """Whole octaves from all that is asked to all that is given, 0 where it is not that."""
    steps = {after - before for before, after in zip(asked, given, strict=False)}
    step = steps.pop() if len(asked) == len(given) and len(steps) == 1 else 0
    return 0 if step % 12 else step // 12


def change_for(asked: tuple[int, ...], given: tuple[int, ...], fit: FitWeights) -> Change | None:
    """What differs where some pitches are sounded for others, None where nothing does.

    asked, given : semitones above the key note, ascending.
    """
    if given == asked:
        return None
    octaves = abs(_octaves_between(asked, given))
    if octaves:
        return Change(ChangeKind.OCTAVE, asked, given, min(1.0, fit.octave + fit.octave_more * (octaves - 1)))
    if set(given) > set(asked):
        return Change(ChangeKind.ADDED, asked, given, fit.added)
    if set(given) < set(asked):
        loss = fit.missing * (len(asked) - len(given)) / (len(asked) - 1)
        loss += 0.0 if given[-1] == asked[-1] else fit.missing_top
        return Change(ChangeKind.MISSING, asked, given, min(1.0, loss))
    distance = abs(given[-1] - asked[-1]) if len(asked) == len(given) == 1 else fit.harmony_reach_semitones + 1
    far = fit.harmony_far if distance <= fit.harmony_reach_semitones else fit.silent
    return Change(ChangeKind.HARMONY, asked, given, fit.harmony_near if distance <= NEAR_SEMITONES else far)


def added_choices(
    tuning: Tuning, player: Player, weights: Weights, ask: Ask, offered: Iterable[Choice], *, tongue: bool
) -> tuple[Choice, ...]:
    """The choices that play the moves an ask names beside those offered already, all ornaments included."""
    there = [choice.move for choice in offered]
    found: list[Choice] = []
    for wanted in ask.also:
        if any(plays(move, wanted) for move in there):
            continue
        given = tuple(sorted(set(pitches_of(tuning, wanted))))
        change = change_for(ask.pitches, given, weights.fit)
        sounding = ask._replace(pitches=given)
        moves = with_tongue((wanted,)) if tongue and player.splits else (wanted,)
        for choice in ornamented_moves(tuning, player, weights, sounding, moves):
            found.append(replace(choice, changes=(change, *choice.changes)) if change else choice)
    return tuple(found)
