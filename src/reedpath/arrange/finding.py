"""Finding: from a phrase and a harp to the route, through the lattice and the exact search."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from reedpath.arrange.alike import alike_path, groups_of
from reedpath.arrange.contour import contour_shares
from reedpath.arrange.demands import Ask, asks_of, pace_of, standing_of
from reedpath.arrange.expression import worth_of
from reedpath.arrange.hardness import comfortable_factor, hardest_spot, spots_of
from reedpath.arrange.lattice import Case, Question, lattice_of
from reedpath.arrange.lungs import Air, air_of, follow
from reedpath.arrange.player import Player, Weights, load_player, load_weights
from reedpath.arrange.relaxed import relaxed_costs
from reedpath.arrange.route import Choice, Effort, Route, RouteEvent
from reedpath.arrange.search import shortest_path
from reedpath.arrange.table import ChoiceTable
from reedpath.arrange.terms import Transition, transition_terms
from reedpath.harp import Breath, Harp, position_between
from reedpath.phrase import Phrase, performed

Points: TypeAlias = NDArray[np.float64]

# intervals above a tonic that belong to its key beside the phrase's own notes, by mode
TRIADS = {"major": (0, 4, 7), "minor": (0, 3, 7)}


class Way(Struct, frozen=True):
    """A way to play a phrase.

    rows : the table row of each event's choice.
    breathe : whether a breath comes before it.
    start : level of air before the first event.
    """

    rows: tuple[int, ...]
    breathe: tuple[bool, ...]
    start: int


class Asked(Struct, frozen=True):
    """A phrase as it is searched for on a harp.

    played : performed, and moved by ``shift_semitones``.
    question : what it asks.
    price_points : effort that a whole event's truth is worth.
    """

    played: Phrase
    harp: Harp
    shift_semitones: int
    table: ChoiceTable
    question: Question
    air: Air
    price_points: float

    def route(self, way: Way) -> Route:
        """The route that a way describes."""
        return route_from(self.played, self.harp, self.shift_semitones, way, self.table, self.question, self.air)


@lru_cache(maxsize=8)
def table_for(player: Player, weights: Weights) -> ChoiceTable:
    """The table of choices for a player and weights, shared by all searches."""
    return ChoiceTable(player, weights)


def shifts_of(phrase: Phrase, shifts: Sequence[int]) -> tuple[int, ...]:
    """Those of the shifts by which a phrase can be moved; PhraseError where there is none."""
    able = tuple(shift for shift in shifts if phrase.can_move(shift))
    if not able:
        phrase.moved(shifts[0])  # which says so
    return able


def question_of(phrase: Phrase) -> Question:
    """What a performed phrase asks."""
    asked = asks_of(phrase.events)
    distinct: dict[Ask, int] = {}
    ask_of = np.array([distinct.setdefault(ask, len(distinct)) for ask in asked], dtype=np.intp)
    scale = {midi % 12 for event in phrase.events for midi in event.midi}
    if phrase.key is not None:
        scale |= {(phrase.key.tonic + interval) % 12 for interval in TRIADS[phrase.key.third]}
    pace = pace_of(phrase)
    return Question(tuple(distinct), ask_of, pace, standing_of(phrase, pace), frozenset(scale))


def _steps(table: ChoiceTable, way: Way, question: Question) -> Transition:
    """The steps of a way, one for each event."""
    rows = np.array(way.rows, dtype=np.intp)
    before = np.concatenate((np.zeros(1, dtype=np.intp), rows[:-1]))
    pace = question.pace
    return Transition(
        table.columns, before, rows, pace.have, pace.gap, pace.duration, table.weights, table.player,
        worth_of(question.standing, pace, table.weights),
    )  # fmt: skip


def way_points(table: ChoiceTable, way: Way, question: Question, air: Air) -> tuple[dict[str, Points], list[int]]:
    """Points of every term for each event of a way, air included, and the level of air after each event."""
    levels, air_points = follow(air, table.columns["flow"][list(way.rows)].tolist(), way.breathe, way.start)
    return transition_terms(_steps(table, way, question)) | {"air": air_points}, levels


def way_losses(table: ChoiceTable, way: Way, question: Question) -> Points:
    """Truth that each event of a way loses, by itself and by the intervals that it breaks."""
    return _steps(table, way, question).now("loss") + _contour_of(table, way, question)


def _contour_of(table: ChoiceTable, way: Way, question: Question) -> Points:
    """Truth that each event of a way loses by the intervals that it breaks."""
    before, here = contour_shares(_steps(table, way, question))
    loss: Points = here + np.append(before[1:], 0.0)[: len(here)]
    return loss


def _efforts(terms: dict[str, Points], count: int) -> list[Effort]:
    listed = {name: points.tolist() for name, points in terms.items()}
    return [
        Effort({name: points[index] for name, points in listed.items() if points[index]}) for index in range(count)
    ]


def _losing(choice: Choice, loss: float) -> Choice:
    """A choice whose first change loses so much truth beside."""
    if not loss:
        return choice
    first, *others = choice.changes
    return replace(choice, changes=(replace(first, loss=min(1.0, first.loss + loss)), *others))


def choice_on_harp(choice: Choice, key_midi: int) -> Choice:
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
    phrase: Phrase, harp: Harp, shift_semitones: int, way: Way, table: ChoiceTable, question: Question, air: Air
) -> Route:
    """The route that a way describes.

    phrase : performed, and already moved by ``shift_semitones``.
    """
    terms, levels = way_points(table, way, question, air)
    efforts = _efforts(terms, len(way.rows))
    broken = _contour_of(table, way, question).tolist()
    choices = [
        choice_on_harp(_losing(table.choice(row), loss), harp.key_midi)
        for row, loss in zip(way.rows, broken, strict=True)
    ]
    events = tuple(
        RouteEvent(event, choice, effort, breathed, level * air.unit_litres)
        for event, choice, effort, breathed, level in zip(
            phrase.events, choices, efforts, way.breathe, levels, strict=True
        )
    )
    lost = float(way_losses(table, way, question).sum())
    return Route(
        phrase=phrase,
        harp=harp,
        position=position_between(harp.key_midi, phrase.key.tonic) if phrase.key else None,
        shift_semitones=shift_semitones,
        events=events,
        truth=max(0.0, 1.0 - lost / len(events)) if events else 1.0,
        worst=hardest_spot(events, table.weights),
        spots=spots_of(events, table.player),
        level=table.player.level,
        breathe_first=None if way.start == air.middle else Breath.BLOW if way.start < air.middle else Breath.DRAW,
        comfortable=comfortable_factor(table, way.rows, question.pace),
    )


def alike_route(
    played: Phrase,
    harp: Harp,
    shift_semitones: int,
    table: ChoiceTable,
    question: Question,
    air: Air,
    *,
    price_points: float,
) -> Route:
    """The best route for a phrase on a harp whose figures are alike where that is worth it; an exact search.

    played : performed, at its own pitch, as the question asks it.
    """
    case = Case(harp.tuning, shift_semitones - harp.key_midi)
    relaxed = relaxed_costs(lattice_of(table, question, [case], price_points=price_points))
    groups = groups_of(question.ask_of.tolist(), question.pace)
    found = alike_path(relaxed.layers(0, table.columns["flow"]), air, groups, table.weights.alike.points)
    way = Way(relaxed.rows(0, found.path), found.path.breathe, found.path.start)
    route = route_from(played.moved(shift_semitones), harp, shift_semitones, way, table, question, air)
    return replace(route, unlike=found.unlike)


def asked_of(
    phrase: Phrase,
    harp: Harp,
    *,
    shift_semitones: int = 0,
    player: Player | None = None,
    weights: Weights | None = None,
    price_points: float | None = None,
) -> Asked:
    """A phrase as it is searched for on a harp; parameters are those of `find_route`."""
    player, weights = player or load_player(), weights or load_weights()
    played = performed(phrase).moved(shift_semitones)
    question = question_of(played)
    return Asked(
        played=played,
        harp=harp,
        shift_semitones=shift_semitones,
        table=table_for(player, weights),
        question=question,
        air=air_of(question.pace, weights, player),
        price_points=weights.fit.price_points if price_points is None else price_points,
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

    phrase : as given; it is performed (repeats and grace notes unfolded) first.
    shift_semitones : how far to move the phrase before playing it.
    player : level and techniques, the default level for None.
    price_points : effort that a whole event's truth is worth, the weights' own for None.
    """
    asked = asked_of(
        phrase, harp, shift_semitones=shift_semitones, player=player, weights=weights, price_points=price_points
    )
    if not asked.played.events:
        return asked.route(Way((), (), asked.air.middle))
    case = Case(harp.tuning, -harp.key_midi)
    relaxed = relaxed_costs(lattice_of(asked.table, asked.question, [case], price_points=asked.price_points))
    path = shortest_path(relaxed.layers(0, asked.table.columns["flow"]), asked.air)
    return asked.route(Way(relaxed.rows(0, path), path.breathe, path.start))
