from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings

from reedpath.arrange import Change, Choice, Effort, Route, RouteEvent, Spot
from reedpath.data import replace
from reedpath.errors import ReadError
from reedpath.harp import Harp, Move, Temperament, Tuning, move_as_data
from reedpath.lesson import (
    Drill,
    Lesson,
    LessonPart,
    Rung,
    Step,
    StepBlock,
    lesson_as_data,
    lesson_from_data,
    lesson_schema,
    make_lesson,
    steps_of,
)
from reedpath.phrase import Event, LeftOut, Metre, Ornaments, Part, Phrase, Repeat, Tempo
from reedpath.pitch import Key
from support.built_routes import built_route
from support.lesson_routes import routes

VALIDATOR = jsonschema.Draft202012Validator(lesson_schema())
RIFF = "2d 3d' 4b 4d:1 4d 3d' 2d:1"


def round_trip(lesson: Lesson) -> Lesson:
    return lesson_from_data(json.loads(json.dumps(lesson_as_data(lesson))))


def a_lesson() -> Lesson:
    route = built_route(f"{RIFF} r:1 {RIFF} r:1 (1 2 3)d [1 4]b 6bo 5d^1 4d_1 2d:2", key="A", music_key=Key(4))
    return make_lesson(replace(route, spots=(Spot(0, 3, 2.5, ("move",)),)), title="Coal & ash")


@given(routes())
@settings(max_examples=100)
def test_a_lesson_written_and_read_back_is_the_same(route: Route) -> None:
    lesson = make_lesson(route)
    assert round_trip(lesson) == lesson


@given(routes(most=15))
@settings(max_examples=40)
def test_what_is_written_holds_to_the_schema_and_to_itself(route: Route) -> None:
    lesson = make_lesson(route, languages=("fr",))
    data = lesson_as_data(lesson)
    errors = [error.message[:200] for error in VALIDATOR.iter_errors(json.loads(json.dumps(data)))]
    assert errors == []
    assert lesson_as_data(lesson_from_data(data)) == data


def test_the_schema_is_one_and_the_documented_one() -> None:
    jsonschema.Draft202012Validator.check_schema(lesson_schema())
    documented = Path(__file__).parents[2] / "docs" / "schema" / "lesson-1.schema.json"
    assert json.loads(documented.read_text(encoding="utf-8")) == lesson_schema()


def test_the_schema_refuses_what_is_no_lesson() -> None:
    data = lesson_as_data(a_lesson())
    for path, value in [
        (("version",), 2),
        (("phrase", "swing"), 1.5),
        (("route", "events", 0, "move", "breath"), "suck"),
        (("parts", 0, "unknown"), 1),
        (("ladder",), []),
    ]:
        broken = copy.deepcopy(data)
        put(broken, path, value)
        assert not VALIDATOR.is_valid(broken), path


def put(data: Any, path: tuple[str | int, ...], value: object) -> None:
    for step in path[:-1]:
        data = data[step]
    data[path[-1]] = value


def test_the_data_say_everything() -> None:
    lesson = a_lesson()
    data = lesson_as_data(lesson)
    assert (data["schema"], data["version"], data["title"]) == ("reedpath/lesson", 1, "Coal & ash")
    assert data["harp"]["tuning"]["blow"] == list(lesson.route.harp.tuning.blow)
    first = data["route"]["events"][1]
    assert first["move"] == move_as_data(lesson.route.events[1].choice.move, lesson.route.harp)
    assert (first["onset_beats"], first["duration_beats"]) == ("1/2", "1/2")
    assert [part["same_as"] for part in data["parts"]][:2] == [None, 0]
    assert data["drills"][0]["spot"]["reasons"] == ["move"]
    assert data["ladder"][-1]["name"] == "full"
    spoken = [step["text"] for block in data["steps"]["en"] for step in block["steps"]]
    assert spoken == [step.text for block in steps_of(lesson, "en") for step in block.steps]
    assert list(data["steps"]) == ["en", "fr"]
    assert data["cautions"][0] == "dizzy"


# fields that the data keep (or that follow from others), so that a new field cannot be forgotten
KEPT = {
    Lesson: {"title", "route", "parts", "ladder", "drills", "notation", "languages"},
    LessonPart: {"label", "first", "last", "same_as", "like", "shared", "found"},
    Rung: {"name", "factor", "bpm"},
    Drill: {"spot", "times", "ladder"},
    Step: {"text", "kind", "first", "last"},
    StepBlock: {"title", "steps", "parts"},
    Route: {
        "phrase",
        "harp",
        "position",
        "shift_semitones",
        "events",
        "truth",
        "worst",
        "spots",
        "level",
        "comfortable",
    },
    RouteEvent: {"event", "choice", "effort", "breathe_before", "air_litres"},
    Choice: {"move", "attack_semitones", "fall_semitones", "lead_in", "lead_out", "changes"},
    Change: {"kind", "asked_midi", "given_midi", "loss"},
    Effort: {"terms"},
    Spot: {"first", "last", "effort", "reasons"},
    Move: {"holes", "breath", "alteration", "semitones", "embouchure"},
    Harp: {"tuning", "key_midi", "temperament", "a4_hz", "stretch_cents"},
    Tuning: {"name", "title", "blow", "draw", "source"},
    Temperament: {"name", "cents", "source", "title"},
    Phrase: {"events", "title", "metres", "tempos", "key", "swing", "pickup", "parts", "repeats", "left_out"},
    Event: {"onset", "duration", "midi", "ornaments", "cents", "place", "grace"},
    Ornaments: {"bend_in", "release", "slide_from", "slide_to", "vibrato", "accent", "graces"},
    Metre: {"onset", "count", "unit"},
    Tempo: {"onset", "bpm"},
    Part: {"label", "onset", "end"},
    Repeat: {"onset", "end", "times"},
    LeftOut: {"kind", "values", "place", "count"},
    Key: {"tonic", "mode"},
}


