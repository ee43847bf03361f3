"""Headings in the picture: the title over the tempo on a narrow screen, beside it on a wide one, and none at all."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.film import film_text, lay_out_film
from reedpath.film.screens import load_screen
from reedpath.film.zones import HeadText, Look, head_picture
from reedpath.lesson import make_lesson
from reedpath.page import load_palette
from reedpath.wording import load_catalogue
from support.built_routes import built_route

SHORT, LONG = "Mjg", "The turnaround into the second verse, once more and then again from the sign on"


def inked(screen: str, about: str, tempo: str, turn: str = "") -> np.ndarray:
    """Where something is written."""
    look = Look(load_screen(screen), load_palette("ink"))
    return np.asarray(head_picture(HeadText(about, tempo, turn), look).convert("L")) < 200


def span(inked: np.ndarray) -> tuple[int, int]:
    found = np.flatnonzero(inked)
    return int(found[0]), int(found[-1])


@pytest.mark.parametrize("about", [SHORT, LONG])
def test_a_title_stands_over_the_tempo_where_it_is_narrow(about: str) -> None:
    top, bottom = span(inked("upright", "", "slow jg").any(axis=1))
    rows = inked("upright", about, "slow jg").any(axis=1)
    assert span(rows[top:]) == (0, bottom - top)
    # nothing of the title hangs into the tempo, or close to it
    assert not rows[top - 1]
    assert rows[: top - 1].any()


@pytest.mark.parametrize("about", [SHORT, LONG])
def test_a_title_stands_beside_the_tempo_where_it_is_wide(about: str) -> None:
    left, right = span(inked("landscape", "", "slow jg", "round 1 of 2").any(axis=0))
    columns = inked("landscape", about, "slow jg", "round 1 of 2").any(axis=0)
    assert span(columns[left:]) == (0, right - left)
    assert columns[0:100].any()
    assert not columns[left - 10 : left].any()


@pytest.mark.parametrize("screen", ["landscape", "upright"])
def test_a_lesson_without_a_title_has_none_in_the_picture(screen: str) -> None:
    assert not inked(screen, "", "").any()
    words = load_catalogue("en")
    lesson = replace(make_lesson(built_route("2d:1 3d:1 4b:1 4d:1", key="C", bpm=120.0)), title="")
    assert film_text(lesson, lay_out_film(lesson), words).splitlines()[0] == "C harp"
