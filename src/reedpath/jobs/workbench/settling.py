"""Settling a draft: on which harp and where, and its best route; what a command did not change is not searched."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Pin, Player, Route, Settled, settle, survey
from reedpath.errors import NoRoute, ReedpathError, SettingsError
from reedpath.harp import Harp, parse_move
from reedpath.jobs.arranging import RouteRequest, check_request, harps_asked, kept_harp, shifts_asked, with_typed
from reedpath.jobs.instruments import chosen_harps, chosen_player, one_harp
from reedpath.jobs.workbench.draft import NOTATION, Draft, MovePin
from reedpath.phrase import Part, Phrase, performed


class HarpOwned(Struct, frozen=True):
    """A harp that the teacher owns: key and tuning."""

    key: str
    tuning: str = "standard"


class SettledDraft(Struct, frozen=True):
    """A draft's phrase settled.

    phrase : performed. player : of the draft.
    settled : with the pins of the draft, and those of a typed tab that agree with them.
    route : the best one that keeps them, on the phrase with the parts that are marked.
    proposed : whether the harp was the program's choice.
    alike : whether figures are fingered alike where that is worth it.
    figures : the moves by which that differs from the best route, as it was last found out.
    kept : settled with the figures as pins beside those; None without figures, or where they can't be kept.
    """

    phrase: Phrase
    player: Player
    settled: Settled
    route: Route
    proposed: bool
    alike: bool = False
    figures: tuple[Pin, ...] = ()
    kept: Settled | None = None


def request_of(draft: Draft) -> RouteRequest:
    """What a draft asks of harp and place; which harps are owned is not said there."""
    return RouteRequest(draft.harp, (), draft.position, draft.shift_semitones, draft.any_key, draft.player)


def harps_to_choose_from(draft: Draft, owned: Sequence[HarpOwned]) -> tuple[Harp, ...]:
    """The harps that a survey is about: those owned where any are and no others are asked for, or all keys."""
    choice = draft.harp
    if draft.owned_only and owned:
        return tuple(one_harp(replace(choice, tunings=(one.tuning,)), key=one.key) for one in owned)
    return chosen_harps(choice)


def _typed_harp(draft: Draft) -> Harp | None:
    """The harp that a tab is typed for, where nothing else is asked for."""
    typed = draft.typed
    if typed is None:
        return None
    return kept_harp(request_of(draft), one_harp(replace(draft.harp, tunings=(typed.tuning,)), key=typed.harp))


def _place(draft: Draft, phrase: Phrase, player: Player, owned: Sequence[HarpOwned]) -> tuple[Harp, int, bool]:
    """Harp, shift, and whether the program chose the harp."""
    typed = _typed_harp(draft)
    if typed is not None:
        return typed, 0, False
    request = request_of(draft)
    proposed = draft.harp.key is None and draft.position is None
    harps = harps_to_choose_from(draft, owned) if proposed else harps_asked(phrase, request)
    found = survey(phrase, harps, shifts=shifts_asked(request), player=player, top=1)
    if not found.ranked:
        raise NoRoute("jobs.no_notes")
    best = found.ranked[0]
    return best.harp, best.shift_semitones, proposed


def _pin(pin: MovePin, harp: Harp) -> Pin:
    try:
        return Pin(pin.event, parse_move(pin.move, NOTATION, tuning=harp.tuning), avoid=pin.avoid)
    except ReedpathError as error:
        raise SettingsError.like(error) from None


def held_pins(draft: Draft, harp: Harp) -> tuple[Pin, ...]:
    """What is said of events on a harp, and the moves of a typed tab beside it."""
    said = tuple(_pin(pin, harp) for pin in draft.pins)
    typed = draft.typed
    if typed is None or _typed_harp(draft) != harp:
        return said
    return with_typed(said, [_pin(one, harp) for one in typed.moves])


def _keeping_figures(settled: Settled, figures: Sequence[Pin], before: Settled | None = None) -> Settled | None:
    """Settled with the figures as pins too, fingered as they were until it is found out what becomes of them.

    So a pin on one note does not move others for a moment only.

    before : the same with other pins, of which what still holds is not searched again.
    """
    said = {pin.event for pin in settled.pins}
    figures = [pin for pin in figures if pin.event not in said]
    if figures:
        with suppress(SettingsError):
            return (before or settled).pinned((*settled.pins, *figures))
    return None


def fingered_alike(now: SettledDraft, draft: Draft) -> SettledDraft:
    """The same draft with figures alike where that is worth it, as a lesson of it would have it."""
    route, plain = now.settled.route(alike=True), now.settled.route()
    pairs = enumerate(zip(route.events, plain.events, strict=True))
    moved = [(index, one.choice.move) for index, (one, other) in pairs if one.choice != other.choice]
    figures = tuple(Pin(index, move) for index, move in moved if move is not None)
    kept = _keeping_figures(now.settled, figures)
    if kept is not None:
        kept.way()  # searched now, while nobody waits, so that a pin finds most of it known
    return replace(now, route=with_parts(route, draft), alike=True, figures=figures, kept=kept)


def with_parts(route: Route, draft: Draft) -> Route:
    """The route with the parts that are marked in place of the phrase's own, where any are."""
    if not draft.parts:
        return route
    events = route.events
    parts = tuple(Part(one.label, events[one.first].event.onset, events[one.last].event.end) for one in draft.parts)
    return replace(route, phrase=replace(route.phrase, parts=parts))


def _same_place(one: Draft, other: Draft) -> bool:
    """Whether the same is asked of harp and place, so that a switch of technique or level leaves the phrase there."""
    fields = ("phrase", "harp", "owned_only", "position", "shift_semitones", "any_key")
    typed = [None if draft.typed is None else (draft.typed.harp, draft.typed.tuning) for draft in (one, other)]
    return typed[0] == typed[1] and all(getattr(one, name) == getattr(other, name) for name in fields)


def settle_draft(
    draft: Draft, owned: Sequence[HarpOwned], before: tuple[Draft, SettledDraft] | None = None
) -> SettledDraft | None:
    """A draft settled; None for one without a phrase.

    before : an earlier draft and what came of it, of which what still holds is not searched again.

    Raises `ReedpathError` for something said that no route can keep, and where nothing plays the phrase.
    """
    if draft.phrase is None:
        return None
    stays = before is not None and _same_place(before[0], draft)
    if before is not None and stays and before[0].player == draft.player:
        ground = before[1]
        settled = ground.settled.pinned(held_pins(draft, ground.settled.harp))
        kept = _keeping_figures(settled, ground.figures, ground.kept)
        route = with_parts((kept or settled).route(), draft)
        return replace(ground, settled=settled, route=route, alike=False, kept=kept)
    check_request(draft.phrase, request_of(draft))
    phrase, player = performed(draft.phrase), chosen_player(draft.player)
    if before is not None and stays:
        ground = before[1]
        harp, shift, proposed = ground.settled.harp, ground.settled.shift_semitones, ground.proposed
    else:
        harp, shift, proposed = _place(draft, phrase, player, owned)
    settled = settle(phrase, harp, shift_semitones=shift, player=player, pins=held_pins(draft, harp))
    return SettledDraft(phrase, player, settled, with_parts(settled.route(), draft), proposed)
