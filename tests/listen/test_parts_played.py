"""A phrase that is played by parts: which play-throughs are told together, and what is said of them."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.data import encode_json, from_plain, plain_of_version, replace
from reedpath.jobs.student_letters import is_done
from reedpath.lesson import make_lesson
from reedpath.listen import (
    Answer,
    AnswerFile,
    FaultKind,
    PlayAnswer,
    answer_as_data,
    answer_curve,
    answer_take,
    format_answer,
)
from reedpath.listen.advice import failed_spots, practise_of
from reedpath.listen.answer import joined_play
from reedpath.listen.answer_kinds import NextStepKind
from reedpath.listen.next_step import next_step_of
from reedpath.listen.parts_played import parts_played
from reedpath.signal import Samples
from reedpath.sound import PlayAlong, play_along
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.listened import built_answer, built_curve
from support.routes import COMMON_TIME

# four bars of eighths, eight notes each but the last
ROUTE = built_route(
    "2d 3d 4b 4d 5b 4d 4b 3d 2d 3d' 4b 4d 5d 4d 4b 3d' 6b 5d 5b 4d 4b 4d 5b 5d 4b 3d 2d 3d 2d:2",
    key="C",
    metres=COMMON_TIME,
)
EVENTS = len(ROUTE.events)
LANGUAGES = ("en", "fr", "de", "es", "it")
FIRST, SECOND = (0, 15), (16, EVENTS - 1)


def played(ends: tuple[int, int], *wrong: int, kind: FaultKind = FaultKind.MISSED, factor: float = 1.0) -> PlayAnswer:
    """A play-through of some events, with faults at some of them."""
    play = built_answer(ROUTE, {index: (kind, 40.0) for index in wrong}).plays[0]
    inside = slice(ends[0], ends[1] + 1)
    placed = replace(play.play, events=play.play.events[inside], whole=ends == (0, EVENTS - 1), tempo_factor=factor)
    events = play.events[inside]
    right = sum(one.is_right for one in events) / len(events)
    return replace(
        play, play=placed, events=events, right_share=right, practise=practise_of(events),
        spots=failed_spots(ROUTE, events), tempo=replace(play.tempo, factor=factor),
    )  # fmt: skip


def answered(*plays: PlayAnswer) -> Answer:
    """The answer to play-throughs, as `answer_of` puts it together."""
    best = max(range(len(plays)), key=lambda index: plays[index].right)
    parts = parts_played(plays, best, ROUTE, EVENTS)
    told = plays[best] if parts is None else joined_play(plays, parts)
    return replace(built_answer(ROUTE), plays=plays, best=best, by_parts=parts, next_step=next_step_of(told, ROUTE))


def test_the_best_of_each_part_is_told_in_the_order_of_the_phrase() -> None:
    answer = answered(played(SECOND, 20), played(FIRST, 2, 5), played(FIRST, 2), played(FIRST, 2, 3, 4))
    assert answer.by_parts is not None
    assert answer.by_parts.plays == (2, 0)
    play = answer.best_play
    assert play is not None
    assert [one.event for one in play.events] == list(range(EVENTS))
    assert [one.event for one in play.events if one.faults] == [2, 20]
    assert (play.right, len(play.heard_events)) == (EVENTS - 2, EVENTS)


def test_a_fault_in_either_part_is_a_point_and_a_drill() -> None:
    answer = answered(played(FIRST, 3), played(SECOND, 20))
    play = answer.best_play
    assert play is not None
    assert {event for thing in play.practise for event in thing.events} == {3, 20}
    assert [(spot.first, spot.last) for spot in play.spots] == [(2, 3), (19, 20)]


def test_parts_that_are_right_are_to_be_joined_and_are_not_done_with() -> None:
    answer = answered(played(FIRST), played(SECOND, factor=0.9))
    assert answer.next_step is not None
    assert answer.next_step.kind is NextStepKind.TOGETHER
    assert answer.next_step.bpm == pytest.approx(90.0)  # the slower of the two
    play = answer.best_play
    assert play is not None
    assert not is_done(answered(played(FIRST), played(SECOND)).best_play, ROUTE)  # type: ignore[arg-type]


def test_what_no_part_holds_is_the_rest() -> None:
    answer = answered(played((0, 7)), played((24, EVENTS - 1)), played((0, 7), 3))
    assert answer.next_step is not None
    assert (answer.next_step.kind, answer.next_step.first, answer.next_step.last) == (NextStepKind.REST, 8, 23)


@pytest.mark.parametrize(
    "plays",
    [
        (played((0, EVENTS - 1), 3), played(FIRST)),  # all of it in one go
        (played(FIRST, 3), played(FIRST)),  # one part twice
        (played(FIRST), played((2, 17))),  # two notes more
    ],
)
def test_one_play_through_is_told_alone_where_the_others_add_nothing(plays: tuple[PlayAnswer, ...]) -> None:
    assert answered(*plays).by_parts is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_is_said_that_it_is_played_by_parts(language: str) -> None:
    text = format_answer(answered(played(SECOND), played(FIRST, 2), played(FIRST, 2, 3)), load_catalogue(language))
    assert "{" not in text
    if language == "en":
        assert "It is played by parts, three times in all" in text
        assert "bars 1 to 2 and bars 3 to 4." in text
        assert "28 notes out of 29" in text
        assert "the rest is not played" not in text
        assert "Next: now join the parts" in text


def test_it_is_written_and_read_with_its_parts() -> None:
    answer = answered(played(SECOND), played(FIRST, 2))
    data = answer_as_data(answer)
    read = from_plain(plain_of_version(encode_json(data), schema="reedpath/answer", version=2, older={}), AnswerFile)
    assert read.by_parts is not None
    assert read.best_play is not None
    assert read.best_play.is_by_parts
    assert read.best_play.right == EVENTS - 1
    # one that was written before there were parts
    del data["by_parts"]
    read = from_plain(plain_of_version(encode_json(data), schema="reedpath/answer", version=2, older={}), AnswerFile)
    assert read.best_play is not None
    assert not read.best_play.is_by_parts


def stopping(*, silent: int | None = None) -> Answer:
    """The answer to our own play-along with seven seconds of silence after its second bar, and one event left out."""
    lesson = make_lesson(ROUTE, title="Parts")
    sound = play_along(lesson, lesson.ladder[-1], PlayAlong(count_in_bars=0))
    mono, rate = sound.array.mean(axis=1), sound.rate
    begin, beat = float(np.flatnonzero(np.abs(mono) > 0.01)[0]) / rate, 60.0 / 100.0
    if silent is not None:
        event = ROUTE.phrase.events[silent]
        first, last = (int((begin + beat * float(at) - 0.02) * rate) for at in (event.onset, event.end))
        mono[first:last] = 0.0
    cut = int((begin + 8 * beat - 0.02) * rate)
    gap = np.zeros(7 * rate, dtype=np.float32)
    return answer_take(Samples(np.concatenate([mono[:cut], gap, mono[cut:]]), rate), ROUTE)


def test_parts_with_a_long_stop_between_are_two_play_throughs_and_no_slow_one() -> None:
    answer = stopping()
    assert [(play.play.first, play.play.last) for play in answer.plays] == [FIRST, SECOND]
    assert answer.by_parts is not None
    play = answer.best_play
    assert play is not None
    assert not any(one.faults for one in play.events)
    assert play.tempo.kept


def test_the_first_note_of_a_part_is_missed_where_it_is_left_out() -> None:
    answer = stopping(silent=16)
    assert [(play.play.first, play.play.last) for play in answer.plays] == [FIRST, SECOND]
    play = answer.best_play
    assert play is not None
    assert [(one.event, one.verdict.value) for one in play.events if one.faults] == [(16, "missed")]


def test_the_picture_shows_all_parts() -> None:
    answer = answered(played(SECOND, 20), played(FIRST, 2))
    play = answer.best_play
    assert play is not None
    drawn = answer_curve(answer, play, built_curve(answer))
    assert sorted({stroke.event for stroke in drawn.strokes}) == [one for one in range(EVENTS) if one not in (2, 20)]
    assert sorted(drawn.missed) == [2, 20]
