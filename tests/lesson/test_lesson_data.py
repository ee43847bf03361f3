from __future__ import annotations

import copy
import json
from fractions import Fraction
from typing import Any

import jsonschema
import pytest
from hypothesis import given

from reedpath.arrange import Change, Choice, Effort, Pin, Route, RouteEvent, Spot
from reedpath.data import as_plain, replace
from reedpath.errors import ReadError
from reedpath.harp import Harp, Move, Temperament, Tuning, sounding_move
from reedpath.lesson import (
    LESSON_AS_WRITTEN,
    Drill,
    Lesson,
    LessonFile,
    LessonPart,
    OwnWords,
    Rung,
    Step,
    StepBlock,
    StepPlace,
    decode_lesson,
    encode_lesson,
    lesson_file,
    make_lesson,
    steps_of,
)
from reedpath.phrase import Event, LeftOut, Metre, Ornaments, Part, Phrase, Repeat, Tempo
from reedpath.pitch import Key
from support.built_routes import built_route
from support.examples import examples
from support.json_schemas import json_schema
from support.lesson_routes import routes

SCHEMA = json_schema(LessonFile, title="lesson", written=LESSON_AS_WRITTEN)
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
RIFF = "2d 3d' 4b 4d:1 4d 3d' 2d:1"


def round_trip(lesson: Lesson) -> Lesson:
    return decode_lesson(encode_lesson(lesson))


def a_lesson() -> Lesson:
    route = built_route(f"{RIFF} r:1 {RIFF} r:1 (1 2 3)d [1 4]b 6bo 5d^1 4d_1 2d:2", key="A", music_key=Key(4))
    return make_lesson(replace(route, spots=(Spot(0, 3, 2.5, ("move",)),)), title="Coal & ash")


@given(routes())
@examples(100)
def test_a_lesson_written_and_read_back_is_the_same(route: Route) -> None:
    lesson = make_lesson(route)
    assert round_trip(lesson) == lesson


@given(routes(most=15))
@examples(40)
def test_what_is_written_holds_to_the_schema_and_to_itself(route: Route) -> None:
    lesson = make_lesson(route, languages=("fr",))
    data = as_plain(lesson_file(lesson))
    errors = [error.message[:200] for error in VALIDATOR.iter_errors(json.loads(json.dumps(data)))]
    assert errors == []
    assert as_plain(lesson_file(decode_lesson(encode_lesson(lesson)))) == data


