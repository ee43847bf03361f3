"""The answer to a take of several pieces: its files, what is kept of a student, letters and the week's overview.

The takes are made by hand, without any sound; `tests/listen/test_pieces_heard.py` has them from recorded reeds.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import UTC, datetime

import jsonschema
import pytest

from reedpath.data import encode_json
from reedpath.errors import ReadError
from reedpath.jobs.answering import (
    Answered,
    AnsweredTake,
    answer_in_words,
    answer_picture,
    answered_as_data,
    answered_file,
    answered_json,
)
from reedpath.jobs.many_takes import AnsweredTakes
from reedpath.jobs.shelf_lessons import lesson_to_keep
from reedpath.jobs.student_letters import due_words, letter_text
from reedpath.jobs.student_progress import KeptPlaying, progress_of
from reedpath.jobs.take_matching import KnownLesson
from reedpath.jobs.take_overview import overview_of
from reedpath.jobs.take_records import TakeRecord, TakeWithAnswer
from reedpath.jobs.written_answers import answers_written
from reedpath.lesson import LessonOfPieces, Piece
from reedpath.page.takes import format_takes
from reedpath.page.takes.overview import TakeChange
from reedpath.shelf import KeptAnswer, KeptLesson, KeptTake, LessonVersion, Student
from reedpath.studio.student_views import take_rows, told_take
from reedpath.wording import load_catalogue
from support.heard_takes import HeardTake
from support.pieces import answer, lesson_of_pieces, porch
from support.schemas import schemas

EN = load_catalogue("en")
NOW = datetime(2026, 11, 28, tzinfo=UTC)
TWO = LessonOfPieces("Two corners", (Piece("1-porch-steps", porch()), Piece("2-answer", answer())))


def answered_of(lesson: LessonOfPieces, missed: dict[int, tuple[int, ...]]) -> AnsweredTake:
    """A take of some pieces of a lesson, each with the notes missing that are said."""
    pieces = []
    for piece, events in missed.items():
        take = HeardTake(lesson.pieces[piece].lesson.route)
        for event in events:
            take = take.silent(event)
        pieces.append(Answered(take.answer(), take.lined_up().hearing.curve, (), piece))
    return AnsweredTake(lesson, tuple(pieces))


FAULTY = answered_of(TWO, {0: (3, 4, 8), 1: ()})


def test_its_file_has_an_answer_for_each_piece_and_follows_the_schema():
    data = answered_as_data(FAULTY)
    jsonschema.Draft202012Validator(schemas()["answer-of-pieces-1.schema.json"]).validate(data)
    assert [(one["piece"], one["folder"], one["title"]) for one in data["pieces"]] == [
        (0, "1-porch-steps", "Porch steps"), (1, "2-answer", "Answer")
    ]  # fmt: skip
    assert data["unheard"] == []
    routes = [one.lesson.route for one in TWO.pieces]
    folders = [one.folder for one in TWO.pieces]
    written = answers_written(answered_json(FAULTY))
    assert [one.route_in(folders, routes) for one in written] == [0, 1]
    assert [len(one.answer.best_play.events) for one in written] == [15, 5]


def test_an_answer_that_was_written_for_one_phrase_is_read_as_it_was():
    alone = AnsweredTake(porch(), FAULTY.pieces[:1])
    (one,) = answers_written(encode_json(answered_file(alone)))
    # which piece it is about is found by what was to be played
    assert one.folder == ""
    assert one.route_in(["2-answer", "1-porch-steps"], [answer().route, porch().route]) == 1
    with pytest.raises(ReadError):
        answers_written(b'{"schema": "reedpath/answer-of-pieces", "version": 2, "pieces": []}')


def test_a_piece_is_heard_where_it_is_heard_at_another_level_and_nobody_has_to_play_fillers():
    lesson = lesson_of_pieces()
    assert answered_of(lesson, {1: ()}).unheard == (3, 4)
    assert answered_of(lesson, {3: (), 4: ()}).unheard == (0,)
    text = answer_in_words(answered_of(lesson, {3: (0,)}), EN)
    assert "“Over the sixth”" in text.split("\n\n")[1]
    assert "are not in this take" in text


def test_the_pictures_of_all_pieces_stand_one_under_the_other():
    picture = ET.fromstring(answer_picture(FAULTY, EN))
    inner = [one for one in picture if one.tag.endswith("svg")]
    tops, heights = ([int(one.get(name)) for one in inner] for name in ("y", "height"))
    assert tops[0] == 0
    assert tops[1] > heights[0]
    assert int(picture.get("height")) == tops[1] + heights[1]


def playing(*takes: AnsweredTake) -> KeptPlaying:
    kept = lesson_to_keep(TWO)
    pieces = {folder: data.decode() for folder, data in kept.pieces.items()}
    version = LessonVersion(number=5, lesson=2, version=1, data=kept.data.decode(), pieces=pieces)
    numbers = range(1, len(takes) + 1)
    return KeptPlaying(
        student=Student(name="Ada (invented)", number=1),
        harps=(),
        takes=tuple(
            KeptTake(
                number=number, student=1, version=5, name=f"{number}.wav", added=f"2026-11-2{number}T10:00:00+00:00"
            )
            for number in numbers
        ),
        answers={
            number: KeptAnswer(number=number, take=number, data=answered_json(take).decode())
            for number, take in zip(numbers, takes, strict=True)
        },
        versions={5: version},
        lessons={2: KeptLesson(number=2, title="Two corners")},
    )


def test_all_pieces_of_a_take_count_for_what_is_known_of_a_student():
    kept = playing(FAULTY)
    found = progress_of(kept, NOW)
    assert [(one.piece, one.what) for one in found.takes] == [(0, "Porch steps"), (1, "Answer")]
    assert [one.name for one in found.heard] == ["1.wav"]
    assert found.unheard == ()
    due = {due_words(one, EN) for one in (*found.due, *found.later)}
    assert {"“Porch steps”", "“Answer”"} <= due
    (row,) = take_rows(kept, found.takes)
    assert row["percent"] == 85  # 17 of 20


def test_a_letter_praises_what_went_best_and_mends_what_needs_it_most():
    text = letter_text(progress_of(playing(FAULTY), NOW), None, EN)
    assert "take of “Two corners”. “Answer”: All 5 notes are just as asked." in text
    assert "\n- “Porch steps”: " in text
    assert "\n- “Answer”: " not in text
    assert "\nNext:" in text


def test_a_takes_page_tells_every_piece_and_where_each_fault_is_heard():
    kept = playing(FAULTY)
    told = told_take(kept, kept.versions[5], EN)
    assert told.text.count("\nPiece ") == 2
    assert {place.words.partition(":")[0] for place in told.places} == {"“Porch steps”"}


def known() -> KnownLesson:
    return KnownLesson("Two corners", playing().versions[5])


def week(*takes: AnsweredTake) -> AnsweredTakes:
    told = [
        TakeWithAnswer(
            TakeRecord(
                file=f"{number}.m4a",
                sha256=str(number),
                recorded=f"2026-11-2{number}",
                modified="",
                student="Ada",
                lesson="Two corners",
            ),
            "",
            answered_json(take),
        )
        for number, take in enumerate(takes, start=2)
    ]
    return AnsweredTakes(now=tuple(told))


def test_the_week_compares_each_piece_with_the_last_time_and_speaks_of_the_one_that_needs_it_most():
    told = overview_of(week(FAULTY, answered_of(TWO, {0: (3,), 1: (1,)})), [known()], EN)
    assert [(one.piece_title, one.right, one.change) for one in told.takes] == [
        ("Porch steps", 12, TakeChange.FIRST),
        ("Answer", 5, TakeChange.FIRST),
        ("Porch steps", 14, TakeChange.BETTER),
        ("Answer", 4, TakeChange.WORSE),
    ]
    assert [bool(one.say) for one in told.takes] == [False, False, False, True]
    assert told.takes[3].say[0].startswith("“Answer”: ")
    text = format_takes(told, EN)
    assert "2 takes of one student" in text
    assert text.count("“Two corners”, 2026-11-2") == 2


def test_where_a_piece_is_done_with_the_next_is_one_that_was_not_played_yet():
    told = overview_of(week(answered_of(TWO, {0: ()})), [known()], EN)
    assert "“Answer”" in told.takes[0].say[-1]
