"""Ornaments: how a string's bend, release or slide is played on the harp.

A string bend raises and a breath bend lowers, so a bend from n up to n+k is played as the note n+k attacked bent
by k and let go, where the hole has room; a release is the note pressed down; where the hole has none, the start
or end is run through as a note of its own, or the note is played straight.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product

from reedpath.arrange.demands import Ask
from reedpath.arrange.difficulty import allows, bend_room
from reedpath.arrange.player import Player, Weights
from reedpath.arrange.route import Change, ChangeKind, Choice
from reedpath.harp import Alteration, Embouchure, Move, Tuning, pitches_of, reach_of

__all__ = ["ornamented", "ornamented_moves", "plain_moves", "with_tongue"]

# notes run over in a slide, its start included; more would be a scale, not a slide (common practice, no source)
MOST_RUN_NOTES = 4


def plain_moves(tuning: Tuning, player: Player, pitches: tuple[int, ...], *, tongue: bool) -> tuple[Move, ...]:
    """Moves this player may use that sound exactly these pitches (semitones above the key note).

    tongue : whether single natural notes are offered tongue-blocked too.
    """
    moves = tuple(move for move in reach_of(tuning).moves_for(*pitches) if allows(player, move))
    return with_tongue(moves) if tongue and player.splits else moves


def with_tongue(moves: tuple[Move, ...]) -> tuple[Move, ...]:
    """Moves, and those single notes among them that can be played tongue-blocked so too."""
    return moves + tuple(
        Move(move.holes, move.breath, move.alteration, move.semitones, Embouchure.TONGUE)
        for move in moves
        if len(move.holes) == 1 and not move.alteration.is_overbend
    )


def _along_the_holes(start: Move, end: Move) -> bool:
    """Whether the mouth can slide from one to the other: natural notes of one breath."""
    return start.breath is end.breath and {start.alteration, end.alteration} == {Alteration.NATURAL}


def _run_between(start: Move, end: Move) -> tuple[Move, ...]:
    """The start and, where the mouth can slide, the natural notes on the holes between."""
    if not _along_the_holes(start, end):
        return (start,)
    first, last = start.holes[0], end.holes[0]
    step = 1 if last > first else -1
    return tuple(Move((hole,), end.breath) for hole in range(first, last, step)) or (start,)


def _other_places(moves: tuple[Move, ...], here: Move) -> Iterator[Move]:
    """The moves that are not the same hole and breath as one: between those, the sound bends and nothing runs."""
    return (move for move in moves if (move.holes, move.breath) != (here.holes, here.breath))


def _starts(tuning: Tuning, player: Player, ask: Ask, move: Move) -> Iterator[tuple[float, tuple[Move, ...], bool]]:
    """Ways to begin: where the sound starts, the moves run through, and whether it is straight instead."""
    if not ask.approach:
        yield 0.0, (), False
        return
    below = -ask.approach
    if 0 < below <= bend_room(tuning, player, move):
        yield ask.approach, (), False
    if ask.approach > 0 and ask.approach <= -move.semitones and move.alteration is Alteration.BEND:
        yield ask.approach, (), False
    start_pitch = ask.pitches[-1] + ask.approach
    if start_pitch == int(start_pitch):
        for start in _other_places(plain_moves(tuning, player, (int(start_pitch),), tongue=False), move):
            if ask.joined and not _along_the_holes(start, move):
                continue  # from one place to another without a hole between is a plain note after a plain note
            run = _run_between(start, move) if ask.slide else (start,)
            run = run[1:] if ask.joined else run
            if len(run) <= MOST_RUN_NOTES:
                yield 0.0, run, False
    yield 0.0, (), True


def _ends(tuning: Tuning, player: Player, ask: Ask, move: Move) -> Iterator[tuple[float, tuple[Move, ...], bool]]:
    """Ways to end: where the sound ends, the moves run through, and whether it is straight instead."""
    if not ask.leave:
        yield 0.0, (), False
        return
    if 0 < -ask.leave <= bend_room(tuning, player, move):
        yield ask.leave, (), False
    if ask.leave > 0 and ask.leave <= -move.semitones and move.alteration is Alteration.BEND:
        yield ask.leave, (), False
    end_pitch = ask.pitches[-1] + ask.leave
    if end_pitch == int(end_pitch):
        for end in _other_places(plain_moves(tuning, player, (int(end_pitch),), tongue=False), move):
            yield 0.0, (end,), False
    yield 0.0, (), True


def ornamented(tuning: Tuning, player: Player, weights: Weights, ask: Ask, *, tongue: bool) -> tuple[Choice, ...]:
    """All ways to sound an ask's own pitches with its ornaments (none where the pitches can't be sounded)."""
    moves = plain_moves(tuning, player, ask.pitches, tongue=tongue)
    return ornamented_moves(tuning, player, weights, ask, moves)


def ornamented_moves(
    tuning: Tuning, player: Player, weights: Weights, ask: Ask, moves: Iterable[Move]
) -> tuple[Choice, ...]:
    """All ways to play an ask's ornaments on some moves."""
    choices: dict[Choice, None] = {}
    for move in moves:
        for (attack, lead_in, start_straight), (fall, lead_out, end_straight) in product(
            _starts(tuning, player, ask, move), _ends(tuning, player, ask, move)
        ):
            straight = start_straight or end_straight
            given = pitches_of(tuning, move)
            loss = weights.fit.straight * (start_straight + end_straight)
            changes = (Change(ChangeKind.STRAIGHT, ask.pitches, given, loss),) if straight else ()
            choices[Choice(move, attack, fall, lead_in, lead_out, changes)] = None
    return tuple(choices)
