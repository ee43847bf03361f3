"""Finding: from a phrase and a harp to the route, through the lattice and the exact search."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from reedpath.arrange.asks import Ask, asks_of
from reedpath.arrange.fitting import loss_of
from reedpath.arrange.lattice import Case, Lattice, Question, lattice_of
from reedpath.arrange.lungs import Air, air_of, follow
from reedpath.arrange.pace import Pace, pace_of
from reedpath.arrange.player import Player, Weights, load_player, load_weights
from reedpath.arrange.reasons import hardest_spot, spots_of
from reedpath.arrange.route import Choice, Effort, Route, RouteEvent
from reedpath.arrange.search import Path, shortest_path
from reedpath.arrange.table import ChoiceTable
from reedpath.arrange.terms import Step, step_terms
from reedpath.harp import Harp, position_between
from reedpath.phrase import Phrase, performed

__all__ = ["best_path", "find_route", "question_of", "table_for"]

# intervals above a tonic that belong to its key beside the phrase's own notes, by mode
TRIADS = {"major": (0, 4, 7), "minor": (0, 3, 7)}


@lru_cache(maxsize=8)
def table_for(player: Player, weights: Weights) -> ChoiceTable:
    """The table of choices for a player and weights, shared by all searches."""
    return ChoiceTable(player, weights)


def question_of(phrase: Phrase) -> Question:
    """What a performed phrase asks."""
    asked = asks_of(phrase.events)
    distinct: dict[Ask, int] = {}
    ask_of = np.array([distinct.setdefault(ask, len(distinct)) for ask in asked], dtype=np.intp)
    scale = {midi % 12 for event in phrase.events for midi in event.midi}
    if phrase.key is not None:
        scale |= {(phrase.key.tonic + interval) % 12 for interval in TRIADS[phrase.key.mode]}
    return Question(tuple(distinct), ask_of, pace_of(phrase), frozenset(scale))


def best_path(table: ChoiceTable, question: Question, lattice: Lattice, case: int, air: Air) -> Path:
    """The exact best path of one case of a lattice."""
    layers = [lattice.layer(case, ask) for ask in question.ask_of]
    costs = [lattice.step_costs(case, event) for event in range(len(layers))]
    return shortest_path(table, layers, costs, air)


def _efforts(table: ChoiceTable, path: Path, pace: Pace, air: Air) -> tuple[list[Effort], np.ndarray]:
    rows = np.array(path.rows, dtype=np.intp)
    before = np.concatenate((np.zeros(1, dtype=np.intp), rows[:-1]))
    step = Step(table.columns, before, rows, pace.have, pace.gap, pace.duration, table.weights, table.player)
    levels, air_points = follow(air, table.columns["flow"][rows], np.array(path.breathe, dtype=np.bool_))
    terms = step_terms(step) | {"air": air_points}
    efforts = [
        Effort({name: float(points[index]) for name, points in terms.items() if points[index]})
        for index in range(len(rows))
    ]
    return efforts, levels


def _on_harp(choice: Choice, key_midi: int) -> Choice:
    """A choice with the pitches of its changes as MIDI numbers."""
    if not choice.changes:
        return choice
    changes = tuple(
        replace(
            change,
            asked_midi=tuple(key_midi + pitch for pitch in change.asked_midi),
            given_midi=tuple(key_midi + pitch for pitch in change.given_midi),
        )
        for change in choice.changes
    )
    return replace(choice, changes=changes)


def route_from(
    phrase: Phrase, harp: Harp, shift_semitones: int, path: Path, table: ChoiceTable, pace: Pace, air: Air
) -> Route:
    """The route that a path describes.

    phrase : performed, and already moved by ``shift_semitones``.
    """
    efforts, levels = _efforts(table, path, pace, air) if path.rows else ([], np.zeros(0))
    choices = [_on_harp(table.choice(row), harp.key_midi) for row in path.rows]
    events = tuple(
        RouteEvent(event, choice, effort, breathed, float(level) * air.unit_litres)
        for event, choice, effort, breathed, level in zip(
            phrase.events, choices, efforts, path.breathe, levels, strict=True
        )
    )
    lost = sum(loss_of(choice) for choice in choices)
    return Route(
        phrase=phrase,
        harp=harp,
        position=position_between(harp.key_midi, phrase.key.tonic) if phrase.key else None,
        shift_semitones=shift_semitones,
        events=events,
        truth=1.0 - lost / len(events) if events else 1.0,
        worst=hardest_spot(events, table.weights),
        spots=spots_of(events, table.player),
        level=table.player.level,
    )


def find_route(
    phrase: Phrase,
    harp: Harp,
    *,
    shift_semitones: int = 0,
    player: Player | None = None,
    weights: Weights | None = None,
    price_points: float | None = None,
) -> Route:
    """The route of least effort for a phrase on a harp; an exact search.

    Parameters
    ----------
    phrase : as given; it is performed (repeats and grace notes unfolded) first.
    shift_semitones : how far to move the phrase before playing it.
    player : level and techniques, the default level for None.
    price_points : effort that a whole event's truth is worth, the weights' own for None.
    """
    player, weights = player or load_player(), weights or load_weights()
    table = table_for(player, weights)
    played = performed(phrase).moved(shift_semitones)
    question = question_of(played)
    air = air_of(question.pace, weights, player)
    if not played.events:
        return route_from(played, harp, shift_semitones, Path((), (), 0.0), table, question.pace, air)
    price = float(weights["fit"]["price_points"]) if price_points is None else price_points
    case = Case(harp.tuning, -harp.key_midi)
    lattice = lattice_of(table, question, [case], price_points=price)
    path = best_path(table, question, lattice, 0, air)
    return route_from(played, harp, shift_semitones, path, table, question.pace, air)
