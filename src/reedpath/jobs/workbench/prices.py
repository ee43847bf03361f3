"""Prices: what each level and each technique would cost or save; the survey and the trade-off, as they are shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import (
    Player,
    Route,
    Survey,
    level_names,
    load_player,
    price_sweep,
    settle,
    shortened,
    survey,
    unbeaten,
)
from reedpath.errors import ReedpathError
from reedpath.harp import Harp
from reedpath.jobs.arranging import shifts_asked
from reedpath.jobs.instruments import PlayerChoice, chosen_player
from reedpath.jobs.workbench.draft import Draft
from reedpath.jobs.workbench.messages import Price, SurveyLine, SurveyShown, TradeOffPoint, TradeOffShown
from reedpath.jobs.workbench.settling import HarpOwned, SettledDraft, harps_to_choose_from, request_of
from reedpath.phrase import Phrase, timing_of

# lines of the survey that are shown; a teacher owns twelve keys and a few more. Ours
MOST_LINES = 16
# what a technique is switched on to; depths in semitones as every usual harp has them (three on 3 draw, two on 10
# blow; common practice, no source)
SWITCHED_ON = {"draw_bends": 3, "blow_bends": 2, "overblows": True, "overdraws": True, "splits": True, "chords": True}
SWITCHED_OFF = {"draw_bends": 0, "blow_bends": 0}
# routes of a trade-off that a person takes in at a glance; common practice, no source
MOST_ROUTES = 6
# decimals of points and shares
DECIMALS = 3


def allowed_techniques(choice: PlayerChoice) -> dict[str, int]:
    """What a player may do, by technique: the deepest bend in semitones, or 0 and 1."""
    player = chosen_player(choice)
    return {
        "draw_bends": max(player.draw_bends, default=0),
        "blow_bends": max(player.blow_bends, default=0),
        "overblows": int(player.overblows),
        "overdraws": int(player.overdraws),
        "splits": int(player.splits),
        "chords": int(player.chords),
    }


def not_as_given(route: Route) -> int:
    """How many events differ from the phrase."""
    return sum(bool(one.choice.changes) for one in route.events)


def comfortable_bpm(route: Route) -> float:
    """Quarter notes a minute up to which speed alone makes nothing hard."""
    return round(route.comfortable * timing_of(route.phrase).tempos[0].bpm, 1)


def _price(
    now: SettledDraft,
    player: PlayerChoice,
    name: str,
    value: str | int,
    *,
    on: bool,
    level: bool,
) -> Price | None:
    """What would come of another player, pins and place kept; None where nothing does."""
    held = now.settled.pins
    try:
        then = settle(
            now.phrase,
            now.settled.harp,
            shift_semitones=now.settled.shift_semitones,
            player=chosen_player(player),
            pins=held,
        )
        route, before = then.route(), now.settled.route()
    except ReedpathError:  # a pin that nothing can keep then
        return None
    others = sum(one.choice.move != two.choice.move for one, two in zip(route.events, before.events, strict=True))
    return Price(
        name=name,
        value=value,
        on=on,
        adds=None if level else round(then.cost - now.settled.cost, DECIMALS),
        truth=round(route.truth, DECIMALS),
        others=others,
        not_as_given=not_as_given(route),
        comfortable_bpm=comfortable_bpm(route),
    )


def level_prices(draft: Draft, now: SettledDraft) -> Iterator[Price]:
    """What each level would make of the phrase; what is said of techniques stays."""
    chosen = load_player(draft.player.level).level
    for name in level_names():
        price = _price(now, replace(draft.player, level=name), name, name, on=name == chosen, level=True)
        if price is not None:
            yield price


def technique_prices(draft: Draft, now: SettledDraft) -> Iterator[Price]:
    """What it would add or save to switch each technique the other way."""
    own = allowed_techniques(PlayerChoice(draft.player.level))
    for name, allowed in allowed_techniques(draft.player).items():
        value: int | bool = SWITCHED_OFF.get(name, False) if allowed else (own[name] or SWITCHED_ON[name])
        if isinstance(SWITCHED_ON[name], bool):
            value = bool(value)
        price = _price(now, replace(draft.player, **{name: value}), name, value, on=bool(allowed), level=False)
        if price is not None:
            yield price


def _unbeaten_lines(found: Survey) -> set[int]:
    """Indices of lines that no other beats on effort and truth."""
    counts = [(round(one.effort.total, DECIMALS), -round(one.truth, DECIMALS)) for one in found.ranked]
    return {
        index
        for index, (effort, lost) in enumerate(counts)
        if not any(e <= effort and t <= lost and (e, t) != (effort, lost) for e, t in counts)
    }


class KnownSurvey(Struct, frozen=True):
    """A survey, and what it was asked of; a pin changes nothing of it."""

    phrase: Phrase
    player: Player
    harps: tuple[Harp, ...]
    shifts: tuple[int, ...]
    found: Survey


def surveyed(
    draft: Draft, now: SettledDraft, owned: Sequence[HarpOwned], before: KnownSurvey | None = None
) -> KnownSurvey:
    """The survey of a draft's phrase; the one before where the same is asked."""
    harps, shifts = harps_to_choose_from(draft, owned), shifts_asked(request_of(draft))
    if before is not None:
        known = (before.phrase, before.player, before.harps, before.shifts)
        if known == (now.phrase, now.player, harps, shifts):
            return before
    found = survey(now.phrase, harps, shifts=shifts, player=now.player, top=MOST_LINES)
    return KnownSurvey(now.phrase, now.player, harps, shifts, found)


def survey_shown(
    found: Survey, draft: Draft, now: SettledDraft, owned: Sequence[HarpOwned], number: int
) -> SurveyShown:
    """The survey of a draft's phrase, as it is shown."""
    best = _unbeaten_lines(found)
    place = (now.settled.harp, now.settled.shift_semitones)
    lines = tuple(
        SurveyLine(
            harp=line.harp.name,
            harp_key=line.harp.name,
            tuning=line.harp.tuning.name,
            position=line.position,
            shift_semitones=line.shift_semitones,
            score=round(line.score, DECIMALS),
            effort=round(line.effort.total, DECIMALS),
            worst=round(line.worst, DECIMALS),
            truth=round(line.truth, DECIMALS),
            unbeaten=index in best,
            chosen=place in ((line.harp, line.shift_semitones), *line.also),
        )
        for index, line in enumerate(found.ranked)
    )
    return SurveyShown(number=number, lines=lines, owned=bool(draft.owned_only and owned))


def trade_off_routes(now: SettledDraft) -> Iterator[Route]:
    """The routes that a trade-off is chosen from, where a phrase is settled, its pins kept."""
    harp, shift = now.settled.harp, now.settled.shift_semitones
    return price_sweep(now.phrase, harp, shift_semitones=shift, player=now.player, pins=now.settled.pins)


def trade_off_shown(routes: Sequence[Route], number: int) -> TradeOffShown:
    """The routes of a trade-off that no other beats, as they are shown."""
    points = (
        TradeOffPoint(round(route.effort.total, DECIMALS), round(route.truth, DECIMALS), not_as_given(route))
        for route in shortened(unbeaten(routes), MOST_ROUTES)
    )
    return TradeOffShown(number=number, points=tuple(points))
