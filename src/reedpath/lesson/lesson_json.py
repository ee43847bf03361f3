"""A lesson as a JSON file, ``lesson.json`` (docs/lesson.md): its shape is that of the types.

Steps and cautions are written with the lesson, as is what follows from its route (`arrange.route_json`); they are not
read back.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from reedpath.arrange import ROUTE_AS_WRITTEN, ChangeKind, Choice, rounded, written_route
from reedpath.data import encode_json, extended, from_plain, plain_of_version, replace, replace_inside
from reedpath.errors import Place, ReadError, ReedpathError
from reedpath.harp import Move, check_move, midi_of, sounding_move
from reedpath.lesson.model import Lesson, StepBlock
from reedpath.lesson.steps import steps_of
from reedpath.phrase import check_phrase, lesson_of_version_1
from reedpath.wording import CAUTIONS

# what lesson.json says it is
LESSON_SCHEMA = "reedpath/lesson"
# of its shape, raised when a reader of the old one would misread it
VERSION: Literal[2] = 2
# kinds within a lesson that are written with more than they hold
LESSON_AS_WRITTEN = ROUTE_AS_WRITTEN


class LessonFile(Lesson, frozen=True, kw_only=True, tag_field="schema", tag=LESSON_SCHEMA):
    """A lesson as it is written.

    version : of the shape of the file.
    steps : what the teacher says, by language.
    cautions : keys of the cautions that go with every lesson.
    """

    version: Literal[2]
    steps: dict[str, tuple[StepBlock, ...]]
    cautions: tuple[str, ...]


def lesson_file(lesson: Lesson) -> LessonFile:
    """A lesson as it is written; ValueError where its route does not play its own phrase, event by event."""
    lesson = replace(lesson, route=rounded(lesson.route))
    route = written_route(lesson.route)
    if tuple(one.event for one in route.events) != route.phrase.events:
        raise ValueError("the events of a lesson's route are those of its phrase")
    pins = replace_inside(lesson.pins, {Move: lambda move: sounding_move(move, lesson.route.harp)})
    steps = {language: tuple(steps_of(lesson, language)) for language in lesson.languages}
    return extended(
        replace(lesson, route=route, pins=pins), LessonFile, version=VERSION, steps=steps, cautions=tuple(CAUTIONS)
    )


def encode_lesson(lesson: Lesson) -> bytes:
    """The file of a lesson; ValueError as for `lesson_file`."""
    return encode_json(lesson_file(lesson))


def decode_lesson(data: bytes) -> Lesson:
    """
    The lesson of a file, of this version or an older one.

    Raises `ReadError`, naming the field ("route.events[3].choice.move.holes") and the value at fault.
    """
    plain = plain_of_version(data, schema=LESSON_SCHEMA, version=VERSION, older={1: lesson_of_version_1})
    lesson = from_plain(plain, Lesson)
    check_phrase(lesson.route.phrase, field="route.phrase")
    _check_route(lesson, plain["route"])
    _check_indexes(lesson)
    return lesson


def decode_steps(data: bytes) -> dict[str, tuple[StepBlock, ...]]:
    """The steps that a lesson's file was written with, by language; none where it has none.

    Raises `ReadError`, naming the field and the value at fault.
    """
    plain = plain_of_version(data, schema=LESSON_SCHEMA, version=VERSION, older={1: lesson_of_version_1})
    return from_plain(plain.get("steps", {}), dict[str, tuple[StepBlock, ...]])


def _check_route(lesson: Lesson, plain: dict[str, Any]) -> None:
    """What types cannot say of a route: it plays its phrase, on its harp."""
    route = lesson.route
    count = len(route.phrase.events)
    if len(route.events) != count:
        raise _wrong("other_event_count", "route.events", found=len(route.events), wanted=count)
    for index, (one, event) in enumerate(zip(route.events, route.phrase.events, strict=True)):
        place = f"route.events[{index}]"
        if one.event != event:
            raise _wrong("other_event", f"{place}.event")
        silent = any(change.kind is ChangeKind.SILENT for change in one.choice.changes)
        if one.choice.move is None and not silent:
            raise _wrong("no_move", f"{place}.choice.move")
        _check_moves(lesson, one.choice, plain["events"][index]["choice"], f"{place}.choice")


def _moves_of(plain: dict[str, Any], choice: Choice) -> Iterator[tuple[str, Any, Any]]:
    """Each move of a choice: its field, itself, and its plain data."""
    if choice.move is not None:
        yield "move", choice.move, plain["move"]
    for name in ("lead_in", "lead_out"):
        for index, move in enumerate(getattr(choice, name)):
            yield f"{name}[{index}]", move, plain[name][index]


def _check_move(lesson: Lesson, move: Move, field: str) -> None:
    """A move is one of the lesson's harp."""
    try:
        check_move(move, lesson.route.harp.tuning)
    except ReedpathError as error:
        raise ReadError.like(error).inside(Place(field=field)) from error


def _check_moves(lesson: Lesson, choice: Choice, plain: dict[str, Any], place: str) -> None:
    harp = lesson.route.harp
    for field, move, data in _moves_of(plain, choice):
        _check_move(lesson, move, f"{place}.{field}")
        sounding = midi_of(harp, move)
        if not all(0 <= midi <= 127 for midi in sounding):
            raise _wrong("no_midi", f"{place}.{field}", midi=sounding)
        if data.get("midi", list(sounding)) != list(sounding):
            raise _wrong("other_midi", f"{place}.{field}.midi", sounding=sounding)


def _check_indexes(lesson: Lesson) -> None:
    """Parts cover the events, and whatever names a part or an event names one that is there."""
    count = len(lesson.route.events)
    spots = [("route.worst", lesson.route.worst)] if lesson.route.worst else []
    spots += [(f"route.spots[{index}]", spot) for index, spot in enumerate(lesson.route.spots)]
    spots += [(f"drills[{index}].spot", drill.spot) for index, drill in enumerate(lesson.drills)]
    for place, spot in spots:
        _check_bounds(spot.last, spot.first, count - 1, f"{place}.last_event")
    _check_pins(lesson, count)
    covered = 0
    for index, part in enumerate(lesson.parts):
        _check_bounds(part.first, covered, covered, f"parts[{index}].first_event")
        _check_bounds(part.last, part.first, count - 1, f"parts[{index}].last_event")
        for name, earlier in (("same_as", part.same_as), ("like", part.like)):
            if earlier is not None:
                _check_bounds(earlier, 0, index - 1, f"parts[{index}].{name}")
        covered = part.last + 1
    if covered != count:
        raise _wrong("parts_do_not_cover", "parts", count=count)


def _check_pins(lesson: Lesson, count: int) -> None:
    """What is said of single events is said of events that are there, and of moves of the harp."""
    for index, pin in enumerate(lesson.pins):
        _check_bounds(pin.event, 0, count - 1, f"pins[{index}].event")
        for field, move in (("move", pin.move), *((f"either[{n}]", move) for n, move in enumerate(pin.either))):
            _check_move(lesson, move, f"pins[{index}].{field}")


def _check_bounds(value: int, least: int, most: int, place: str) -> None:
    if not least <= value <= most:
        raise _wrong("out_of_bounds", place, value=value, least=least, most=most)


def _wrong(key: str, field: str, **values: Any) -> ReadError:
    return ReadError(f"lesson.{key}", where=Place(field=field), **values)
