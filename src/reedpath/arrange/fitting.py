"""Fitting: the choices for an event, its own notes first, and stand-ins for what can't be played.

Nothing is dropped in silence: every stand-in carries its `Change` and what it costs in truth. Stand-ins are
offered where the event has no move of its own, or none under ``fit.offer_from_points`` of effort, so that an easy
octave can be weighed against a hard but true note.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from msgspec.structs import replace

from reedpath.arrange.demands import Ask
from reedpath.arrange.difficulty import move_points
from reedpath.arrange.ornaments import ornamented
from reedpath.arrange.player import Player, Weights
from reedpath.arrange.route import Change, ChangeKind, Choice
from reedpath.harp import Tuning

__all__ = ["choices_for", "loss_of"]

SILENCE = Choice(None)


def loss_of(choice: Choice) -> float:
    """Truth that a choice loses, 0 to 1."""
    return min(1.0, sum(change.loss for change in choice.changes))


def _changed(choice: Choice, change: Change) -> Choice:
    return replace(choice, changes=(change, *choice.changes))


def _octaves(tuning: Tuning, player: Player, weights: Weights, ask: Ask, *, tongue: bool) -> Iterator[Choice]:
    fit = weights.fit
    for octaves in (1, 2, 3):
        found = False
        for shift in (-12 * octaves, 12 * octaves):
            moved = ask.moved(shift)
            loss = fit.octave + fit.octave_more * (octaves - 1)
            for choice in ornamented(tuning, player, weights, moved, tongue=tongue):
                found = True
                yield _changed(choice, Change(ChangeKind.OCTAVE, ask.pitches, moved.pitches, loss))
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
            loss = fit.harmony_near if distance <= 2 else fit.harmony_far
            yield from (_changed(choice, Change(ChangeKind.HARMONY, ask.pitches, (pitch,), loss)) for choice in found)
            if found:
                break


def _thinned(tuning: Tuning, player: Player, weights: Weights, ask: Ask, *, tongue: bool) -> Iterator[Choice]:
    """A chord with some of its notes missing, the fewest first."""
    fit, size = weights.fit, len(ask.pitches)
    for kept in range(size - 1, 0, -1):
        found = False
        for pitches in combinations(ask.pitches, kept):
            loss = fit.missing * (size - kept) / (size - 1)
            loss += 0.0 if pitches[-1] == ask.pitches[-1] else fit.missing_top
            plain = ask._replace(pitches=pitches)
            for choice in ornamented(tuning, player, weights, plain, tongue=tongue):
                found = True
                yield _changed(choice, Change(ChangeKind.MISSING, ask.pitches, pitches, loss))
        if found:
            return


def _points(tuning: Tuning, weights: Weights, player: Player, choice: Choice) -> float:
    return 0.0 if choice.move is None else sum(move_points(tuning, weights, player, choice.move))


def choices_for(
    tuning: Tuning, player: Player, weights: Weights, ask: Ask, *, scale: frozenset[int], tongue: bool
) -> tuple[Choice, ...]:
    """Every choice for an ask on a tuning, at least one.

    Parameters
    ----------
    ask : pitches in semitones above the key note.
    scale : pitch classes above the key note that count as the phrase's own; empty for all.
    tongue : whether single notes may be played tongue-blocked (worth it only where a phrase has splits).
    """
    own = list(ornamented(tuning, player, weights, ask, tongue=tongue))
    easiest = min((_points(tuning, weights, player, choice) for choice in own), default=float("inf"))
    if easiest > weights.fit.offer_from_points * player.move_factor:
        own += _octaves(tuning, player, weights, ask, tongue=tongue)
        if len(ask.pitches) > 1:
            own += _thinned(tuning, player, weights, ask, tongue=tongue)
        else:
            own += _harmony(tuning, player, weights, ask, scale)
    if not own:
        loss = weights.fit.silent
        own.append(replace(SILENCE, changes=(Change(ChangeKind.SILENT, ask.pitches, (), loss),)))
    return tuple(own)
