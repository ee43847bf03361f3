"""What is published beside a film: the text with its chapters, and the title picture."""

from __future__ import annotations

import re
from io import BytesIO
from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image

from reedpath.film import encode_title_picture, film_text, listed_chapters
from reedpath.film.cut_plays import ToldPlay
from reedpath.film.layout import lay_out_film, lay_out_takes
from reedpath.film.publishing import CHAPTER_CHARACTERS, LEAST_CHAPTER_SECONDS, SIDE
from reedpath.lesson import Lesson, make_lesson
from reedpath.listen import PlayThrough
from reedpath.page import load_palette
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.pieces import porch
from support.play_throughs import play_through

WORDS = load_catalogue("en")
SHORT = make_lesson(built_route("2d:1 3d:1 4b:1 4d:1", key="C", bpm=120.0))
LONG = make_lesson(built_route(" ".join(["2d:4 3d:4 4b:4 4d:4 5d:4 6b:4"] * 4), key="C", bpm=60.0))
WORDY = replace(SHORT, title="A slow walk home in the rain with one shoe and no hat, " * 4)


def picture(lesson: Lesson, screen: str = "landscape", palette: str = "night") -> np.ndarray:
    image = Image.open(BytesIO(encode_title_picture(lesson, WORDS, screen=screen, palette=palette)))
    assert image.format == "PNG"
    return np.asarray(image.convert("RGB"), dtype=int)


def inked(pixels: np.ndarray, palette: str) -> np.ndarray:
    """Where a picture is not its ground."""
    ground = load_palette(palette).inks["ground"]
    colour = [int(ground[place : place + 2], 16) for place in (1, 3, 5)]
    return np.abs(pixels - colour).max(axis=2) > 12


@pytest.mark.parametrize("lesson", [SHORT, LONG, WORDY])
def test_listed_chapters_can_be_shown_anywhere(lesson: Lesson) -> None:
    timeline = lay_out_film(lesson)
    chapters = listed_chapters(lesson, timeline, WORDS)
    starts = [start for start, _ in chapters]
    assert starts[0] == 0.0
    for start, end in pairwise([*starts, timeline.seconds]):
        assert end - start >= LEAST_CHAPTER_SECONDS
    assert all(0 < len(title) <= CHAPTER_CHARACTERS for _, title in chapters)


def test_a_film_too_short_for_two_chapters_has_one() -> None:
    timeline = lay_out_film(SHORT, rungs=SHORT.ladder[-1:], with_steps=False)
    assert timeline.seconds < LEAST_CHAPTER_SECONDS
    assert listed_chapters(SHORT, timeline, WORDS) == ((0.0, "full tempo · ♩ = 120"),)


def test_parts_are_chapters_where_they_are_long_enough() -> None:
    parts = len(LONG.parts)
    assert parts > 1
    titles = [title for _, title in listed_chapters(LONG, lay_out_film(LONG), WORDS)]
    assert sum("slow" in title for title in titles) >= parts
    titles = [title for _, title in listed_chapters(SHORT, lay_out_film(SHORT), WORDS)]
    assert titles == ["Step by step", "slow · ♩ = 88"]  # the faster ones are too short


def test_chapters_of_the_teachers_film_begin_with_what_is_said_and_name_their_parts() -> None:
    """Part A slow, then in time, too short for a chapter; part B; both joined, each too short for one."""
    lesson = porch()

    def played(first: int, last: int, start: float, factor: float) -> PlayThrough:
        step = 0.6 / factor
        events = [(first + n, start + n * step, start + (n + 1) * step) for n in range(last - first + 1)]
        return play_through(events, factor=factor)

    plays = [played(0, 7, 10.0, 0.76), played(0, 7, 21.0, 0.99), played(8, 14, 30.0, 1.0), played(0, 14, 44.0, 1.01)]
    told = [
        ToldPlay(one.start_seconds - 0.5, one.end_seconds + 0.5, said)
        for one, said in zip(plays, (0.0, 18.0, 27.0, 39.0), strict=True)
    ]
    timeline = lay_out_takes(lesson, plays, film_seconds=56.0, told=told)
    assert listed_chapters(lesson, timeline, WORDS) == (
        (0.0, "First part (A): slow · ♩ = 76"),
        (27.0, "Second part (B): full tempo · ♩ = 100"),
        (39.0, "Parts A and B: full tempo · ♩ = 100"),
    )


@pytest.mark.parametrize("language", ["en", "fr"])
def test_the_text_says_what_a_player_needs(language: str) -> None:
    words = load_catalogue(language)
    lesson = replace(LONG, title="Walking home")
    timeline = lay_out_film(lesson)
    lines = film_text(lesson, timeline, words).splitlines()
    assert lines[0] == "Walking home"
    assert any("(C)" in line or "C harp" in line for line in lines[1:7])
    times = [line for line in lines if re.match(r"\d+:\d\d ", line)]
    assert times[0].startswith("0:00 ")
    assert len(times) == len(listed_chapters(lesson, timeline, words))
    assert words.say("caution.dizzy") in lines


def test_an_hour_is_written_with_hours() -> None:
    timeline = lay_out_film(LONG)
    long = type(timeline)(timeline.scenes, 3700.0)
    assert "\n0:00:00 " in film_text(LONG, long, WORDS)


@pytest.mark.slow
@pytest.mark.parametrize("palette", ["night", "paper", "ink"])
@pytest.mark.parametrize(("screen", "size"), [("landscape", (720, 1280)), ("upright", (1280, 720))])
@pytest.mark.parametrize("lesson", [SHORT, WORDY])
def test_a_title_picture_keeps_to_its_sides(lesson: Lesson, screen: str, size: tuple[int, int], palette: str) -> None:
    pixels = picture(lesson, screen, palette)
    assert pixels.shape[:2] == size
    ink = inked(pixels, palette)
    side = int(SIDE * size[1]) - 4
    assert not ink[:, :side].any()
    assert not ink[:, -side:].any()
    assert ink[: size[0] // 2].any()
    assert ink[size[0] * 6 // 10 :].any()


@pytest.mark.slow
def test_a_lesson_without_a_title_shows_its_harp() -> None:
    nameless = replace(SHORT, title="")
    assert inked(picture(nameless), "night").any()
    assert film_text(nameless, lay_out_film(nameless), WORDS).splitlines()[0] == "C harp"
