"""The terms of effort: everything that makes one event after another hard, each with its unit and source.

A term is a function of a `Transition` (the choice before, this choice, and the time there is) giving points; its
effort is the sum of its terms. Weights come from outside (weights.toml), so that any route can be weighed again. The
air has its own module, since it depends on all that went before (`lungs`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from reedpath.arrange.player import Player, Weights

Points: TypeAlias = NDArray[np.float64]

# seconds; two onsets are never taken to be nearer than this, so that no term is infinite
SHORTEST_SECONDS = 0.01


class Transition(Struct, frozen=True):
    """Pairs of choices in a row, as parallel arrays of shape (n,).

    columns : the numbers of every choice (see `table.COLUMNS`).
    before, here : rows of the two choices.
    have : seconds from the onset before to this one, infinite for the first event.
    gap : seconds of silence between the two, infinite for the first event.
    duration : seconds this event sounds.
    weights, player : what is hard, and for whom.
    worth : points that it is worth to have this event on a reed that can be worked (see `expression`).
    """

    columns: Mapping[str, Points]
    before: NDArray[np.intp]
    here: NDArray[np.intp]
    have: Points
    gap: Points
    duration: Points
    weights: Weights
    player: Player
    worth: Points | float = 0.0

    def was(self, column: str) -> Points:
        """A column of the choices before."""
        return self.columns[column][self.before]

    def now(self, column: str) -> Points:
        """A column of these choices."""
        return self.columns[column][self.here]

    @property
    def linked(self) -> Points:
        """1 where both choices sound."""
        return self.was("sounding") * self.now("sounding")

    @property
    def distance(self) -> Points:
        """Holes between the mouth's two places."""
        return np.abs(self.was("out_hole") - self.now("in_hole")) * self.linked

    @property
    def turned(self) -> Points:
        """1 where the breath turns."""
        return np.abs(self.was("out_breath") - self.now("in_breath")) * self.linked

    @property
    def warm(self) -> Points:
        """1 where the hole and breath already sound, so that a bend is slid into."""
        soon = self.gap < self.weights.cold_bend.warm_gap_seconds
        warm: Points = ((self.was("out_key") == self.now("in_key")) & soon).astype(np.float64)
        return warm

    def crowding(self, need: Points | float) -> Points:
        """Share of the time there is that something needing so many seconds takes."""
        result: Points = np.asarray(need * self.player.time_factor / self.have)
        return result


def _move(step: Transition) -> Points:
    settle = step.weights.move.settle_seconds * step.player.time_factor
    return step.now("steady_points") + step.now("settle_points") * (1 + settle / step.duration)


def _breath(step: Transition) -> Points:
    return step.turned * step.weights.breath.points * step.crowding(step.weights.breath.seconds)


def _travel(step: Transition) -> Points:
    seconds = step.weights.travel.seconds_per_bit * np.log2(step.distance + 1)
    return step.weights.travel.points * step.crowding(seconds)


def _cold_bend(step: Transition) -> Points:
    return step.now("cold_points") * (1 - step.warm)


def _overbend_attack(step: Transition) -> Points:
    turn, leap = step.weights.overbend_attack.after_turn, step.weights.overbend_attack.per_hole
    hard = turn * step.turned + leap * step.distance
    return step.player.move_factor * step.now("overbend") * hard * (1 - step.warm)


def _embouchure(step: Transition) -> Points:
    changed = np.abs(step.was("tongue") - step.now("tongue")) * step.linked
    crowded = step.crowding(step.weights.embouchure.seconds)
    return changed * step.weights.embouchure.points * crowded


def _ornament(step: Transition) -> Points:
    run = step.weights.ornament.run_note_seconds * step.player.time_factor
    return step.now("ornament_points") * (1 + step.now("run_notes") * run / step.duration)


def _expression(step: Transition) -> Points:
    return step.now("stiff") * step.worth


class EffortTerm(Struct, frozen=True):
    """One term of effort.

    name : its name in data, weights and catalogues.
    unit : what is measured before the weight makes points of it.
    source : who says that this is hard.
    points : the function.
    """

    name: str
    unit: str
    source: str
    points: Callable[[Transition], Points]


TERMS = (
    EffortTerm("move", "points of the move by the player's level, more for short bends",
         "order of difficulty: trade habit, common practice; settling time from memory", _move),
    EffortTerm("breath", "share of the time there is that the turn of the breath takes",
         "common practice, no source", _breath),
    EffortTerm("travel", "share of the time there is that the mouth's way takes",
         "Fitts 1954 in Shannon's form (MacKenzie 1992), slope from memory", _travel),
    EffortTerm("cold_bend", "points of a bend struck without coming from its own hole and breath",
         "a published blues method; common practice", _cold_bend),
    EffortTerm("overbend_attack", "turns of breath and holes of leap before an overblow or overdraw",
         "common practice, no source", _overbend_attack),
    EffortTerm("embouchure", "share of the time there is that bringing the tongue in or away takes",
         "common practice, no source", _embouchure),
    EffortTerm("ornament", "points of pressing, letting go and running through notes",
         "common practice, no source", _ornament),
    EffortTerm("expression", "worth of the note, where its reed can't be bent and the harp has it on one that can",
         "which of two equal notes: teachers' advice; numbers tuned", _expression),
)  # fmt: skip


def transition_terms(step: Transition) -> dict[str, Points]:
    """Points of every term for each pair, by the term's name."""
    return {term.name: term.points(step) for term in TERMS}


def transition_points(step: Transition) -> Points:
    """Points of all terms together for each pair."""
    total: Points = np.zeros(len(step.here))
    for term in TERMS:
        total += term.points(step)
    return total
