"""Changing a route by hand: some events get other moves, all others are played as they were.

Nothing else is searched anew but where to breathe and, of the ways to play a changed event's ornaments, the best.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec.structs import replace

from reedpath.arrange.bringing_in import change_for, plays
from reedpath.arrange.contour import contour_loss
from reedpath.arrange.expression import worth_of
from reedpath.arrange.finding import Way, question_of, route_from
from reedpath.arrange.lattice import Question
from reedpath.arrange.lungs import air_of
from reedpath.arrange.passes import EventChoices, go_both_ways
from reedpath.arrange.pins import Pin, check_pins
from reedpath.arrange.player import FitWeights, load_player, load_weights
from reedpath.arrange.route import OF_ORNAMENTS, Change, Choice, Route
from reedpath.arrange.settling import as_written
from reedpath.arrange.table import ChoiceTable
from reedpath.arrange.terms import Transition, transition_points
from reedpath.harp import Move


def _by_itself(change: Change, key_midi: int, fit: FitWeights) -> Change:
    """A change of a route as a choice has it: pitches in semitones above the key note, no interval looked at."""
    asked = tuple(midi - key_midi for midi in change.asked_midi)
    given = tuple(midi - key_midi for midi in change.given_midi)
    plain = change_for(asked, given, fit) if given and change.kind not in OF_ORNAMENTS else None
    loss = change.loss if plain is None else plain.loss
    return replace(change, asked_midi=asked, given_midi=given, loss=loss)


def _above_key(choice: Choice, key_midi: int, fit: FitWeights) -> Choice:
    """A choice of a route as the search has it."""
    return replace(choice, changes=tuple(_by_itself(change, key_midi, fit) for change in choice.changes))


def _rows(route: Route, question: Question, moves: Mapping[int, Move], table: ChoiceTable) -> list[list[int]]:
    """Table rows of the choices of each event: the one that it has, or those that play its new move."""
    harp = route.harp
    tuned = table.tuned(harp.tuning, tongue=question.needs_tongue)
    scale = question.moved_scale(-harp.key_midi)
    rows = []
    for index, (one, ask) in enumerate(zip(route.events, question.ask_of.tolist(), strict=True)):
        move = moves.get(index)
        asked = question.asks[ask]
        if move is None:
            choice = _above_key(one.choice, harp.key_midi, table.weights.fit)
            rows.append([table.kept(harp.tuning, choice, asked.moved(-harp.key_midi))])
            continue
        asked = asked._replace(also=(as_written(move),))
        found = tuned.rows_for(asked, -harp.key_midi, scale).tolist()
        rows.append([row for row in found if plays(table.choice(row).move, move)])
    return rows


def _choices(rows: Sequence[Sequence[int]], question: Question, table: ChoiceTable) -> list[EventChoices]:
    price = table.weights.fit.price_points
    pace, worth = question.pace, worth_of(question.standing, question.pace, table.weights)
    columns = table.columns
    events: list[EventChoices] = []
    before: Sequence[int] = [0]
    for index, here in enumerate(rows):
        pairs = np.array([(one, two) for one in before for two in here], dtype=np.intp)
        have, gap, duration = (np.full(len(pairs), each[index]) for each in (pace.have, pace.gap, pace.duration))
        step = Transition(
            columns, pairs[:, 0], pairs[:, 1], have, gap, duration, table.weights, table.player, worth[index]
        )
        lost = step.now("loss") + contour_loss(step)
        costs = (transition_points(step) + price * lost).reshape(len(before), len(here))
        flow = tuple(columns["flow"][list(here)].tolist())
        events.append(EventChoices(np.array(here), costs, flow, np.ones(len(here), dtype=np.bool_)))
        before = here
    return events


def with_moves(route: Route, moves: Mapping[int, Move]) -> Route:
    """A route with other moves for some of its events, by their index; priced and explained as any other.

    Raises `SettingsError` for an event that is not there, a move that the harp does not have, and a level that is no
    longer known.
    """
    check_pins([Pin(index, move) for index, move in moves.items()], route.harp.tuning, len(route.events))
    player, weights = load_player(route.level or None), load_weights()
    table = ChoiceTable(player, weights)
    question = question_of(route.phrase)
    air = air_of(question.pace, weights, player)
    passes = go_both_ways(_choices(_rows(route, question, moves, table), question, table), air)
    choices, breathe, start = passes.best()
    rows = tuple(int(event.rows[choice]) for event, choice in zip(passes.events, choices, strict=True))
    changed = route_from(
        route.phrase, route.harp, route.shift_semitones, Way(rows, breathe, start), table, question, air
    )
    return replace(changed, position=route.position)
