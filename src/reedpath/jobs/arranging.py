"""Asking: the survey of a phrase, and its route on a harp."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from reedpath.arrange import Player, Route, Survey, octave_shifts, survey
from reedpath.errors import NoRoute, SettingsError
from reedpath.harp import Harp
from reedpath.jobs.instruments import HarpChoice, PlayerChoice, chosen_harps, chosen_player, key_in_position, one_harp
from reedpath.phrase import Phrase, performed

if TYPE_CHECKING:
    from reedpath.arrange import Pin, Ranked, RetuningSurvey, Settled
    from reedpath.jobs.pinning import Said, TechniqueSaid
    from reedpath.readers.harmonica_tab import TypedMoves

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
    rearrange : whether the moves of a typed harmonica tab are left aside and a route is searched anew.
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
    rearrange: bool = False


def shifts_asked(request: RouteRequest) -> tuple[int, ...]:
    """Semitones by which a phrase may be moved, small shifts first; SettingsError for one that is too far."""
    if request.shift_semitones is None:
        return octave_shifts(any_key=request.any_key)
    if abs(request.shift_semitones) > FURTHEST_SHIFT:
        raise SettingsError("jobs.shift_too_far", semitones=request.shift_semitones, most=FURTHEST_SHIFT)
    return (request.shift_semitones,)


def harps_asked(phrase: Phrase, request: RouteRequest) -> Sequence[Harp]:
    """The harps that a survey is about: the one that is asked for, or those to choose from."""
    if request.harp.key is not None and request.position is not None:
        raise SettingsError("jobs.harp_and_position")
    if request.harp.key is not None:
        return [one_harp(request.harp, key=request.harp.key)]
    if request.position is not None:
        return [one_harp(request.harp, key=key_in_position(phrase.key, request.position))]
    return chosen_harps(request.harp, owned=request.owned)


def check_request(phrase: Phrase, request: RouteRequest) -> None:
    """Raise a ReedpathError, before any search, for a harp, a shift or a player that cannot be had."""
    chosen_player(request.player)
    shifts_asked(request)
    harps_asked(phrase, request)


def survey_phrase(phrase: Phrase, request: RouteRequest, *, top: int = 12) -> Survey:
    """Rank the harps, positions and shifts that play a phrase best."""
    if top < 1:
        raise SettingsError("jobs.no_lines", lines=top)
    player = chosen_player(request.player)
    return survey(phrase, harps_asked(phrase, request), shifts=shifts_asked(request), player=player, top=top)


def retunings_of(phrase: Phrase, request: RouteRequest, *, reeds: int, top: int = 5) -> tuple[Harp, RetuningSurvey]:
    """The harp that plays a phrase best among those asked for, and the small retunings of it that make it easier.

    reeds : how many reeds are retuned at most, 1 or 2.
    """
    from reedpath.arrange import PlayedOn, survey_retunings

    found = survey_phrase(phrase, request, top=1)
    if not found.ranked:
        raise NoRoute("jobs.no_notes")
    best = found.ranked[0]
    played = PlayedOn(performed(phrase).moved(best.shift_semitones), best.harp, chosen_player(request.player))
    return best.harp, survey_retunings([played], reeds=reeds, top=top)


def typed_harp(request: RouteRequest, typed: TypedMoves | None) -> Harp | None:
    """The harp that a tab is typed for, where its moves are to be kept: nothing else is asked of harp or octave."""
    return None if typed is None else kept_harp(request, typed.harp)


def kept_harp(request: RouteRequest, harp: Harp) -> Harp | None:
    """The same for a harp that a tab is typed for."""
    if request.rearrange or request.any_key or request.shift_semitones:
        return None
    asked = request.harp
    if request.position is not None or request.owned or asked.tunings not in (("standard",), (harp.tuning.name,)):
        return None
    if asked.key is not None and one_harp(asked, key=asked.key).key_midi != harp.key_midi:
        return None
    return one_harp(replace(asked, tunings=(harp.tuning.name,)), key=harp.name)


def _typed_pins(phrase: Phrase, typed: TypedMoves) -> tuple[Pin, ...]:
    """The moves of a tab, each a pin of its event."""
    from reedpath.arrange import Pin

    places = ((one.place.line or 0, one.place.column or 0) for one in performed(phrase).events)
    return tuple(Pin(index, typed.moves[place]) for index, place in enumerate(places) if place in typed.moves)


def _pins(route: Route, request: RouteRequest) -> tuple[Pin, ...]:
    from reedpath.jobs.pinning import pins_of  # a request that says nothing of events enters less

    return pins_of(route, request.said, request.techniques, notation=request.notation)


def _settled_at(phrase: Phrase, harp: Harp, shift: int, request: RouteRequest, pins: Sequence[Pin]) -> Settled:
    from reedpath.arrange import settle

    return settle(phrase, harp, shift_semitones=shift, player=chosen_player(request.player), pins=pins)


def _first_route(phrase: Phrase, request: RouteRequest, typed: TypedMoves | None) -> Route:
    """The route before anything is said of its events: as typed, or on the harp asked for or the best one."""
    harp = typed_harp(request, typed)
    if harp is not None and typed is not None:
        return _settled_at(phrase, harp, 0, request, _typed_pins(phrase, typed)).route(alike=True)
    found = survey_phrase(phrase, request, top=1)
    if not found.ranked:
        raise NoRoute("jobs.no_notes")
    return found.ranked[0].route(alike=True)


def best_route(phrase: Phrase, request: RouteRequest, typed: TypedMoves | None = None) -> Route:
    """The route for a phrase, on the harp asked for or the one that plays it best, that keeps what is said of it.

    typed : moves of a harmonica tab, which are kept unless another harp, another octave or a new search is asked for.
    """
    return arranged(phrase, request, typed)[0]


def arranged(phrase: Phrase, request: RouteRequest, typed: TypedMoves | None = None) -> tuple[Route, tuple[Pin, ...]]:
    """The route, and the pins that are asked for, those of a typed tab not among them."""
    route = _first_route(phrase, request, typed)
    if not request.said and not request.techniques:
        return route, ()
    pins = _pins(route, request)
    return settled_like(phrase, route, request, typed).route(alike=True), pins


def settled_like(phrase: Phrase, route: Route, request: RouteRequest, typed: TypedMoves | None = None) -> Settled:
    """The phrase settled where a route of it is played, with the pins that are asked for, and those of a typed tab.

    Raises `SettingsError` for something said that no route can keep, with the reason.
    """
    pins = _pins(route, request)
    if typed is not None and typed_harp(request, typed) is not None:
        pins = with_typed(pins, _typed_pins(phrase, typed))
    return _settled_at(phrase, route.harp, route.shift_semitones, request, pins)


def with_typed(said: Sequence[Pin], typed: Sequence[Pin]) -> tuple[Pin, ...]:
    """What is said of events, and of what is typed that which still holds beside it."""
    about: dict[int, list[Pin]] = {}
    for pin in said:
        about.setdefault(pin.event, []).append(pin)
    holding = (
        pin for pin in typed
        if all(other.avoid and not other.is_about(pin.move) for other in about.get(pin.event, ()))
    )  # fmt: skip
    return (*said, *holding)


def trade_off_of(phrase: Phrase, route: Route, request: RouteRequest) -> tuple[Route, ...]:
    """Routes on the same harp none of which is beaten on effort and truth, the truest first.

    What is said of events holds for all of them, and so where they are played; typed moves do not.
    """
    from reedpath.arrange import trade_off

    player: Player = chosen_player(request.player)
    if request.said or request.techniques:
        pins = settled_like(phrase, route, request).pins
        return trade_off(phrase, route.harp, shifts=(route.shift_semitones,), player=player, pins=pins)
    return trade_off(phrase, route.harp, shifts=shifts_asked(request), player=player)


def surveyed_as_typed(phrase: Phrase, request: RouteRequest, typed: TypedMoves | None) -> Ranked | None:
    """The line of a survey for a tab as it is typed; None for what is not typed so."""
    if typed is None:
        return None
    from reedpath.arrange import ranked_as

    plain = RouteRequest(replace(request.harp, key=None, tunings=("standard",)), player=request.player)
    harp = typed_harp(plain, typed)
    assert harp is not None, "nothing else is asked of the harp"
    return ranked_as(phrase, _settled_at(phrase, harp, 0, plain, _typed_pins(phrase, typed)))
