"""What a route asks of a player: its techniques, each with the hardest move that it is used for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import StrEnum

from msgspec import Struct

from reedpath.arrange import Route, RouteEvent
from reedpath.harp import Alteration, Breath, Move
from reedpath.wording import Catalogue, move_words


class PlayingTechnique(StrEnum):
    """Something that a player has to have learnt; the values are keys of the catalogues under "technique"."""

    OVERDRAWS = "overdraws"
    OVERBLOWS = "overblows"
    BLOW_BENDS = "blow_bends"
    DRAW_BENDS = "draw_bends"
    SPLITS = "splits"
    CHORDS = "chords"
    VIBRATO = "vibrato"
    GRACES = "graces"


# techniques of which a move tells more than the name does
_TOLD_BY_MOVE = frozenset(
    {
        PlayingTechnique.OVERDRAWS,
        PlayingTechnique.OVERBLOWS,
        PlayingTechnique.BLOW_BENDS,
        PlayingTechnique.DRAW_BENDS,
        PlayingTechnique.SPLITS,
    }
)


class UsedTechnique(Struct, frozen=True):
    """A technique of a route.

    technique : which.
    events : indexes of the route's events that use it, in order.
    hardest : the hardest move that is played so.
    """

    technique: PlayingTechnique
    events: tuple[int, ...]
    hardest: Move


def _bent(move: Move, semitones: float) -> PlayingTechnique | None:
    if move.alteration is Alteration.OVERBLOW:
        return PlayingTechnique.OVERBLOWS
    if move.alteration is Alteration.OVERDRAW:
        return PlayingTechnique.OVERDRAWS
    if move.alteration is Alteration.NATURAL and not semitones:
        return None
    return PlayingTechnique.DRAW_BENDS if move.breath is Breath.DRAW else PlayingTechnique.BLOW_BENDS


def _used(one: RouteEvent) -> Iterator[tuple[PlayingTechnique, Move]]:
    """The techniques of an event, with the moves that use them."""
    choice = one.choice
    if choice.move is None:
        return
    for move in choice.moves:
        is_main = move is choice.move
        bent = _bent(move, (choice.attack_semitones or choice.fall_semitones) if is_main else 0.0)
        if bent is not None:
            yield bent, move
    if choice.move.is_split:
        yield PlayingTechnique.SPLITS, choice.move
    elif len(choice.move.holes) > 1:
        yield PlayingTechnique.CHORDS, choice.move
    if one.event.ornaments.vibrato:
        yield PlayingTechnique.VIBRATO, choice.move
    if one.event.grace:
        yield PlayingTechnique.GRACES, choice.move


def techniques_of(route: Route) -> tuple[UsedTechnique, ...]:
    """The techniques that a route uses, in the order of `PlayingTechnique`, the rarest first."""
    events: dict[PlayingTechnique, list[int]] = {}
    hardest: dict[PlayingTechnique, tuple[tuple[float, float], Move]] = {}
    for index, one in enumerate(route.events):
        points = one.effort.terms.get("move", 0.0) + one.effort.terms.get("ornament", 0.0)
        for technique, move in _used(one):
            found = events.setdefault(technique, [])
            if not found or found[-1] != index:
                found.append(index)
            rank = (points, abs(move.semitones))
            if technique not in hardest or rank > hardest[technique][0]:
                hardest[technique] = (rank, move)
    return tuple(UsedTechnique(one, tuple(events[one]), hardest[one][1]) for one in PlayingTechnique if one in events)


def techniques_words(route: Route, words: Catalogue) -> tuple[str, ...]:
    """What a route asks, in words: "overblows (6 overblow)", "draw bends (3 draw whole-step bend)", "chords"."""
    return techniques_words_of_all([route], words)


def techniques_words_of_all(routes: Sequence[Route], words: Catalogue) -> tuple[str, ...]:
    """What several routes ask together, likewise; of a technique the move that goes furthest."""
    hardest: dict[PlayingTechnique, Move] = {}
    for used in (one for route in routes for one in techniques_of(route)):
        before = hardest.get(used.technique)
        if before is None or abs(used.hardest.semitones) > abs(before.semitones):
            hardest[used.technique] = used.hardest
    said = []
    for technique in (one for one in PlayingTechnique if one in hardest):
        name = words.say(f"technique.{technique.value}")
        if technique in _TOLD_BY_MOVE:
            move = move_words(hardest[technique], words, short=True)
            name = words.say("technique.with_move", technique=name, move=move)
        said.append(name)
    return tuple(said)
