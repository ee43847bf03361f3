"""A lesson from plain data, as `lesson_as_data` writes it; every error names its place in the data."""

from __future__ import annotations

from enum import StrEnum
from typing import TypeVar

from reedpath.arrange import Change, ChangeKind, Choice, Effort, Route, RouteEvent, Spot
from reedpath.errors import ReadError
from reedpath.harp import (
    Alteration,
    Breath,
    Embouchure,
    Harp,
    Move,
    Temperament,
    Tuning,
    check_move,
    midi_of,
)
from reedpath.lesson.data import SCHEMA, VERSION
from reedpath.lesson.model import Drill, Lesson, LessonPart, Rung
from reedpath.phrase import Event, Phrase, Placed, midi_at, phrase_from_data

__all__ = ["lesson_from_data"]

E = TypeVar("E", bound=StrEnum)


def _one_of(kind: type[E], at: Placed) -> E:
    try:
        return kind(at.text())
    except ValueError as error:
        raise at.wrong(f"one of {', '.join(kind)}") from error


def _harp(at: Placed) -> Harp:
    tuning, temperament = at["tuning"], at["temperament"]
    with tuning.reading():
        reeds = Tuning(
            tuning["name"].text(),
            tuning["title"].text(),
            tuning["blow"].all(Placed.whole),
            tuning["draw"].all(Placed.whole),
            tuning["source"].text(),
        )
    with temperament.reading():
        tempered = Temperament(
            temperament["name"].text(),
            temperament["cents"].all(Placed.number),
            temperament["source"].text(),
            temperament["title"].text(),
        )
    return Harp(reeds, midi_at(at["key_midi"]), tempered, at["a4_hz"].number(), at["stretch_cents"].number())


def _move(at: Placed, harp: Harp) -> Move:
    with at.reading():
        move = Move(
            at["holes"].all(Placed.whole),
            _one_of(Breath, at["breath"]),
            _one_of(Alteration, at["alteration"]),
            at["semitones"].whole(),
            _one_of(Embouchure, at["embouchure"]),
        )
        check_move(move, harp.tuning)
    if at["midi"].all(midi_at) != midi_of(harp, move):
        raise at["midi"].wrong(f"what this move sounds on this harp, {list(midi_of(harp, move))}")
    return move


def _effort(at: Placed) -> Effort:
    terms = at["terms"]
    if not isinstance(terms.value, dict):
        raise terms.wrong("an object")
    return Effort({name: terms[name].number() for name in terms.value})


def _route_event(at: Placed, event: Event, harp: Harp, changes: tuple[Change, ...]) -> RouteEvent:
    if at["onset_beats"].fraction() != event.onset or at["asked_midi"].all(midi_at) != event.midi:
        raise ReadError("this is not the event of that number in the phrase", where=at.place)

    def moves(one: Placed) -> tuple[Move, ...]:
        return one.all(lambda move: _move(move, harp))

    choice = Choice(
        at["move"].maybe(lambda move: _move(move, harp)),
        at["attack_semitones"].number(),
        at["fall_semitones"].number(),
        moves(at["lead_in"]),
        moves(at["lead_out"]),
        changes,
    )
    if choice.move is None and ChangeKind.SILENT not in {change.kind for change in changes}:
        raise ReadError("an event without a move is one that a change calls silent", where=at["move"].place)
    return RouteEvent(event, choice, _effort(at["effort"]), at["breathe_before"].yes(), at["air_litres"].number())


def _change(at: Placed) -> Change:
    return Change(
        _one_of(ChangeKind, at["kind"]),
        at["asked_midi"].all(Placed.whole),
        at["given_midi"].all(Placed.whole),
        at["loss"].number(),
    )


def _spot(at: Placed, count: int) -> Spot:
    first = at["first_event"].whole(least=0, most=count - 1)
    last = at["last_event"].whole(least=first, most=count - 1)
    return Spot(first, last, at["effort"].number(), at["reasons"].all(Placed.text))


def _route(at: Placed, phrase: Phrase, harp: Harp) -> Route:
    count = len(phrase.events)
    changes: dict[int, list[Change]] = {}
    for one in at["changes"].each():
        changes.setdefault(one["event"].whole(least=0, most=count - 1), []).append(_change(one))
    listed = list(at["events"].each())
    if len(listed) != count:
        raise ReadError(f"{len(listed)} events, where the phrase has {count}", where=at["events"].place)
    events = tuple(
        _route_event(one, event, harp, tuple(changes.get(index, ())))
        for index, (one, event) in enumerate(zip(listed, phrase.events, strict=True))
    )
    return Route(
        phrase=phrase,
        harp=harp,
        position=at["position"].maybe(lambda one: one.whole(least=1, most=12)),
        shift_semitones=at["shift_semitones"].whole(),
        events=events,
        truth=at["truth"].number(),
        worst=at["worst"].maybe(lambda one: _spot(one, count)),
        spots=at["spots"].all(lambda one: _spot(one, count)),
        level=at["level"].text(),
        comfortable=at["comfortable_tempo"].number(),
    )


def _parts(at: Placed, count: int) -> tuple[LessonPart, ...]:
    parts: list[LessonPart] = []
    for index, one in enumerate(at.each()):
        first = parts[-1].last + 1 if parts else 0

        def earlier(part: Placed, most: int = index - 1) -> int:
            return part.whole(least=0, most=most)

        parts.append(
            LessonPart(
                one["label"].text(),
                one["first_event"].whole(least=first, most=first),
                one["last_event"].whole(least=first, most=count - 1),
                one["same_as"].maybe(earlier),
                one["like"].maybe(earlier),
                one["shared_events"].whole(least=0),
                one["found"].yes(),
            )
        )
    if (parts[-1].last + 1 if parts else 0) != count:
        raise ReadError(f"the parts do not cover the {count} events of the route", where=at.place)
    return tuple(parts)


def _rung(at: Placed) -> Rung:
    return Rung(
        at["name"].text(),  # type: ignore[arg-type]
        at["factor"].number(),
        at["bpm"].number(),
    )


def _drill(at: Placed, count: int) -> Drill:
    return Drill(_spot(at["spot"], count), at["times"].whole(least=1), at["ladder"].all(_rung))


def lesson_from_data(data: object) -> Lesson:
    """
    The lesson that plain data describe.

    data : what ``json.loads`` gives of a lesson.json.

    Raises
    ------
    ReadError : naming the place in the data ("route.events[3].move.holes") and the value at fault.
    """
    at = Placed(data)
    if at["schema"].text() != SCHEMA:
        raise at["schema"].wrong(f"{SCHEMA!r}: this is no lesson")
    version = at["version"].whole()
    if version != VERSION:
        raise ReadError(f"a lesson of version {version}, where version {VERSION} is read", where="version")
    harp, phrase = _harp(at["harp"]), phrase_from_data(at["phrase"])
    route = _route(at["route"], phrase, harp)
    count = len(route.events)
    return Lesson(
        title=at["title"].text(),
        route=route,
        parts=_parts(at["parts"], count),
        ladder=at["ladder"].all(_rung),
        drills=at["drills"].all(lambda one: _drill(one, count)),
        notation=at["notation"].text(),
        languages=at["languages"].all(Placed.text),
    )
