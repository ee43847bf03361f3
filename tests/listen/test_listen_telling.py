from __future__ import annotations

import json

import jsonschema
import pytest

from reedpath.data import replace
from reedpath.harp import Breath, Move
from reedpath.listen import (
    ANSWER_AS_WRITTEN,
    ANSWER_VERSION,
    AnswerFile,
    Extra,
    Fault,
    FaultKind,
    NextStepKind,
    Notice,
    ReedHeard,
    ReedState,
    answer_as_data,
    format_answer,
)
from reedpath.listen.advice import practise_of, things_of_the_whole
from reedpath.listen.next_step import next_step_of
from reedpath.phrase import numbered_bars
from reedpath.wording import load_catalogue
from support.built_routes import built_route, in_source_bars
from support.json_schemas import json_schema
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
    assert "3 draw sounds in place of 3 draw half-step bend (bar 1)." in text
    assert "11 notes out of 12" in text


def test_two_notes_that_are_swapped_are_one_thing_with_one_remedy():
    answer = built_answer(ROUTE, {3: (FaultKind.ANOTHER, 100.0, ROUTE.events[4].choice.move)})
    play = answer.plays[0]
    fault = Fault(FaultKind.SWAPPED, 100.0, 1.0)
    events = tuple(
        replace(one, faults=(fault,), swapped_with=7 - one.event) if one.event in (3, 4) else one
        for one in play.events
    )
    practise = practise_of(events)
    assert [(thing.kind, thing.events, thing.weight) for thing in practise] == [(FaultKind.SWAPPED, (3, 4), 2.0)]
    text = format_answer(
        replace(answer, plays=(replace(play, events=events, practise=practise),)), load_catalogue("en")
    )
    (point,) = [line for line in text.splitlines() if line.startswith("- You")]
    assert point == "- You swap 4 draw half-step bend and 4 draw (bar 1)."
    assert text.count("Say the two aloud in their order") == 1


def test_a_bend_that_is_flat_twice_is_one_thing_and_comes_first():
    text = told({1: (FaultKind.FLAT, 31.0), 10: (FaultKind.FLAT, 38.0), 4: (FaultKind.LATE, 120.0)})
    lines = [line for line in text.splitlines() if line.startswith("- ")]
    assert (
        lines[0]
        == "- 3 draw half-step bend goes too deep twice, by about 35 cents (bars 1 and 2): bend a little less."
    )
    assert lines[1] == "- A note comes 120 ms late: 4 draw (bar 1)."


def test_bars_are_those_of_the_source_and_the_time_is_told():
    route = in_source_bars(ROUTE, [7] * 12)  # one bar of the source, played twice
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
@pytest.mark.parametrize("count", [1, 2, 3])
def test_every_fault_has_its_words_in_every_language(language, count):
    for kind in FaultKind:
        amount = 1.0 if kind in (FaultKind.GLIDE, FaultKind.PAUSE) else 40.0
        heard = (STRAIGHT,) if kind is FaultKind.ANOTHER else ()
        changes = {index: (kind, amount, *heard) for index in (1, 3, 10)[:count]}
        text = told(changes, language)
        assert "{" not in text, kind
        assert text.count("\n- ") >= 1, kind


# of lips and of the tongue, of two and of three holes, and single notes
HOLES = built_route("(1 2)d:1 [1 4]b:1 (4 5 6)d:1 4d:1 5d:1", bpm=96)


def told_of_holes(kind, silent, beside, *, index=0, more=()):
    """What is told of an event whose holes are silent or sound beside it; and of others, by index and hole beside."""
    reeds = {index: [ReedHeard(hole, True, ReedState.SILENT) for hole in silent]}
    reeds[index] += [ReedHeard(hole, False, ReedState.SOUNDS) for hole in beside]
    reeds |= {other: [ReedHeard(hole, False, ReedState.SOUNDS)] for other, hole in more}
    changes = {one: (kind, 1.0) for one in reeds}
    answer = built_answer(HOLES, changes)
    play = answer.plays[0]
    events = tuple(replace(one, reeds=tuple(reeds.get(one.event, ()))) for one in play.events)
    play = replace(play, events=events, practise=practise_of(events))
    text = format_answer(replace(answer, plays=(play,)), load_catalogue("en"))
    return next(line for line in text.splitlines() if line.startswith("- "))