@pytest.mark.parametrize("kind", KEPT, ids=lambda kind: kind.__name__)
def test_no_field_is_forgotten(kind: type) -> None:
    names = getattr(kind, "__struct_fields__", None) or kind.__dataclass_fields__
    assert set(names) == KEPT[kind]


def test_a_harp_with_its_own_tuning_and_temperament_comes_back() -> None:
    tuning = Tuning("mine", "my own", (0, 4, 7), (2, 7, 11), "me")
    temperament = Temperament("odd", (0.0, 1.5) + (-3.25,) * 10, "me", "my odd one")
    harp = Harp(tuning, 60, temperament, 443.0, 2.5)
    lesson = make_lesson(built_route("1b 2d 3d'", harp=harp))
    assert round_trip(lesson).route.harp == harp


WRONG = [
    (("schema",), "a cake recipe", r"schema: 'a cake recipe' is not 'reedpath/lesson': this is no lesson"),
    (("version",), 2, r"version: a lesson of version 2, where version 1 is read"),
    (("title",), 3, r"title: 3 is not a text"),
    (("phrase", "events", 2, "onset_beats"), "1/0", r"phrase\.events\[2\]\.onset_beats: '1/0' is not a fraction"),
    (("phrase", "events", 2, "midi"), [], r"phrase\.events\[2\]: pitches none"),
    (
        ("phrase", "events", 2, "midi"),
        [128],
        r"phrase\.events\[2\]\.midi\[0\]: 128 is not a whole number in 0\.\.127",
    ),
    (("phrase", "key"), {"tonic": 14, "mode": "major"}, r"phrase\.key: a tonic is a pitch class"),
    (("phrase", "tempos"), None, r"phrase\.tempos: None is not a list"),
    (("harp", "tuning", "blow"), [0], r"harp\.tuning: 1 blow and 10 draw reeds"),
    (("harp", "temperament", "cents", 3), True, r"harp\.temperament\.cents\[3\]: True is not a number"),
    (("route", "events", 1, "move", "holes"), [14], r"route\.events\[1\]\.move: hole 14: there is no hole 14"),
    (
        ("route", "events", 1, "move", "breath"),
        "suck",
        r"route\.events\[1\]\.move\.breath: 'suck' is not one of blow, draw",
    ),
    (
        ("route", "events", 1, "move", "midi"),
        [60],
        r"route\.events\[1\]\.move\.midi: \[60\] is not what this move sounds",
    ),
    (("route", "events", 1, "move"), None, r"route\.events\[1\]\.move: an event without a move"),
    (("route", "events", 1, "asked_midi"), [60], r"route\.events\[1\]: this is not the event of that number"),
    (("route", "events", 1, "effort", "terms"), [], r"route\.events\[1\]\.effort\.terms: \[\] is not an object"),
    (("route", "events"), [], r"route\.events: 0 events, where the phrase has \d+"),
    (("route", "position"), 13, r"route\.position: 13 is not a whole number in 1\.\.12"),
    (("route", "truth"), float("nan"), r"route\.truth: nan is not a number"),
    (
        ("route", "spots", 0, "last_event"),
        999,
        r"route\.spots\[0\]\.last_event: 999 is not a whole number in 0\.\.\d+",
    ),
    (("parts", 1, "same_as"), 1, r"parts\[1\]\.same_as: 1 is not a whole number in 0\.\.0"),
    (("parts", 1, "first_event"), 9, r"parts\[1\]\.first_event: 9 is not a whole number in 7\.\.7"),
    (("parts",), [], r"parts: the parts do not cover the \d+ events"),
    (("drills", 0, "times"), 0, r"drills\[0\]\.times: 0 is not a whole number in 1\.\."),
    (("languages",), "en", r"languages: 'en' is not a list"),
]


@pytest.mark.parametrize(("path", "value", "message"), WRONG, ids=[".".join(map(str, path)) for path, *_ in WRONG])
def test_an_error_names_its_place_in_the_data(path: tuple[str | int, ...], value: object, message: str) -> None:
    data = json.loads(json.dumps(lesson_as_data(a_lesson())))
    put(data, path, value)
    with pytest.raises(ReadError, match=f"^{message}"):
        lesson_from_data(data)


def test_a_missing_key_is_named() -> None:
    data = lesson_as_data(a_lesson())
    del data["route"]["events"][3]["move"]["holes"]
    with pytest.raises(ReadError, match=r"^route\.events\[3\]\.move\.holes: this is missing"):
        lesson_from_data(data)


@pytest.mark.parametrize("data", [None, [], 3, "lesson"])
def test_what_is_no_object_is_no_lesson(data: object) -> None:
    with pytest.raises(ReadError, match=r"^the data: .* is not an object"):
        lesson_from_data(data)


def test_a_route_that_plays_another_phrase_is_a_mistake_of_the_program() -> None:
    lesson = a_lesson()
    other = replace(lesson.route, phrase=replace(lesson.route.phrase, events=()))
    with pytest.raises(ValueError, match="are those of its phrase"):
        lesson_as_data(replace(lesson, route=other))
