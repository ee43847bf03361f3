"""Whose a take is and when it was made, by names as people, telephones and computers give them (all invented)."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given

from reedpath.jobs.take_matching import LEAST_HEARD, LEAST_ORDERLY, LessonHeard, lessons_that_fit, sure_lesson
from reedpath.jobs.take_names import date_named, same_student, student_named
from support.spent_bytes import SpentBytes, built_from_bytes

TITLES = ["Down the lane (invented)", "Kite weather (invented)", "Anna's waltz", "Boxcar in A"]
STUDENTS = ("Anna", "Bo Lind", "Anna-Lena O'Shea", "Élodie", "Lena von Arx", "Mo K", "Marie de la Cruz")
# what stands around a name: none of it is one
BEFORE = (
    "",
    "Recording ",
    "Aufnahme von ",
    "2026-11-25 ",
    "enregistrement de ",
    "03_",
    "Voice memo - ",
    "grabación ",
)
AFTER = (
    "",
    " 2026-11-25",
    " 25.11.2026",
    "_week3",
    " take 2",
    " (2)",
    " Down the lane",
    " - kite weather slow",
    " 20261125",
)


@pytest.mark.parametrize(
    ("folders", "stem", "found"),
    [
        ([], "Anna 2026-11-25", "Anna"),
        (["Anna"], "rec 3", "Anna"),
        (["Anna", "2026-11"], "20261125_101500", "Anna"),
        (["Anna"], "down the lane slow", "Anna"),
        (["Down the lane"], "Anna", "Anna"),
        (["Tuesday group"], "bo", "Bo"),
        (["voice messages from Thursday"], "Élodie", "Élodie"),
        ([], "PTT-20261125-WA0003", ""),
        ([], "Neue Aufnahme 12", ""),
        ([], "down the lane 2", ""),
        ([], "Kite weather", ""),
        ([], "of the", ""),
        ([], "of", ""),
        (["Di"], "2026-11-25", "Di"),
        ([], "Gil - Boxcar in A - 2026", "Gil"),
        ([], "Boxcar in A 2", ""),
        ([], "", ""),
        ([], "anna_lena_week3", "Anna Lena"),
        ([], "ANNA2", "Anna"),
        ([], "Anna's take", "Anna"),
        ([], "von Arx, Lena", "von Arx Lena"),
        ([], "木村 1", "木村"),
        ([], "Anna\x1b[31m 1", "Anna"),
    ],
)
def test_a_students_name_is_what_is_no_date_no_title_and_no_word_for_a_recording(folders, stem, found) -> None:
    assert student_named(folders, stem, TITLES) == found


def _around(spent: SpentBytes) -> tuple[str, str]:
    student = spent.pick(STUDENTS)
    return student, f"{spent.pick(BEFORE)}{student}{spent.pick(AFTER)}"


@given(built_from_bytes(_around, size=8))
def test_what_stands_around_a_name_changes_nothing(drawn) -> None:
    student, stem = drawn
    assert student_named([], stem, TITLES) == student
    assert student_named([student], "recording 7", TITLES) == student
    assert same_student(student_named([], stem.lower(), TITLES), STUDENTS) == student


@pytest.mark.parametrize(
    ("texts", "found"),
    [
        (["Anna 2026-11-25"], date(2026, 11, 25)),
        (["AUD-20261125-0003"], date(2026, 11, 25)),
        (["2026_11_25"], date(2026, 11, 25)),
        (["Anna 3.2.2026"], date(2026, 2, 3)),
        (["take 3", "2026-11-25"], date(2026, 11, 25)),
        (["2026-13-45", "week 48"], None),
        (["120261125"], None),
        (["2026-02-30 20260301"], date(2026, 3, 1)),
    ],
)
def test_the_day_is_told_by_a_name(texts, found) -> None:
    assert date_named(*texts) == found


@pytest.mark.parametrize(
    ("name", "known", "found"),
    [
        ("anna", ["Anna"], "Anna"),
        ("Anna", ["Anna Berg", "Bo"], "Anna Berg"),
        ("Anna Berg", ["Anna", "Bo"], "Anna"),
        ("Anna", ["Anna Berg", "Anna Holm"], "Anna"),
        ("Anna Klein", ["Anna Berg"], "Anna Klein"),
        ("ELODIE", ["Élodie"], "Élodie"),
        ("Cy", [], "Cy"),
    ],
)
def test_a_name_is_that_of_a_known_student_where_only_one_can_be_meant(name, known, found) -> None:
    assert same_student(name, known) == found


def _shares(spent: SpentBytes) -> tuple[list[LessonHeard], set[int]]:
    heard = []
    for number in range(spent.whole(0, 6)):
        share = spent.real(0.0, 1.0)
        heard.append(LessonHeard(number, f"Lesson {number}", share, spent.real(0.0, share)))
    return sorted(heard, key=lambda one: -one.share), set(spent.picks(range(6), most=3))


@given(built_from_bytes(_shares, size=64))
def test_a_sure_lesson_is_played_in_time_and_stands_alone_or_is_named(drawn) -> None:
    heard, named = drawn
    found, fit = sure_lesson(heard, named), lessons_that_fit(heard, named)
    assert all(one.share >= LEAST_HEARD for one in fit)
    assert len(heard) == 1 or all(one.orderly >= LEAST_ORDERLY or one.version in named for one in fit)
    if found is None:
        assert len(fit) != 1
    else:
        assert found in fit
        assert len(fit) == 1 or [one for one in fit if one.version in named] == [found]


@pytest.mark.parametrize(
    ("shares", "named", "version"),
    [
        (((0.96, 0.78), (0.82, 0.14)), set(), 0),  # the other one's notes in scraps
        (((0.96, 0.7), (0.9, 0.6)), set(), None),  # two that teach about the same
        (((0.96, 0.7), (0.9, 0.6)), {1}, 1),
        (((0.83, 0.1), (0.7, 0.02)), set(), None),  # neither is played
        (((0.83, 0.1), (0.7, 0.02)), {0}, 0),  # a first try, with stops everywhere, but its file says so
        (((0.83, 0.1),), set(), 0),  # there is no other
        (((0.82, 0.14), (0.6, 0.5)), set(), 1),  # scraps of one explain more than all of the other
    ],
)
def test_what_is_played_on_in_time_counts_for_more_than_scraps(shares, named, version) -> None:
    heard = [LessonHeard(number, "A lesson", *one) for number, one in enumerate(shares)]
    found = sure_lesson(heard, named)
    assert (None if found is None else found.version) == version