@pytest.mark.parametrize(
    ("index", "silent", "tip"),
    [
        (0, [2], "hole 2 (bar 1): open the lips a little further to the right."),
        (0, [1], "hole 1 (bar 1): open the lips a little further to the left."),
        (0, [1, 2], "holes 1 and 2 (bar 1): open the lips a little wider and keep the air even."),
        (2, [5], "hole 5 (bar 1): open the lips a little wider and keep the air even."),
        (1, [4], "hole 4 (bar 1): let more air through at the right corner of the mouth."),
        (1, [1], "hole 1 (bar 1): let more air through at the left corner of the mouth."),
    ],
)
def test_a_hole_that_is_missing_is_sought_on_its_side(index, silent, tip):
    assert told_of_holes(FaultKind.HOLE_MISSING, silent, [], index=index).endswith(f"I do not hear {tip}")


@pytest.mark.parametrize(
    ("index", "silent", "beside", "tip"),
    [
        (0, 2, 3, "I hear hole 3 instead of hole 2 (bar 1): go one hole further left."),
        (2, 4, 3, "I hear hole 3 instead of hole 4 (bar 1): go one hole further right."),
        (1, 4, 5, "instead of hole 4 (bar 1): that corner of the mouth belongs one hole further left."),
        (1, 4, 3, "instead of hole 4 (bar 1): that corner of the mouth belongs one hole further right."),
    ],
)
def test_a_hole_in_place_of_another_says_which_way(index, silent, beside, tip):
    assert told_of_holes(FaultKind.HOLE_WRONG, [silent], [beside], index=index).endswith(tip)


@pytest.mark.parametrize(
    ("index", "beside", "tip"),
    [
        (0, [3], "hole 3 (bar 1): make the opening smaller and keep a little further left."),
        (2, [3], "hole 3 (bar 1): make the opening smaller and keep a little further right."),
        (2, [3, 7], "holes 3 and 7 (bar 1): make the opening of the lips smaller."),
        (1, [2], "hole 2 (bar 1): cover it with the tongue."),
        (1, [2, 3], "holes 2 and 3 (bar 1): make the opening of the lips smaller."),
        (1, [5], "hole 5 (bar 1): make the opening smaller and keep a little further left."),
    ],
)
def test_a_hole_too_many_is_closed(index, beside, tip):
    assert told_of_holes(FaultKind.HOLE_TOO_MANY, [], beside, index=index).endswith(f"I also hear {tip}")


def test_single_notes_that_leak_are_one_habit():
    one = told_of_holes(FaultKind.HOLE_TOO_MANY, [], [5], index=3)
    assert one.startswith("- With 4 draw I also hear hole 5 (bar 1): ")
    assert one.endswith("make the opening smaller and keep a little further left.")
    alike = told_of_holes(FaultKind.HOLE_TOO_MANY, [], [3], index=3, more=[(4, 4)])
    assert alike.startswith(
        "- Two single notes let the hole beside them sound too: 4 draw and 5 draw (bars 1 and 2): "
    )
    assert alike.endswith("keep a little further right.")
    either = told_of_holes(FaultKind.HOLE_TOO_MANY, [], [5], index=3, more=[(4, 4)])
    assert either.endswith(": make the opening of the lips smaller.")


