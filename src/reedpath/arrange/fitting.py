"""Fitting: the choices for an event, its own notes first, and stand-ins for what can't be played.

Nothing is dropped in silence: every stand-in carries its `Change` and what it costs in truth. Stand-ins are
offered where the event has no move of its own, or none under ``fit.offer_from_points`` of effort, so that an easy
octave can be weighed against a hard but true note.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from reedpath.arrange.bringing_in import added_choices, change_for
from reedpath.arrange.demands import Ask
from reedpath.arrange.difficulty import move_points
from reedpath.arrange.ornaments import ornamented
from reedpath.arrange.player import Player, Weights
from reedpath.arrange.route import Change, ChangeKind, Choice
from reedpath.harp import Tuning, reach_of

SILENCE = Choice(None)
# octaves that a note without a move of its own is sought away from its place; a harp has three
MOST_OCTAVES = 3


def loss_of(choice: Choice) -> float:
    """Truth that a choice loses, 0 to 1."""
    return min(1.0, sum(change.loss for change in choice.changes))


def _changed(choice: Choice, ask: Ask, given: tuple[int, ...], weights: Weights) -> Choice:
    change = change_for(ask.pitches, given, weights.fit)
    return replace(choice, changes=(change, *choice.changes)) if change else choice


def octaves_of(
    tuning: Tuning, player: Player, weights: Weights, ask: Ask, *, tongue: bool, furthest: int = 1
) -> Iterator[Choice]:
    """Ways to sound an ask moved by an octave, or by the fewest octaves that give any, ``furthest`` at most."""
    for octaves in range(1, furthest + 1):
        found = False
        for shift in (-12 * octaves, 12 * octaves):
            moved = ask.moved(shift)
            for choice in ornamented(tuning, player, weights, moved, tongue=tongue):
                found = True
                yield _changed(choice, ask, moved.pitches, weights)
        if found:
            return


def _harmony(tuning: Tuning, player: Player, weights: Weights, ask: Ask, scale: frozenset[int]) -> Iterator[Choice]:
    fit = weights.fit
    top = ask.pitches[-1]
    for side in (-1, 1):
        for distance in range(1, fit.harmony_reach_semitones + 1):
            pitch = top + side * distance
            if scale and pitch % 12 not in scale:
                continue
            found = ornamented(tuning, player, weights, Ask((pitch,)), tongue=False)
            yield from (_changed(choice, ask, (pitch,), weights) for choice in found)
            if found:
                break


def _thinned(tuning: Tuning, player: Player, weights: Weights, ask: Ask, *, tongue: bool) -> Iterator[Choice]:
    """A chord with some of its notes missing, the fewest first."""
    wanted, size = set(ask.pitches), len(ask.pitches)
    # only what the harp can sound is looked at, for a chord of many notes has more subsets than anybody can try
    inside = [
        pitches for pitches in reach_of(tuning).by_pitches if len(pitches) < size and wanted.issuperset(pitches)
    ]
    for kept in sorted({len(pitches) for pitches in inside}, reverse=True):
        found = False
        for pitches in sorted(pitches for pitches in inside if len(pitches) == kept):
            plain = ask._replace(pitches=pitches)
            for choice in ornamented(tuning, player, weights, plain, tongue=tongue):
                found = True
                yield _changed(choice, ask, pitches, weights)
        if found:
            return


def _points(tuning: Tuning, weights: Weights, player: Player, choice: Choice) -> float:
    return 0.0 if choice.move is None else sum(move_points(tuning, weights, player, choice.move))


def choices_for(
    tuning: Tuning, player: Player, weights: Weights, ask: Ask, *, scale: frozenset[int], tongue: bool
) -> tuple[Choice, ...]:
    """Every choice for an ask on a tuning, at least one; what the ask names beside comes last.

    ask : pitches in semitones above the key note.
    scale : pitch classes above the key note that count as the phrase's own; empty for all.
    tongue : whether single notes may be played tongue-blocked (worth it only where a phrase has splits).
    """
    own = list(ornamented(tuning, player, weights, ask, tongue=tongue))
    easiest = min((_points(tuning, weights, player, choice) for choice in own), default=float("inf"))
    if easiest > weights.fit.offer_from_points * player.move_factor:
        own += octaves_of(tuning, player, weights, ask, tongue=tongue, furthest=MOST_OCTAVES)
        if len(ask.pitches) > 1:
            own += _thinned(tuning, player, weights, ask, tongue=tongue)
        else:
            own += _harmony(tuning, player, weights, ask, scale)
    if not own:
        loss = weights.fit.silent
        own.append(replace(SILENCE, changes=(Change(ChangeKind.SILENT, ask.pitches, (), loss),)))
    return (*own, *added_choices(tuning, player, weights, ask, own, tongue=tongue)) if ask.also else tuple(own)
