"""Lesson files of version 1 are read still, whole, and say the same in any language."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from reedpath.data import as_plain
from reedpath.errors import NOWHERE, Place, ReadError
from reedpath.lesson import Lesson, decode_lesson, encode_lesson, lesson_file
from reedpath.phrase import LeftOut

KEPT = Path(__file__).parents[1] / "data" / "version_1" / "lesson.json"
OLD = [
    {"what": "voice low", "place": "", "count": 3},
    {"what": "hammer-ons (played as plain notes)", "place": "bar 2", "count": 1},
    {"what": "part track 1, channel 8", "place": "", "count": 20},
    {"what": "jiggle", "place": "line 8, column 3", "count": 2},
]


# sentences of the file that are said in other words since
SAID_SINCE = {
    "The source stands elsewhere: here it is an octave up.": (
        "The original is at another pitch: here it is played an octave up."
    ),
    "Turn the breath, 4 draw.": "Down two holes, turning the breath, 4 draw.",
    (
        "In the second part, bar 2, from 4 blow to 3 draw whole-step: the bends have to be in tune and a bend is "
        "struck without sliding into it."
    ): (
        "In the second part, bar 2, from 4 blow to 3 draw whole-step bend: the bends have to be in tune and a bend "
        "has to be hit directly without sliding into it."
    ),
    "On inverse le souffle, 4 aspiré.": "On descend de deux trous en inversant le souffle, sur le 4 aspiré.",
    "On monte d’un trou, 5 aspiré.": "On monte d’un trou, sur le 5 aspiré.",
    "On descend d’un trou, 4 aspiré.": "On descend d’un trou, sur le 4 aspiré.",
    "On reste sur le 4, soufflé, deux fois.": "On reste sur le 4, soufflé, deux fois de suite.",
    (
        "Dans la deuxième partie, mesure 2, de 4 soufflé à 3 altéré d’un ton\u202f: les altérations doivent être "
        "justes et une altération est attaquée d’emblée sans glisser."
    ): (
        "Dans la deuxième partie, mesure 2, du 4 soufflé au 3 aspiré altéré d’un ton\u202f: les altérations doivent "
        "être justes et on attaque directement l’altération sans glisser."
    ),
    "On le joue cinq fois de suite sans faute à chaque tempo\u202f: 34, 44, 56, 72 et 96.": (
        "On joue ce passage cinq fois de suite sans faute à chaque tempo\u202f: 34, 44, 56, 72 et 96."
    ),
}


def old_data() -> Any:
    """A file that the program wrote when its lessons were of version 1."""
    return json.loads(KEPT.read_bytes())


def lesson_with(left_out: list[dict[str, Any]]) -> Lesson:
    data = old_data()
    data["phrase"]["left_out"] = left_out
    return decode_lesson(json.dumps(data).encode())


def test_everything_in_it_is_kept() -> None:
    old, lesson = old_data(), decode_lesson(KEPT.read_bytes())
    new = as_plain(lesson_file(lesson))
    assert (old["version"], new["version"]) == (1, 2)
    for step in (step for blocks in old["steps"].values() for block in blocks for step in block["steps"]):
        step["text"] = SAID_SINCE.get(step["text"], step["text"])
    # that parts are joined from the start is said since
    new["steps"] = {
        language: [block for block in blocks if block["steps"][0]["kind"] != "through"]
        for language, blocks in new["steps"].items()
    }
    for name in ("title", "notation", "languages", "parts", "ladder", "drills", "steps", "cautions"):
        assert new[name] == old[name], name
    assert new["route"]["harp"] == old["harp"]
    phrase = new["route"]["phrase"]
    for name in ("title", "key", "swing", "pickup_beats", "metres", "tempos", "parts", "repeats"):
        assert phrase[name] == old["phrase"][name], name
    for name in ("position", "shift_semitones", "level", "comfortable_tempo", "effort", "truth", "worst", "spots"):
        assert new["route"][name] == old["route"][name], name
    for index, (now, before) in enumerate(zip(new["route"]["events"], old["route"]["events"], strict=True)):
        changes = [one for one in old["route"]["changes"] if one["event"] == index]
        assert [{"event": index} | one for one in now["choice"]["changes"]] == changes
        assert {name: now["choice"][name] for name in ("move", "lead_in", "lead_out")}.items() <= before.items()
        assert now["choice"]["attack_semitones"] == before["attack_semitones"]
        assert now["choice"]["fall_semitones"] == before["fall_semitones"]
        assert {name: now[name] for name in ("breathe_before", "air_litres", "effort")}.items() <= before.items()
    for event, before in zip(lesson.route.phrase.events, old["phrase"]["events"], strict=True):
        ornaments = event.ornaments
        assert [str(event.onset), str(event.duration), list(event.midi), list(event.cents), event.grace] == [
            before[name] for name in ("onset_beats", "duration_beats", "midi", "cents", "grace")
        ]
        assert [
            *map(str, (ornaments.bend_in, ornaments.release)),
            *(ornaments.slide_from, ornaments.slide_to, ornaments.vibrato, ornaments.accent, list(ornaments.graces)),
        ] == list(before["ornaments"].values())
    assert lesson.route.phrase.events[0].ornaments.bend_in == Fraction(2)
    assert [(one.kind, one.what, one.count) for one in lesson.route.phrase.left_out] == [
        (one["kind"], one["what"], one["count"]) for one in old["phrase"]["left_out"]
    ]
    assert decode_lesson(encode_lesson(lesson)) == lesson


def test_a_file_without_kinds_is_read_and_its_texts_find_theirs() -> None:
    assert lesson_with(OLD).route.phrase.left_out == (
        LeftOut("voice", NOWHERE, 3, (("name", "low"),)),
        LeftOut("hammer-ons", Place(bar=2)),
        LeftOut("channel", NOWHERE, 20, (("channel", "8"), ("track", "1"))),
        LeftOut("unlisted", Place(line=8, column=3), 2, (("what", "jiggle"),)),
    )


def test_its_texts_are_written_back_as_they_were() -> None:
    written = as_plain(lesson_file(lesson_with(OLD)))["route"]["phrase"]["left_out"]
    places: list[dict[str, int]] = [{}, {"bar": 2}, {}, {"line": 8, "column": 3}]
    told = [{name: one[name] for name in ("what", "place", "count")} for one in written]
    assert told == [one | {"place": place} for one, place in zip(OLD, places, strict=True)]


def test_a_kind_of_a_later_version_keeps_its_text() -> None:
    later = {"kind": "confetti", "values": {"colour": "red"}, "what": "red confetti", "place": "bar 1", "count": 1}
    (one,) = lesson_with([later]).route.phrase.left_out
    assert (one.kind, one.what) == ("unlisted", "red confetti")
    written = as_plain(lesson_file(lesson_with(OLD)))
    written["route"]["phrase"]["left_out"] = [later | {"values": [["colour", "red"]], "place": {"bar": 1}}]
    (one,) = decode_lesson(json.dumps(written).encode()).route.phrase.left_out
    assert (one.kind, one.what) == ("unlisted", "red confetti")


@pytest.mark.parametrize("values", [{}, {"name": 3}, [], None])
def test_a_kind_without_its_values_is_refused_by_its_place(values: object) -> None:
    wrong = {"kind": "voice", "values": values, "what": "voice low", "place": "", "count": 1}
    with pytest.raises(ReadError, match=r"left_out\[0\]"):
        lesson_with([wrong])


@pytest.mark.parametrize("event", [-1, 99, "1", True, None])
def test_a_change_of_no_event_is_refused_by_its_place(event: object) -> None:
    data = old_data()
    change = {"event": event, "kind": "octave", "asked_midi": [60], "given_midi": [72], "loss": 0.5}
    data["route"]["changes"].append(change)
    with pytest.raises(ReadError, match=r"route\.changes\[\d+\]\.event'"):
        decode_lesson(json.dumps(data).encode())
