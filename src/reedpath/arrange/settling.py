"""Settling: the best route that keeps a person's pins, and for every event what its other moves would add.

A phrase is settled on one harp at one place; each word said after that (`Settled.pinned`) costs only what it changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from reedpath.arrange.alike import Alike, alike_path, groups_of, open_layers
from reedpath.arrange.bringing_in import plays
from reedpath.arrange.demands import Ask
from reedpath.arrange.difficulty import allows
from reedpath.arrange.finding import Asked, Way, asked_of, choice_on_harp
from reedpath.arrange.lattice import Case, Question, lattice_of
from reedpath.arrange.passes import EventChoices, Passes, go_both_ways
from reedpath.arrange.pins import Pin, check_pins
from reedpath.arrange.player import Player, Weights
from reedpath.arrange.route import Change, Choice, Route
from reedpath.arrange.table import ChoiceTable
from reedpath.data.numbers import Points
from reedpath.errors import SettingsError
from reedpath.harp import Embouchure, Harp, Move, format_move, reach_of
from reedpath.phrase import Phrase

Mask: TypeAlias = NDArray[np.bool_]


class OtherWay(Struct, frozen=True, omit_defaults=True):
    """Another move for an event.

    move : the move.
    adds : points that the best whole route through it costs more, the price of lost truth included.
    changes : what differs from the phrase at this event, if it is played so.
    beyond_level : whether the player's level leaves such a move out.
    """

    move: Move
    adds: Points
    changes: tuple[Change, ...]
    beyond_level: bool = False


class _Ground(Struct, frozen=True):
    """What a phrase is settled on: all that no pin changes.

    asks : per event, with all moves of the harp that sound it.
    choices : per event, with no pin.
    """

    asked: Asked
    asks: tuple[Ask, ...] = ()
    choices: tuple[EventChoices, ...] = ()


def _with_all_moves(asked: Asked, ask: Ask) -> Ask:
    above_key = (pitch - asked.harp.key_midi for pitch in ask.pitches)
    return ask._replace(also=reach_of(asked.harp.tuning).moves_for(*above_key))


def _choices(asked: Asked, asks: Sequence[Ask]) -> tuple[EventChoices, ...]:
    """The choices of events that ask so; open is what the level and the fitting offer."""
    offset, table, plain = -asked.harp.key_midi, asked.table, asked.question
    distinct: dict[Ask, int] = {}
    ask_of = np.array([distinct.setdefault(ask, len(distinct)) for ask in asks], dtype=np.intp)
    question = Question(tuple(distinct), ask_of, plain.pace, plain.standing, plain.scale)
    case = Case(asked.harp.tuning, offset)
    lattice = lattice_of(table, question, [case], price_points=asked.price_points)
    tuned, scale = table.tuned(case.tuning, tongue=question.needs_tongue), question.moved_scale(offset)
    flow = table.columns["flow"]
    of_kind: dict[int, EventChoices] = {}
    for kind in set(lattice.kind_of.tolist()):
        ask = int(lattice.kinds[kind, 1])
        rows = lattice.layer(0, ask)
        offered = len(tuned.rows_for(question.asks[ask]._replace(also=()), offset, scale))
        moved = len(rows) - len(tuned.rows_for(question.asks[ask], offset, scale))
        is_open = (np.arange(len(rows)) < offered) | (np.arange(len(rows)) >= len(rows) - moved)
        of_kind[kind] = EventChoices(rows, lattice.step_costs(0, kind), tuple(flow[rows].tolist()), is_open)
    return tuple(of_kind[kind] for kind in lattice.kind_of.tolist())


def _about(ground: _Ground, choices: EventChoices, pin: Pin) -> Mask:
    """Which choices of an event a pin is about."""
    return np.array(
        [pin.is_about(ground.asked.table.choice(row).move) for row in choices.rows.tolist()], dtype=np.bool_
    )


def _with_pinned_moves(ground: _Ground, pins: Sequence[Pin]) -> tuple[EventChoices, ...]:
    """The choices of all events, with those that only a pin asks for."""
    asks = list(ground.asks)
    for pin in (one for one in pins if not one.avoid):
        there = [ground.asked.table.choice(row).move for row in ground.choices[pin.event].rows.tolist()]
        new = (as_written(move) for move in pin.moves if not any(plays(one, move) for one in there))
        ask = asks[pin.event]
        asks[pin.event] = ask._replace(also=tuple(dict.fromkeys((*ask.also, *new))))
    return ground.choices if tuple(asks) == ground.asks else _choices(ground.asked, asks)


def as_written(move: Move) -> Move:
    """A move with the embouchure that its holes ask for: the tongue for a split, else the lips."""
    return replace(move, embouchure=Embouchure.TONGUE if move.is_split else Embouchure.PUCKER)


def _keeping(ground: _Ground, pins: Sequence[Pin]) -> tuple[EventChoices, ...]:
    """The choices of all events, those barred that the pins leave out."""
    choices = list(_with_pinned_moves(ground, pins))
    wanted: dict[int, Mask] = {}
    for pin in (one for one in pins if not one.avoid):  # what a pin asks for is open, offered or not
        about = _about(ground, choices[pin.event], pin)
        wanted[pin.event] = wanted[pin.event] & about if pin.event in wanted else about
    choices = [replace(event, open=wanted.get(index, event.open)) for index, event in enumerate(choices)]
    for pin in (one for one in pins if one.avoid):
        event = choices[pin.event]
        choices[pin.event] = replace(event, open=event.open & ~_about(ground, event, pin))
    for pin in pins:
        if not choices[pin.event].open.any():
            raise SettingsError("arrange.nothing_left", number=pin.event + 1, move=format_move(pin.move))
    return tuple(choices)


class Settled(Struct, frozen=True):
    """A phrase settled on a harp.

    pins : the words that are kept.
    passes : what every choice of every event costs.
    """

    pins: tuple[Pin, ...]
    passes: Passes
    _ground: _Ground

    @property
    def cost(self) -> float:
        """Points of the route, the price of lost truth included."""
        return self.passes.cost

    @property
    def harp(self) -> Harp:
        """The harp that it is settled on."""
        return self._ground.asked.harp

    @property
    def shift_semitones(self) -> int:
        """How far the phrase is moved."""
        return self._ground.asked.shift_semitones

    @property
    def table(self) -> ChoiceTable:
        """The choices that `way` names."""
        return self._ground.asked.table

    def way(self) -> Way:
        """The best way that keeps the pins."""
        return self._way_of(*self.passes.best())

    def _way_of(self, choices: Sequence[int], breathe: tuple[bool, ...], start: int) -> Way:
        rows = (int(one.rows[choice]) for one, choice in zip(self.passes.events, choices, strict=True))
        return Way(tuple(rows), breathe, start)

    def _alike(self) -> Alike:
        """The best way with figures alike; a word on one event takes it out of its figure."""
        ground, events = self._ground, self.passes.events
        groups: dict[tuple[int, bytes, bytes], list[int]] = {}
        for number, group in enumerate(groups_of(ground.asked.question.ask_of.tolist(), ground.asked.question.pace)):
            for index in group:
                key = (number, events[index].rows.tobytes(), events[index].open.tobytes())
                groups.setdefault(key, []).append(index)
        kept = [tuple(group) for group in groups.values() if len(group) > 1]
        return alike_path(open_layers(events), ground.asked.air, kept, ground.asked.table.weights.alike.points)

    def route(self, *, alike: bool = False) -> Route:
        """The best route that keeps the pins; with figures ``alike`` where that is worth it (see `alike`)."""
        ground, found = self._ground, self._alike() if alike and self.passes.events else None
        way = self._way_of(found.path.choices, found.path.breathe, found.path.start) if found else self.way()
        route = ground.asked.route(way)
        return replace(route, unlike=found.unlike) if found else route

    def pinned(self, pins: Sequence[Pin]) -> Settled:
        """The same phrase with other pins in place of these; only what they change is searched again.

        Raises `SettingsError` for pins that no route can keep, with the reason.
        """
        check_pins(pins, self._ground.asked.harp.tuning, len(self.passes.events))
        passes = go_both_ways(_keeping(self._ground, pins), self._ground.asked.air, self.passes)
        return Settled(tuple(pins), passes, self._ground)

    def others(self, route: Route | None = None) -> tuple[tuple[OtherWay, ...], ...]:
        """For every event its moves beside a route's, each with what the best route through it adds, least first.

        Those are all the moves of the harp that sound it, and what the fitting offers in their place. What a move
        adds is what pinning it costs beside the other pins; where it takes the place of a pin, that may be less
        than nothing.

        route : one of the best routes, the one that `route` gives for None.
        """
        table, events = self._ground.asked.table, self.passes.events
        if route is None:
            chosen = [table.choice(row).move for row in self.way().rows]
        else:
            chosen = [one.choice.move for one in route.events]
        known: dict[bytes, list[OtherWay | None]] = {}
        for event in events:
            if event.rows.tobytes() not in known:
                known[event.rows.tobytes()] = self._ways(event)
        return tuple(
            self._others_of(index, known[event.rows.tobytes()], move)
            for index, (event, move) in enumerate(zip(events, chosen, strict=True))
        )

    def others_at(self, event: int, route: Route) -> tuple[OtherWay, ...]:
        """What `others` tells of one event."""
        return self._others_of(event, self._ways(self.passes.events[event]), route.events[event].choice.move)

    def _ways(self, event: EventChoices) -> list[OtherWay | None]:
        """The choices of an event as other ways, nothing added yet."""
        table = self._ground.asked.table
        return [self._way(table.choice(row)) for row in event.rows.tolist()]

    def _way(self, choice: Choice) -> OtherWay | None:
        """A choice as another way, nothing added yet; None for silence."""
        if choice.move is None:
            return None
        ground = self._ground
        changes = choice_on_harp(choice, ground.asked.harp.key_midi).changes
        return OtherWay(as_written(choice.move), 0.0, changes, not allows(ground.asked.table.player, choice.move))

    def _others_of(self, event: int, ways: Sequence[OtherWay | None], chosen: Move | None) -> tuple[OtherWay, ...]:
        """The other ways of an event, of each move the best."""
        through = self.passes.through(event)
        adds = (through - self.cost).tolist()
        found: dict[Move, OtherWay] = {}
        for index in np.argsort(through, kind="stable").tolist():
            way = ways[index]
            if way is not None and way.move not in found and not plays(chosen, way.move):
                found[way.move] = replace(way, adds=adds[index])
        return tuple(found.values())


def settle(
    phrase: Phrase,
    harp: Harp,
    *,
    shift_semitones: int = 0,
    player: Player | None = None,
    weights: Weights | None = None,
    price_points: float | None = None,
    pins: Sequence[Pin] = (),
) -> Settled:
    """Settle a phrase on a harp: the best route that keeps the pins, exactly, and what every other move would add.

    Parameters are those of `find_route`.

    Raises `SettingsError` for pins that no route can keep, with the reason.
    """
    asked = asked_of(
        phrase, harp, shift_semitones=shift_semitones, player=player, weights=weights, price_points=price_points
    )
    ground = _Ground(asked)
    if asked.played.events:
        asks = [_with_all_moves(asked, asked.question.asks[ask]) for ask in asked.question.ask_of.tolist()]
        ground = _Ground(asked, tuple(asks), _choices(asked, asks))
    check_pins(pins, harp.tuning, len(asked.played.events))
    return Settled(tuple(pins), go_both_ways(_keeping(ground, pins), asked.air), ground)
