"""Screens: the shipped ones, fitted ones, and data that cannot be."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from reedpath.errors import Place, SettingsError
from reedpath.film import lay_out_film
from reedpath.film.frames import FramePainter
from reedpath.film.screens import Zone, load_screen, parse_screens, screen_names
from reedpath.lesson import make_lesson
from reedpath.wording import load_catalogue
from support.built_routes import built_route

GOOD: dict[str, Any] = {
    "size": [640, 360],
    "head": [0, 0, 640, 40],
    "ribbon": [0, 40, 640, 200],
    "now": [0, 200, 640, 300],
    "comb_at": 100,
    "row": 20,
    "ahead_seconds": 2.5,
    "head_text": 20,
    "now_row": 60,
    "words_text": 14,
    "next_moves": 2,
}


def _parsed(**changes: Any) -> object:
    table = {key: value for key, value in (GOOD | changes).items() if value is not None}
    rows = [f"{key} = {json.dumps(value)}" for key, value in table.items()]
    return parse_screens("\n".join(["[screens.try]", *rows]))


def test_the_good_one_is_good() -> None:
    assert _parsed(caption=[0, 300, 640, 360], caption_text=20, caption_lines=2)


@pytest.mark.parametrize(
    ("changes", "field", "why"),
    [
        ({"head": None}, "head", "this is missing"),
        ({"colour": "red"}, "colour", "no such field"),
        ({"caption": [0, 300, 640, 360]}, "caption_text", "this is missing"),
        ({"caption": [0, 300, 640, 360], "caption_text": 20}, "caption_lines", "this is missing"),
        ({"head": [0, 0, 641, 40]}, "head[2]", "641 is not a multiple of 2"),
        ({"head": [0, 0, 640]}, "head", "3 entries, where there are 4"),
        ({"head": [0, 0, 700, 40]}, "head", "inside the frame of 640 x 360"),
        ({"head": [0, 0, 640, 60]}, "head", "overlaps 'ribbon'"),
        ({"size": [641, 360]}, "size[0]", "641 is not a multiple of 2"),
        ({"row": 0}, "row", "0 is too low: over 0"),
        ({"next_moves": 1.5}, "next_moves", "1.5 is not a whole number"),
        ({"comb_at": 101}, "comb_at", "101 is not a multiple of 2"),
        ({"comb_at": 640}, "comb_at", "640 should lie inside the ribbon"),
        ({"plate": [0, 40, 640, 360]}, "head", "lie on the plate"),
    ],
)
def test_what_cannot_be_is_told(changes: dict[str, Any], field: str, why: str) -> None:
    with pytest.raises(SettingsError, match=why) as caught:
        _parsed(**changes)
    assert caught.value.where == Place(file="film.toml", field=f"screens.try.{field}")


def test_no_such_screen() -> None:
    with pytest.raises(SettingsError, match="there is no screen named 'round'"):
        load_screen("round")


def test_film_sizes() -> None:
    assert (load_screen("landscape").width, load_screen("landscape").height) == (1280, 720)
    assert (load_screen("upright").width, load_screen("upright").height) == (720, 1280)


@pytest.mark.parametrize("size", [(1920, 1080), (960, 720), (720, 720), (640, 360)])
@pytest.mark.parametrize("name", [name for name in screen_names() if name.startswith("over")])
def test_fitted_screens_keep_the_rules(name: str, size: tuple[int, int]) -> None:
    screen = load_screen(name).fitted(*size)
    zones = [screen.head, screen.ribbon, screen.now]
    assert screen.plate is not None
    assert screen.plate.bottom == size[1]
    for index, zone in enumerate(zones):
        assert not any(edge % 2 for edge in (zone.left, zone.top, zone.right, zone.bottom))
        assert screen.plate.holds(zone)
        assert not any(zone.meets(other) for other in zones[index + 1 :])
    assert screen.comb_at % 2 == 0


def test_zones() -> None:
    assert Zone(0, 0, 10, 10).meets(Zone(8, 8, 20, 20))
    assert not Zone(0, 0, 10, 10).meets(Zone(10, 0, 20, 10))


def test_a_caption_is_drawn_in_the_language_of_the_film() -> None:
    """Of a part that begins as another one, and is told in one sentence while the phrase is played."""
    text = "2d 3d' 4b 4d 4d 3d' 2d:1 2d 3d' 4b 4d 4d 3d' 4b:1 5d 4d 4b 3d' 2d:2"
    lesson = make_lesson(built_route(text, bpm=120.0), languages=("en", "fr"))
    timeline, screen = lay_out_film(lesson), load_screen("landscape")
    caption = next(one for scene in timeline.scenes for one in scene.captions if one.in_passing)
    rows = slice(screen.caption.top, screen.caption.bottom)
    english, french = (
        FramePainter(lesson, timeline, screen, load_catalogue(one)).draw(caption.start_seconds + 0.1)[rows].copy()
        for one in ("en", "fr")
    )
    assert np.count_nonzero(english > 150) > 500
    assert not np.array_equal(english, french)
