"""What a long lesson's papers cost: each grows with the length of the phrase, and no faster."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from reedpath.lesson import Lesson, format_steps, make_lesson
from reedpath.page import (
    encode_lesson_page,
    encode_musicxml,
    format_ribbon_svg,
    format_tab,
    parts_in_beats,
)
from support.built_routes import built_route
from support.work import grows_evenly

pytestmark = pytest.mark.slow

# a line up and down, in eighths
MOVES = ("4b", "4d", "5b", "5d", "6b", "6d", "5d", "5b", "4d", "3d'", "4d", "6b", "6d", "7b", "6b", "5d")


def _lesson(bars: int) -> Lesson:
    # a figure changed a little from line to line, so that hardly anything is found to be played again
    moves = [MOVES[(index + index // 16 * (index % 5)) % len(MOVES)] for index in range(8 * bars)]
    return make_lesson(built_route(" ".join(moves)), languages=("en", "fr"))


@pytest.mark.parametrize(
    "made",
    [
        format_tab,
        format_steps,
        encode_musicxml,
        lambda lesson: format_ribbon_svg(lesson.route, parts=parts_in_beats(lesson)),
        lambda lesson: encode_lesson_page(lesson, sounds=()),
    ],
    ids=["tab", "steps", "score", "ribbon", "page"],
)
def test_four_times_the_bars_make_no_more_than_six_times_the_work(made: Callable[[Lesson], object]) -> None:
    lessons = {bars: _lesson(bars) for bars in (6, 24, 96)}
    assert grows_evenly(lambda bars: made(lessons[bars]), 24)