def test_the_schema_refuses_what_is_no_lesson() -> None:
    data = as_plain(lesson_file(a_lesson()))
    for path, value in [
        (("version",), 3),
        (("route", "phrase", "swing"), 1.5),
        (("route", "events", 0, "choice", "move", "breath"), "suck"),
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
    data = as_plain(lesson_file(lesson))
    assert (data["schema"], data["version"], data["title"]) == ("reedpath/lesson", 2, "Coal & ash")
    assert data["route"]["harp"]["tuning"]["blow"] == list(lesson.route.harp.tuning.blow)
    first = data["route"]["events"][1]
    assert first["choice"]["move"] == as_plain(sounding_move(lesson.route.events[1].choice.move, lesson.route.harp))
    assert (first["event"]["onset_beats"], first["event"]["duration_beats"]) == ("1/2", "1/2")
    assert [part["same_as"] for part in data["parts"]][:2] == [None, 0]
    assert data["drills"][0]["spot"]["reasons"] == ["move"]
    assert data["ladder"][-1]["name"] == "full"
    spoken = [step["text"] for block in data["steps"]["en"] for step in block["steps"]]
    assert spoken == [step.text for block in steps_of(lesson, "en") for step in block.steps]
    assert list(data["steps"]) == ["en", "fr"]
    assert data["cautions"][0] == "dizzy"


# fields that the data keep (or that follow from others), so that a new field cannot be forgotten
KEPT = {
    Lesson: {
        "title",
        "route",
        "parts",
        "ladder",
        "drills",
        "notation",
        "languages",
        "paper",
        "pins",
        "own_words",
        "author",
        "date",
        "part_names",
    },
    Pin: {"event", "move", "either", "avoid"},
    OwnWords: {"language", "kind", "place", "text", "instead", "moves"},
    StepPlace: {"block", "part", "first", "last", "number"},
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
        "breathe_first",
        "unlike",
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
    Phrase: {
        "events",
        "title",
        "metres",
        "tempos",
        "key",
        "swing",
        "pickup",
        "parts",
        "repeats",
        "left_out",
        "straight",
    },
    Event: {"onset", "duration", "midi", "ornaments", "cents", "fifths", "place", "grace", "doubtful"},
    Ornaments: {"bend_in", "release", "slide_from", "slide_to", "vibrato", "accent", "graces"},
    Metre: {"onset", "count", "unit"},
    Tempo: {"onset", "bpm"},
    Part: {"label", "onset", "end"},
    Repeat: {"onset", "end", "times"},
    LeftOut: {"kind", "values", "what", "place", "count"},
    Key: {"tonic", "mode"},
}


@pytest.mark.parametrize("kind", KEPT, ids=lambda kind: kind.__name__)
def test_no_field_is_forgotten(kind: type) -> None:
    names = getattr(kind, "__struct_fields__", None) or kind.__dataclass_fields__
    assert set(names) == KEPT[kind]


def test_a_note_that_may_have_been_misheard_stays_marked() -> None:
    lesson = a_lesson()
    first, *others = lesson.route.events
    marked = replace(first, event=replace(first.event, doubtful=True))
    events = (marked.event, *lesson.route.phrase.events[1:])
    phrase = replace(lesson.route.phrase, events=events)
    lesson = replace(lesson, route=replace(lesson.route, phrase=phrase, events=(marked, *others)))
    assert [one.event.doubtful for one in round_trip(lesson).route.events[:2]] == [True, False]


def test_a_harp_with_its_own_tuning_and_temperament_comes_back() -> None:
    tuning = Tuning("mine", "my own", (0, 4, 7), (2, 7, 11), "me")
    temperament = Temperament("odd", (0.0, 1.5) + (-3.25,) * 10, "me", "my odd one")
    harp = Harp(tuning, 60, temperament, 443.0, 2.5)
    lesson = make_lesson(built_route("1b 2d 3d'", harp=harp))
    assert round_trip(lesson).route.harp == harp


WRONG = [
    (("schema",), "a cake recipe", r"'schema': this is 'a cake recipe', not 'reedpath/lesson'"),
    (("version",), 3, r"'version': this file is of version 3, written by a newer reedpath: .* up to version 2"),
    (("version",), 0, r"'version': there is no version 0"),
    (("title",), 3, r"'title': 3 is not a text"),
    (
        ("route", "phrase", "events", 2, "onset_beats"),
        "1/0",
        r"'route\.phrase\.events\[2\]\.onset_beats': \"1/0\" is not a fraction",
    ),
    (("route", "phrase", "events", 2, "midi"), [], r"'route\.phrase\.events\[2\]': pitches none"),
    (
        ("route", "phrase", "events", 2, "midi"),
        [128],
        r"'route\.phrase\.events\[2\]\.midi\[0\]': 128 is too high: 127 at most",
    ),
    (("route", "phrase", "key"), {"tonic": 14, "mode": "major"}, r"'route\.phrase\.key\.tonic': 14 is too high: 11"),
    (("route", "phrase", "key"), {"tonic": 1, "mode": "odd"}, r"'route\.phrase\.key': a key is major or minor"),
    (("route", "phrase", "tempos"), None, r"'route\.phrase\.tempos': null is not a list"),
    (
        ("route", "phrase", "tempos"),
        [{"onset_beats": "0", "bpm": 1e-300}],
        r"'route\.phrase\.tempos\[0\]\.bpm': 1e-300",
    ),
    (("route", "harp", "tuning", "blow"), [0], r"'route\.harp\.tuning': 1 blow and 10 draw reeds"),
    (
        ("route", "harp", "tuning", "blow", 3),
        10**9,
        r"'route\.harp\.tuning\.blow\[3\]': 1,000,000,000 is too high: 127 at most",
    ),
    (
        ("route", "harp", "temperament", "cents", 3),
        True,
        r"'route\.harp\.temperament\.cents\[3\]': true is not a number",
    ),
    (
        ("route", "events", 1, "choice", "move", "holes"),
        [14],
        r"hole 14, 'route\.events\[1\]\.choice\.move': there is no",
    ),
    (
        ("route", "events", 1, "choice", "move", "breath"),
        "suck",
        r"'route\.events\[1\]\.choice\.move\.breath': \"suck\" is not one of the words known here",
    ),
    (
        ("route", "events", 1, "choice", "move", "midi"),
        [60],
        r"'route\.events\[1\]\.choice\.move\.midi': this is not what this move sounds",
    ),
    (("route", "events", 1, "choice", "move"), None, r"'route\.events\[1\]\.choice\.move': an event without a move"),
    (
        ("route", "events", 1, "event", "midi"),
        [60],
        r"'route\.events\[1\]\.event': this is not the event of that number",
    ),
    (("route", "events", 1, "effort", "terms"), [], r"'route\.events\[1\]\.effort\.terms': \[\] is not an object"),
    (
        ("route", "events", 1, "effort", "terms"),
        {"move": "x"},
        r"'route\.events\[1\]\.effort\.terms\[\.\.\.\]': .*a number",
    ),
    (("route", "events"), [], r"'route\.events': 0 events, where the phrase has \d+"),
    (("route", "position"), 13, r"'route\.position': 13 is too high: 12 at most"),
    (("route", "truth"), 7, r"'route\.truth': 7 is too high: 1 at most"),
    (
        ("route", "spots", 0, "last_event"),
        999,
        r"'route\.spots\[0\]\.last_event': 999 is not a whole number in 0\.\.\d+",
    ),
    (("parts", 1, "same_as"), 1, r"'parts\[1\]\.same_as': 1 is not a whole number in 0\.\.0"),
    (("parts", 1, "first_event"), 9, r"'parts\[1\]\.first_event': 9 is not a whole number in 7\.\.7"),
    (("parts",), [], r"'parts': the parts do not cover the \d+ events"),
    (("drills", 0, "times"), 0, r"'drills\[0\]\.times': 0 is too low: 1 at least"),
    (("ladder", 0, "name"), "crawl", r"'ladder\[0\]\.name': \"crawl\" is not one of the words known here"),
    (("languages",), "en", r"'languages': \"en\" is not a list"),
]


@pytest.mark.parametrize(("path", "value", "message"), WRONG, ids=[".".join(map(str, path)) for path, *_ in WRONG])
def test_an_error_names_its_place_in_the_data(path: tuple[str | int, ...], value: object, message: str) -> None:
    data = as_plain(lesson_file(a_lesson()))
    put(data, path, value)
    with pytest.raises(ReadError, match=f"^{message}"):
        decode_lesson(json.dumps(data).encode())


@pytest.mark.parametrize("bpm", [0.01, 500_000.0])
def test_the_slowest_and_the_fastest_phrase_that_can_be_asked_for_come_back(bpm: float) -> None:
    route = built_route("2d 3d' 4b", key="A")
    lesson = make_lesson(replace(route, phrase=replace(route.phrase, tempos=(Tempo(Fraction(0), bpm),))))
    assert round_trip(lesson) == lesson


@pytest.mark.parametrize("written", [b"NaN", b"Infinity", b"1e999"])
def test_no_number_is_no_number(written: bytes) -> None:
    data = encode_lesson(a_lesson()).replace(b'"truth": 1.0', b'"truth": ' + written)
    assert written in data
    with pytest.raises(ReadError):
        decode_lesson(data)


def test_half_a_character_is_refused() -> None:
    with pytest.raises(ReadError, match="not JSON"):
        decode_lesson(encode_lesson(a_lesson()).replace(b"Coal & ash", b"\\ud800"))


def test_a_missing_key_is_named() -> None:
    data = as_plain(lesson_file(a_lesson()))
    del data["route"]["events"][3]["choice"]["move"]["holes"]
    with pytest.raises(ReadError, match=r"^'route\.events\[3\]\.choice\.move\.holes': this is missing"):
        decode_lesson(json.dumps(data).encode())


@pytest.mark.parametrize("data", [None, [], 3, "lesson"])
def test_what_is_no_object_is_no_lesson(data: object) -> None:
    with pytest.raises(ReadError, match=r"is not an object$"):
        decode_lesson(json.dumps(data).encode())


def test_a_route_that_plays_another_phrase_is_a_mistake_of_the_program() -> None:
    lesson = a_lesson()
    other = replace(lesson.route, phrase=replace(lesson.route.phrase, events=()))
    with pytest.raises(ValueError, match="are those of its phrase"):
        as_plain(lesson_file(replace(lesson, route=other)))