def with_air(*, factor, **changes):
    """The text of a perfect answer but for its air, at a share of the tempo, and its one thing to practise."""
    answer = built_answer(ROUTE)
    play = answer.plays[0]
    play = replace(play, air=replace(play.air, **changes), tempo=replace(play.tempo, factor=factor))
    play = replace(play, practise=things_of_the_whole(play.events, play.tempo, play.air, None))
    answer = replace(answer, plays=(play,), next_step=next_step_of(play, ROUTE))
    return answer, format_answer(answer, load_catalogue("en"))


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        (
            {"highest_litres": 1.2, "fullest_at": 11, "rest_to_fullest": 3},
            "By bar 2 you have drawn much more than you have blown: "
            "let air out through the nose in the rest (bar 1).",
        ),
        (
            {"highest_litres": 1.2, "fullest_at": 5},
            "By bar 1 you have drawn much more than you have blown, and there is no rest on the way: "
            "let a little air out through the nose between two notes.",
        ),
        (
            {"lowest_litres": -1.2, "emptiest_at": 11, "rest_to_emptiest": 3},
            "By bar 2 you have blown much more than you have drawn: "
            "take air in through the nose in the rest (bar 1).",
        ),
        (
            {"lowest_litres": -1.2, "emptiest_at": 5},
            "By bar 1 you have blown much more than you have drawn, and there is no rest on the way: "
            "take a little air in through the nose between two notes.",
        ),
    ],
)
def test_air_is_a_point_where_it_is_slower_than_the_lesson(changes, told):
    answer, text = with_air(factor=0.7, **changes)
    assert f"- {told}" in text
    assert text.count("you have") == 2
    assert answer.next_step.kind is NextStepKind.FASTER  # nothing was wrong
    answer, text = with_air(factor=1.0, **changes)
    assert "you have" not in text  # so much the lesson takes
    assert answer.next_step.kind is NextStepKind.TOMORROW


def test_tempo_and_tuning_are_told_in_passing():
    answer = built_answer(ROUTE)
    play = answer.plays[0]
    tempo = replace(play.tempo, factor=0.75, bpm=72.0, drift=0.101, kept=False)
    part = replace(play.play, whole=False, events=play.play.events[2:5])
    several = replace(answer, plays=(play, replace(play, tempo=tempo, play=part)), best=1, tuned_cents=-12.4)
    text = format_answer(several, load_catalogue("en"))
    assert "I hear it twice, once only in part. This is about number 2, the best of them." in text
    assert "Your harp is 12 cents lower than the lesson" in text
    assert "This one goes from 4 blow (bar 1) to 4 draw (bar 1); the rest is not played." in text
    assert (
        "You play it at 72 beats a minute, which is 75% of the tempo. From start to end it gets 10% faster." in text
    )
    slower = replace(answer, plays=(replace(play, tempo=replace(tempo, drift=-0.2)),))
    text = format_answer(slower, load_catalogue("en"))
    assert "From start to end it gets 20% slower." in text
    assert "rest is not played" not in text
    assert "The tempo holds." in format_answer(answer, load_catalogue("en"))


def test_a_tempo_that_sways_is_one_thing_and_practised_with_the_click():
    answer = built_answer(ROUTE)
    tempo = replace(answer.plays[0].tempo, sway=0.18, drift=-0.09, kept=False)
    play = replace(answer.plays[0], tempo=tempo)
    (thing,) = things_of_the_whole(play.events, tempo, play.air, None)
    assert (thing.kind, thing.amount) == (FaultKind.SWAYS, pytest.approx(18.0))
    play = replace(play, practise=(thing,))
    step = next_step_of(play, ROUTE)
    assert step.kind is NextStepKind.CLICK
    text = format_answer(replace(answer, plays=(play,), next_step=step), load_catalogue("en"))
    assert "- The tempo goes up and down, by about 18% either way: practise it with the click" in text
    assert "The tempo holds" not in text
    assert "slower" not in text
    aside = format_answer(replace(answer, plays=(replace(play, practise=()),)), load_catalogue("en"))
    assert "It goes up and down on the way, by about 18%." in aside


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


@pytest.mark.parametrize("language", ["en", "fr", "de", "es", "it"])
@pytest.mark.parametrize("count", [1, 2])
def test_what_others_cover_is_said_once_and_left_out_of_the_share(language, count):
    answer = built_answer(ROUTE, {2 + number: (FaultKind.MISSED, 0.0) for number in range(count)})
    (play,) = answer.plays
    events = tuple(replace(one, covered=True, faults=()) if one.faults else one for one in play.events)
    heard = len(events) - count
    play = replace(play, events=events, practise=(), spots=(), right_share=1.0)
    words = load_catalogue(language)
    text = format_answer(replace(answer, plays=(play,)), words)
    assert words.say("listen.share", count=heard, notes=heard) in text
    assert words.say("listen.all_right", count=heard) not in text
    says = words.say("listen.covered", count=count, moves="|", place="|").split("|")
    assert [text.count(part) for part in says if len(part) > 4] == [1] * sum(len(part) > 4 for part in says)
