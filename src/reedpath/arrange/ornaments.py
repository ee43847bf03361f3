"""Ornaments: how a string's bend, release or slide is played on the harp.

A string bend raises and a breath bend lowers, so a bend from n up to n+k is played as the note n+k attacked bent
by k and let go, where the hole has room; a release is the note pressed down; where the hole has none, the start
or end is run through as a note of its own, or the note is bent less far, or played straight.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product
from typing import NamedTuple

from reedpath.arrange.demands import Ask
from reedpath.arrange.difficulty import allows, bend_room
from reedpath.arrange.player import FitWeights, Player, Weights
from reedpath.arrange.route import Change, ChangeKind, Choice
from reedpath.harp import Alteration, Embouchure, Move, Tuning, pitches_of, reach_of

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


class _Way(NamedTuple):
    """A way to begin or to end a sound.

    semitones : where the sound starts or ends, relative to its pitch.
    run : the moves run through.
    kind : how that differs from what is asked, None where it does not.
    loss : truth that it costs.
    """

    semitones: float = 0.0
    run: tuple[Move, ...] = ()
    kind: ChangeKind | None = None
    loss: float = 0.0


def _bent(tuning: Tuning, player: Player, fit: FitWeights, move: Move, away: float) -> Iterator[_Way]:
    """Ways to bend a sound from or to somewhere on its own hole; less far where the hole has room for a part."""
    room = bend_room(tuning, player, move)
    if 0 < -away <= room:
        yield _Way(away)
    elif 0 < room < -away:
        yield _Way(-room, (), ChangeKind.SHALLOW, fit.straight * (1 + room / away))
    if 0 < away <= -move.semitones and move.alteration is Alteration.BEND:
        yield _Way(away)


def _run(fit: FitWeights, run: tuple[Move, ...], move: Move, *, slides: bool) -> _Way:
    """A way over other places; a bend that has to turn the breath is heard as two notes."""
    turns = not slides and any(one.breath is not move.breath for one in run)
    return _Way(0.0, run, ChangeKind.STEPPED, fit.stepped) if turns else _Way(0.0, run)


def _starts(tuning: Tuning, player: Player, fit: FitWeights, ask: Ask, move: Move) -> Iterator[_Way]:
    """Ways to begin."""
    if not ask.approach:
        yield _Way()
        return
    ways = _bent(tuning, player, fit, move, ask.approach)
    yield from (way for way in ways if not (ask.slide and way.kind))
    start_pitch = ask.pitches[-1] + ask.approach
    if start_pitch == int(start_pitch):
        for start in _other_places(plain_moves(tuning, player, (int(start_pitch),), tongue=False), move):
            if ask.joined and not _along_the_holes(start, move):
                continue  # from one place to another without a hole between is a plain note after a plain note
            run = _run_between(start, move) if ask.slide else (start,)
            run = run[1:] if ask.joined else run
            if len(run) <= MOST_RUN_NOTES:
                yield _run(fit, run, move, slides=ask.slide)
    yield _Way(0.0, (), ChangeKind.STRAIGHT, fit.straight)


def _ends(tuning: Tuning, player: Player, fit: FitWeights, ask: Ask, move: Move) -> Iterator[_Way]:
    """Ways to end."""
    if not ask.leave:
        yield _Way()
        return
    yield from _bent(tuning, player, fit, move, ask.leave)
    end_pitch = ask.pitches[-1] + ask.leave
    if end_pitch == int(end_pitch):
        for end in _other_places(plain_moves(tuning, player, (int(end_pitch),), tongue=False), move):
            yield _Way(0.0, (end,))
    yield _Way(0.0, (), ChangeKind.STRAIGHT, fit.straight)


def ornamented(tuning: Tuning, player: Player, weights: Weights, ask: Ask, *, tongue: bool) -> tuple[Choice, ...]:
    """All ways to sound an ask's own pitches with its ornaments (none where the pitches can't be sounded)."""
    moves = plain_moves(tuning, player, ask.pitches, tongue=tongue)
    return ornamented_moves(tuning, player, weights, ask, moves)


def ornamented_moves(
    tuning: Tuning, player: Player, weights: Weights, ask: Ask, moves: Iterable[Move]
) -> tuple[Choice, ...]:
    """All ways to play an ask's ornaments on some moves."""
    if not (ask.approach or ask.leave):
        return tuple(map(Choice, moves))
    choices: dict[Choice, None] = {}
    for move in moves:
        starts, ends = _starts(tuning, player, weights.fit, ask, move), _ends(tuning, player, weights.fit, ask, move)
        for start, end in product(starts, ends):
            losses: dict[ChangeKind, float] = {}
            for way in (start, end):
                if way.kind is not None:
                    losses[way.kind] = losses.get(way.kind, 0.0) + way.loss
            given = pitches_of(tuning, move)
            changes = tuple(Change(kind, ask.pitches, given, loss) for kind, loss in losses.items())
            choices[Choice(move, start.semitones, end.semitones, start.run, end.run, changes)] = None
    return tuple(choices)
