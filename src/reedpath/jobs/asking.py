"""Asking: the survey of a phrase, and its route on a harp."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct, field

from reedpath.arrange import Player, Route, Survey, octave_shifts, survey
from reedpath.errors import NoRoute, SettingsError
from reedpath.harp import Harp
from reedpath.jobs.instruments import HarpChoice, PlayerChoice, chosen_harps, chosen_player, key_in_position, one_harp
from reedpath.jobs.pinning import Said, TechniqueSaid, pins_of
from reedpath.phrase import Phrase

if TYPE_CHECKING:
    from reedpath.arrange import Settled

__all__ = ["RouteRequest", "best_route", "settled_like", "survey_phrase", "trade_off_of"]

# semitones; a phrase is never moved further
FURTHEST_SHIFT = 36


class RouteRequest(Struct, frozen=True):
    """How a phrase is to be arranged.

    harp : the instrument; without a key, the survey chooses.
    owned : keys to choose from where the survey chooses; none for all twelve.
    position : chooses the harp's key from the phrase's.
    shift_semitones : how far to move the phrase, None for the best octave.
    any_key : whether the survey may move the phrase to any key.
    player : level and techniques.
    said : what is said of single events.
    techniques : what is said of whole parts.
    notation : in which moves that are said are read first.
    """

    harp: HarpChoice = field(default_factory=HarpChoice)
    owned: tuple[str, ...] = ()
    position: int | None = None
    shift_semitones: int | None = None
    any_key: bool = False
    player: PlayerChoice = field(default_factory=PlayerChoice)
    said: tuple[Said, ...] = ()
    techniques: tuple[TechniqueSaid, ...] = ()
    notation: str = "sign"


def _shifts(request: RouteRequest) -> tuple[int, ...]:
    if request.shift_semitones is None:
        return octave_shifts(any_key=request.any_key)
    if abs(request.shift_semitones) > FURTHEST_SHIFT:
        raise SettingsError("jobs.shift_too_far", semitones=request.shift_semitones, most=FURTHEST_SHIFT)
    return (request.shift_semitones,)


def _harps(phrase: Phrase, request: RouteRequest) -> Sequence[Harp]:
    if request.harp.key is not None and request.position is not None:
        raise SettingsError("jobs.harp_and_position")
    if request.harp.key is not None:
        return [one_harp(request.harp, key=request.harp.key)]
    if request.position is not None:
        return [one_harp(request.harp, key=key_in_position(phrase.key, request.position))]
    return chosen_harps(request.harp, owned=request.owned)


def survey_phrase(phrase: Phrase, request: RouteRequest, *, top: int = 12) -> Survey:
    """Rank the harps, positions and shifts that play a phrase best."""
    if top < 1:
        raise SettingsError("jobs.no_lines", lines=top)
    player = chosen_player(request.player)
    return survey(phrase, _harps(phrase, request), shifts=_shifts(request), player=player, top=top)


def _free_route(phrase: Phrase, request: RouteRequest) -> Route:
    """The route on the harp asked for or the best one, whatever is said of its events."""
    found = survey_phrase(phrase, request, top=1)
    if not found.ranked:
        raise NoRoute("jobs.no_notes")
    return found.ranked[0].route()


def best_route(phrase: Phrase, request: RouteRequest) -> Route:
    """The route for a phrase, on the harp asked for or the one that plays it best, that keeps what is said of it."""
    route = _free_route(phrase, request)
    if not request.said and not request.techniques:
        return route
    return settled_like(phrase, route, request).route()


def settled_like(phrase: Phrase, route: Route, request: RouteRequest) -> Settled:
    """
    The phrase settled where a route of it is played, with the pins that are asked for.

    Raises
    ------
    SettingsError
        For something said that no route can keep, with the reason.
    """
    from reedpath.arrange import settle

    pins = pins_of(route, request.said, request.techniques, notation=request.notation)
    player = chosen_player(request.player)
    return settle(phrase, route.harp, shift_semitones=route.shift_semitones, player=player, pins=pins)


def trade_off_of(phrase: Phrase, route: Route, request: RouteRequest) -> tuple[Route, ...]:
    """Routes on the same harp none of which is beaten on effort and truth, the truest first.

    What is said of events holds for all of them, and so where they are played.
    """
    from reedpath.arrange import trade_off

    player: Player = chosen_player(request.player)
    if request.said or request.techniques:
        pins = settled_like(phrase, route, request).pins
        return trade_off(phrase, route.harp, shifts=(route.shift_semitones,), player=player, pins=pins)
    return trade_off(phrase, route.harp, shifts=_shifts(request), player=player)
