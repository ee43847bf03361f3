"""The picture of a take: what was heard lies over what was asked, and what is off is told beside it in figures."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree as Tree

import numpy as np
import pytest

from reedpath.data import replace
from reedpath.harp import Breath, Move
from reedpath.listen import Answer, Extra, FaultKind, ReedHeard, ReedState
from reedpath.page import RibbonLook, format_take_svg
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.listened import built_answer, built_curve

ROUTE = built_route("2d 3d' 4b:1 4d' 4d 5d 6b:1 6b 5d 4d 3d' 2d:2", key="A", bpm=96)
CHANGES = {
    1: (FaultKind.ANOTHER, 100.0, Move((3,), Breath.DRAW)),
    3: (FaultKind.FLAT, 31.4),
    5: (FaultKind.MISSED, 0.0),
    7: (FaultKind.SHARP, 28.0),
    8: (FaultKind.LATE, 120.0),
}
ANSWER = built_answer(ROUTE, CHANGES)


def drawn(answer: Answer = ANSWER, **more: object) -> Tree.Element:
    text = format_take_svg(answer, built_curve(answer), **more)
    return Tree.fromstring(re.sub(r' xmlns="[^"]*"', "", text, count=1))


def texts(picture: Tree.Element, of: str) -> list[str]:
    return [one.text or "" for one in picture.iter("text") if one.get("class") == of]


def paths(picture: Tree.Element, of: str) -> list[list[tuple[float, float]]]:
    """The points of each path of a class that a take draws."""
    return [
        [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.-]+) ([\d.-]+)", one.get("d", ""))]
        for group in picture.iter("g")
        if group.get("class") == "take"
        for one in group.iter("path")
        if one.get("class") == of
    ]


def test_what_is_off_stands_beside_the_tab_of_its_note():
    told = {text.replace("\u2212", "-") for text in texts(drawn(), "take_text")}
    assert told == {"-3' → -3", "-4' -31", "+6 +28", "-5 +120 ms"}
    plain = [text for text in texts(drawn(), "legend_text") if text in {"-2", "+4", "-4", "-5", "+6", "-3'"}]
    assert plain == ["-2", "+4", "-4", "-5", "+6", "-4", "-3'", "-2"]
    early = built_answer(ROUTE)
    play = early.plays[0]
    hurried = replace(play.events[2], late_seconds=-0.08, faults=play.events[2].faults)
    hurried = replace(hurried, faults=(built_answer(ROUTE, {2: (FaultKind.EARLY, 80.0)}).plays[0].events[2].faults))
    events = tuple(hurried if one.event == 2 else one for one in play.events)
    told = texts(drawn(replace(early, plays=(replace(play, events=events),))), "take_text")
    assert [text.replace("\u2212", "-") for text in told] == ["+4 -80 ms"]


def test_lines_lie_where_the_notes_do_and_are_thick_where_something_is_off():
    picture = drawn()
    heard, off = paths(picture, "take_heard"), paths(picture, "take_off")
    assert len(heard) == 7
    assert len(off) == 4
    assert len(paths(picture, "take_ground")) == len(heard) + len(off) + 1  # and the cross
    # one after the other, none over the next
    spans = sorted((points[0][0], points[-1][0]) for points in heard + off)
    assert all(start < end for start, end in spans)
    assert all(before[1] <= after[0] for before, after in pairwise(spans))
    level = [y for _, y in heard[0]]
    assert np.ptp(level) < 0.1
    # the note on 2 draw lies on the cord that the last one lies on too
    assert heard[-1][0][1] == pytest.approx(level[0], abs=0.1)


def test_a_note_that_is_missing_is_crossed_out():
    ((*cross,),) = paths(drawn(), "take_missed")
    assert len(cross) == 4
    (first, second, third, fourth) = cross
    assert {first[0], second[0]} == {third[0], fourth[0]}
    assert {first[1], second[1]} == {third[1], fourth[1]}
    assert paths(drawn(built_answer(ROUTE)), "take_missed") == []


def test_a_sound_too_many_is_a_line_of_its_own():
    extra = Extra(9.3, 9.6, 11, again=False, move=Move((3,), Breath.BLOW), cents=0.0)
    route = built_route("2d:1 3d':1 4b:1 4d':1 4d:1 5d:1 6b:2 6b:1 5d:1 3d:1 2d'':1 2d:2", key="A", bpm=96)
    assert len(paths(drawn(built_answer(route, {}, extras=(extra,))), "take_extra")) == 1
    assert paths(drawn(built_answer(route, {})), "take_extra") == []


@pytest.mark.parametrize(
    ("silent", "beside", "figure"),
    [([2], [3], "2 → 3"), ([1], [], "without 1"), ([], [3, 6], "with 3 and 6"), ([1], [3, 6], "1 → 3, with 6")],
)
def test_holes_that_are_wrong_are_told_by_their_numbers(silent, beside, figure):
    route = built_route("(1 2)d:1 4d:1")
    answer = built_answer(route)
    play = answer.plays[0]
    reeds = [ReedHeard(hole, True, ReedState.SILENT) for hole in silent]
    reeds += [ReedHeard(hole, False, ReedState.SOUNDS) for hole in beside]
    first = replace(play.events[0], reeds=tuple(reeds))
    played = replace(answer, plays=(replace(play, events=(first, *play.events[1:])),))
    (told,) = texts(drawn(played), "take_text")
    assert told.endswith(f" {figure}")


def test_the_heading_says_which_playing_and_how_much_is_right():
    picture = drawn()
    assert texts(picture, "heading_text") == ["Your take of typed by hand"]
    assert "Play-through 1 · ♩ = 96 · 7 notes out of 12 are as asked" in texts(picture, "legend_text")
    assert picture.findtext("desc") == "The pitch of the take over the route, 12 notes."
    legend = ["what was heard", "not as asked", "a note too many", "missing"]
    assert [text for text in texts(picture, "legend_text") if text in legend] == legend
    bare = drawn(look=RibbonLook(heading=False, legend=False))
    assert texts(bare, "heading_text") == []
    assert not set(texts(bare, "legend_text")) & set(legend)
    assert float(bare.get("height", 0)) < float(picture.get("height", 0)) - 60
    french = drawn(catalogue=load_catalogue("fr"))
    assert "manquante" in " ".join(texts(french, "legend_text")) or "manque" in " ".join(texts(french, "legend_text"))


def test_another_play_through_can_be_drawn_and_none_leaves_the_ribbon():
    perfect = built_answer(ROUTE).plays[0]
    both = replace(ANSWER, plays=(ANSWER.plays[0], perfect), best=1)
    assert texts(drawn(both), "take_text") == []
    assert "Play-through 2 · " in " ".join(texts(drawn(both), "legend_text"))
    assert len(texts(drawn(both, play=0), "take_text")) == 4
    alone = replace(ANSWER, plays=(), best=None)
    text = format_take_svg(alone, built_curve(ANSWER))
    assert "Play-through" not in text
    assert text.count('class="event"') == len(ROUTE.events)
