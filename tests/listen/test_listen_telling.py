from __future__ import annotations

import json

import jsonschema
import pytest

from reedpath.data import json_schema, replace
from reedpath.harp import Breath, Move
from reedpath.listen import (
    ANSWER_AS_WRITTEN,
    ANSWER_VERSION,
    AnswerFile,
    Extra,
    FaultKind,
    Notice,
    answer_as_data,
    format_answer,
)
from reedpath.phrase import numbered_bars
from reedpath.wording import load_catalogue
from support.built_routes import built_route, in_source_bars
from support.listened import built_answer

ROUTE = built_route("2d 3d' 4b:1 4d' 4d 5d 6b:1 6b 5d 4d 3d' 2d:2", key="A", bpm=96)
STRAIGHT = Move((3,), Breath.DRAW)


def told(changes, language="en", **fields):
    return format_answer(built_answer(ROUTE, changes, **fields), load_catalogue(language))


def test_a_perfect_take_is_praised_and_gets_no_advice():
    text = told(None)
    assert "All 12 notes are as asked" in text
    assert "practising" not in text
    assert "apart" not in text


def test_the_straight_note_in_place_of_its_bend_is_named():
    text = told({1: (FaultKind.ANOTHER, 100.0, STRAIGHT)})
    assert "3 draw sounds in place of 3 draw half-step (bar 1)." in text
    assert "11 notes out of 12" in text


def test_a_bend_that_is_flat_twice_is_one_thing_and_comes_first():
    text = told({1: (FaultKind.FLAT, 31.0), 10: (FaultKind.FLAT, 38.0), 4: (FaultKind.LATE, 120.0)})
    lines = [line for line in text.splitlines() if line.startswith("- ")]
    assert lines[0] == "- 3 draw half-step goes too deep twice, by about 35 cents (bars 1 and 2): bend a little less."
    assert lines[1] == "- A note comes 120 ms late: 4 draw (bar 1)."


def test_bars_are_those_of_the_source_and_the_time_is_told():
    route = in_source_bars(ROUTE, [7] * 5 + [8] * 3 + [7] * 4)
    numbered = numbered_bars(route.phrase)
    assert [numbered.at(route.phrase.events[event].onset).mark for event in (1, 10)] == ["7", "7 (2)"]
    changes = {1: (FaultKind.FLAT, 31.0), 10: (FaultKind.FLAT, 38.0)}
    text = format_answer(built_answer(route, changes), load_catalogue("en"))
    assert "(bar 7 and bar 7, 2nd time)" in text
    text = format_answer(built_answer(route, changes), load_catalogue("fr"))
    assert "(mesure 7 et mesure 7, 2e fois)" in text.replace("\N{NO-BREAK SPACE}", " ")


def test_failed_places_become_spots_with_the_note_that_leads_in():
    answer = built_answer(ROUTE, {6: (FaultKind.MISSED, 0.0)})
    spot = answer.plays[0].spots[0]
    assert (spot.first, spot.last, spot.reasons) == (5, 6, ("missed",))


@pytest.mark.parametrize("language", ["en", "fr"])
@pytest.mark.parametrize("kind", [kind for kind in FaultKind])
@pytest.mark.parametrize("count", [1, 2, 3])
def test_every_fault_has_its_words_in_every_language(language, kind, count):
    amount = 1.0 if kind in (FaultKind.GLIDE, FaultKind.PAUSE) else 40.0
    heard = (STRAIGHT,) if kind is FaultKind.ANOTHER else ()
    changes = {index: (kind, amount, *heard) for index in (1, 3, 10)[:count]}
    text = told(changes, language)
    assert "{" not in text
    assert text.count("\n- ") >= 1


@pytest.mark.parametrize("language", ["en", "fr"])
@pytest.mark.parametrize("notice", list(Notice))
def test_every_notice_has_its_words(language, notice):
    answer = replace(built_answer(ROUTE), plays=(), best=None, notices=(notice,), duration_seconds=7200.0)
    text = format_answer(answer, load_catalogue(language))
    assert len(text.splitlines()) == 3
    assert ("120" in text) == (notice is Notice.LONG)


def test_data_says_what_the_answer_says_and_fits_its_schema():
    extra = Extra(2.0, 2.2, 3, False, STRAIGHT, 4.0)
    changes = {1: (FaultKind.ANOTHER, 100.0, STRAIGHT), 6: (FaultKind.MISSED, 0.0), 3: (FaultKind.FLAT, 30.0)}
    data = json.loads(json.dumps(answer_as_data(built_answer(ROUTE, changes, extras=(extra,)))))
    jsonschema.validate(data, json_schema(AnswerFile, title="answer", written=ANSWER_AS_WRITTEN))
    assert data["version"] == ANSWER_VERSION
    events = data["play_throughs"][0]["events"]
    assert events[1]["verdict"] == "another"
    assert events[1]["heard"]["holes"] == [3]
    assert events[6]["heard"] is None
    assert events[6]["cents"] is None
    assert events[3]["cents"] == -30.0
    assert data["play_throughs"][0]["extras"][0]["after"] == 3
