"""Files of version 1, by their plain data: what was kept beside comes inside, texts become types, damage is kept."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from reedpath.errors import Place, ReadError
from reedpath.phrase import decode_phrase, lesson_of_version_1
from reedpath.phrase.version_1 import left_out_of_text, phrase_file_of_version_1, place_of_text

FILE = Path(__file__).parents[1] / "data" / "version_1" / "phrase.json"


def known(text: str) -> dict[str, Any]:
    return dict(place_of_text(text).known)


def test_a_phrase_of_version_1_is_one_of_today() -> None:
    phrase = decode_phrase(FILE.read_bytes())
    assert phrase.title == "Gravel and ink, invented"
    assert [phrase.events[index].place for index in (0, 1)] == [Place(bar=0, line=8), Place(bar=1, line=8)]
    told = {one.kind: one for one in phrase.left_out}
    assert told["stray-signs"].values == (("sign", "+"),)
    assert (told["stray-signs"].count, told["stray-signs"].place) == (2, Place(line=10, column=16))
    assert told["own-metre"].values == (("beats", "5"), ("metre", "6/8"))


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("bar 3, line 7", {"bar": 3, "line": 7}),
        ("pickup, line 2", {"bar": 0, "line": 2}),
        ("bar 12a", {"bar": "12a"}),
        ("track 2, channel 10, byte 300", {"track": 2, "channel": 10, "byte": 300}),
        ("line 8, column 16", {"line": 8, "column": 16}),
        ("beat 3.5", {"beat": 3.5}),
        ("2.25 s", {"seconds": 2.25}),
        ("X:4", {"tune": 4}),
        ("X:2 to X:5", {"tune": 2, "last_tune": 5}),
        ("tunes 2 to 5", {"tune": 2, "last_tune": 5}),
        ("line x", {"file": "line x"}),
        ("beat x", {"file": "beat x"}),
        ("bar 3, over there", {"file": "bar 3, over there"}),
        ("", {}),
        ("  ", {}),
    ],
)
def test_places_said_in_english(text: str, place: dict[str, Any]) -> None:
    assert known(text) == place


def event(place: str = "bar 2", **more: Any) -> dict[str, Any]:
    return {"onset_beats": "0", "midi": [60], "place": place, **more}


def test_the_file_of_a_phrase_says_version_2_and_keeps_what_it_held() -> None:
    plain = {"schema": "reedpath/phrase", "version": 1, "phrase": {"title": "x", "events": [event(), event("2 s")]}}
    made = phrase_file_of_version_1(plain)
    assert (made["version"], made["schema"]) == (2, "reedpath/phrase")
    assert made["phrase"]["title"] == "x"
    first, second = made["phrase"]["events"]
    assert (first["onset_beats"], first["midi"]) == ("0", [60])
    assert {name: value for name, value in first["place"].items() if value} == {"bar": 2}
    assert second["place"]["seconds"] == 2.0


def left_out(**plain: Any) -> Any:
    (one,) = phrase_file_of_version_1({"phrase": {"left_out": [plain]}})["phrase"]["left_out"]
    return one


def test_what_was_left_out_is_told_by_its_kind_or_else_by_its_text() -> None:
    kept = left_out(kind="stray-signs", values={"sign": "+"}, what="x", place="line 3", count=2)
    assert (kept["kind"], kept["values"], kept["count"], kept["place"]["line"]) == (
        "stray-signs", [["sign", "+"]], 2, 3,
    )  # fmt: skip
    two = left_out(kind="own-metre", values={"metre": "6/8", "beats": "4"})
    assert (two["values"], two["count"]) == ([["beats", "4"], ["metre", "6/8"]], 1)
    told = left_out(what="the metre 6/8 of a bar of 4 beats", place="bar 3", count=7)
    assert (told["kind"], told["count"], told["place"]["bar"]) == ("own-metre", 7, 3)
    assert [list(pair) for pair in told["values"]] == [["beats", "4"], ["metre", "6/8"]]
    free = left_out(kind="unlisted", what="confetti")
    assert (free["kind"], [list(pair) for pair in free["values"]]) == ("unlisted", [["what", "confetti"]])
    assert left_out(kind="confetti", what="lyrics")["kind"] == "lyrics"
    damaged = {"kind": "confetti", "what": 3}
    assert left_out(**damaged) == damaged


def test_the_text_that_says_most_is_the_one_meant() -> None:
    assert left_out_of_text("voice low", Place(bar=1), 3) == left_out_of_text("voice low", Place(bar=1), 3)
    assert left_out_of_text("voice low").values == (("name", "low"),)
    long = left_out_of_text("confetti " * 60)
    assert long.kind == "unlisted"
    assert len(long.values[0][1]) <= 200


def lesson(**route: Any) -> dict[str, Any]:
    return {
        "version": 1,
        "harp": {"key": "G"},
        "phrase": {"title": "x", "events": [event("bar 1", duration_beats="1"), event("bar 2", duration_beats="2")]},
        "route": route,
        "parts": ["kept"],
    }


STRUCK = {"onset_beats": "1/4", "asked_midi": [76], "move": {"holes": [6]}, "attack_semitones": -1.0, "grace": True}


def test_a_lessons_phrase_harp_and_changes_come_into_its_route() -> None:
    changes = [{"event": 1, "kind": "octave"}, {"event": 1, "kind": "harmony"}]
    made = lesson_of_version_1(lesson(position=3, changes=changes, events=[STRUCK, STRUCK]))
    assert (made["version"], made["parts"]) == (2, ["kept"])
    route = made["route"]
    assert (route["position"], route["harp"], route["phrase"]["title"]) == (3, {"key": "G"}, "x")
    assert route["phrase"]["events"][1]["place"]["bar"] == 2
    first, second = route["events"]
    assert (first["event"]["onset_beats"], first["event"]["midi"]) == ("1/4", [76])
    assert first["event"]["duration_beats"] == "1"
    assert second["event"]["duration_beats"] == "2"
    assert second["event"]["place"]["bar"] == 2
    assert first["choice"] == {"move": {"holes": [6]}, "attack_semitones": -1.0, "changes": []}
    assert second["choice"]["changes"] == changes
    assert first["grace"] is True


def test_a_route_of_more_events_than_its_phrase_keeps_those_it_has() -> None:
    route = lesson_of_version_1(lesson(events=[STRUCK] * 3))["route"]
    assert [one["event"].get("duration_beats") for one in route["events"]] == ["1", "2", None]
    assert route["events"][2]["event"] == {"onset_beats": "1/4", "midi": [76]}


@pytest.mark.parametrize("number", [-1, 2, True, "1", None])
def test_a_change_of_an_event_that_is_not_there_is_named(number: Any) -> None:
    changes = [{"event": 0}, {"event": number}]
    with pytest.raises(ReadError, match=r"'route\.changes\[1\]\.event'") as caught:
        lesson_of_version_1(lesson(changes=changes, events=[STRUCK, STRUCK]))
    assert caught.value.key == "lesson.no_such_event"


@pytest.mark.parametrize("damage", [None, 3, "x", [], [1]])
def test_what_is_damaged_is_passed_on_for_version_2_to_name(damage: Any) -> None:
    assert phrase_file_of_version_1({"phrase": damage})["phrase"] == damage
    assert phrase_file_of_version_1({"phrase": {"events": damage}})["phrase"]["events"] == damage
    assert phrase_file_of_version_1({"phrase": {"events": [damage]}})["phrase"]["events"] == [damage]
    assert lesson_of_version_1({"route": damage})["route"] == damage
    plain = lesson(events=[damage, STRUCK])
    assert lesson_of_version_1(plain)["route"]["events"][0] == damage
    assert lesson_of_version_1({"phrase": damage, "route": {"events": [STRUCK]}})["route"]["phrase"] == damage
    strange = json.loads(json.dumps(event())) | {"place": damage}
    made = phrase_file_of_version_1({"phrase": {"events": [strange]}})["phrase"]["events"][0]["place"]
    assert made == damage or isinstance(damage, str)
