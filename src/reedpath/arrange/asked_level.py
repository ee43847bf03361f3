"""Which level a route asks for: the first whose techniques are enough to play it as it stands."""

from __future__ import annotations

from reedpath.arrange.difficulty import allows, bend_room
from reedpath.arrange.player import Player, level_names, load_player
from reedpath.arrange.route import Route, RouteEvent
from reedpath.harp import Tuning


def level_asked(route: Route) -> str | None:
    """The first of the shipped levels that allows every technique of a route; None where none does.

    Of tempo it says nothing (`Route.comfortable` does).
    """
    return next((name for name in level_names() if _can_play(load_player(name), route)), None)


def _can_play(player: Player, route: Route) -> bool:
    tuning = route.harp.tuning
    return all(allows(player, move) for one in route.events for move in one.choice.moves) and all(
        _can_bend(player, tuning, one) for one in route.events
    )


def _can_bend(player: Player, tuning: Tuning, one: RouteEvent) -> bool:
    """Whether the player can bend as deep as the note is attacked or pressed."""
    choice = one.choice
    deepest = -min(0.0, choice.attack_semitones, choice.fall_semitones)
    return choice.move is None or deepest <= 0.0 or bend_room(tuning, player, choice.move) >= deepest
