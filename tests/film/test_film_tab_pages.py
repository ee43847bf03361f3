"""The tab in rows that upright films show while nothing is said."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.arrange import Choice
from reedpath.film import lay_out_film
from reedpath.film.frames import FramePainter
from reedpath.film.screens import load_screen
from reedpath.film.tab_pages import tab_page_at, tab_pages
from reedpath.film.timeline import SceneKind
from reedpath.film.zones import Badge, Look, tab_picture, tab_row_px, tab_width
from reedpath.harp import Breath, Move
from reedpath.lesson import make_lesson
from reedpath.page import load_palette
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.examples import examples

LESSON = make_lesson(built_route("4b 4d 5d 6b 5d 4d 4b:1 r:1 2d 3d' 4b 3d 2d 3d'' 2d 1d:1 r:1 6b 6bo 6b 5d", key="A"))
TIMELINE = lay_out_film(LESSON, rungs=LESSON.ladder[-1:])
SCREEN = load_screen("upright")


@examples(80)
@given(
    st.lists(st.integers(2, 9), max_size=40),
    st.sets(st.integers(0, 39), max_size=8),
    st.integers(9, 30),
    st.integers(1, 4),
)
def test_every_move_stands_once_in_order_in_rows_that_are_not_too_long(widths, begins, room, rows) -> None:
    begins = {one for one in begins if one < len(widths)}
    pages = tab_pages(widths, begins, room=room, rows=rows)
    lines = [line for page in pages for line in page]
    assert [place for first, stop in lines for place in range(first, stop)] == list(range(len(widths)))
    assert all(sum(widths[first:stop]) <= room for first, stop in lines)
    assert all(1 <= len(page) <= rows for page in pages)
    assert {first for first, _ in lines} >= begins
    for place in range(len(widths)):
        page = tab_page_at(pages, place)
        assert page[0][0] <= place < page[-1][1]


def test_each_part_begins_a_row_and_pages_are_full() -> None:
    assert tab_pages([1.0] * 9, [0, 3], room=4.0, rows=2) == (((0, 3), (3, 7)), ((7, 9),))
    assert tab_pages([1.0] * 6, [2], room=3.0, rows=3) == (((0, 2), (2, 5), (5, 6)),)
    assert tab_pages([], [0], room=3.0, rows=2) == ()
    assert tab_page_at((), 3) == ()
    assert tab_page_at((((0, 3),), ((3, 6),)), -1) == ((0, 3),)


def _zone(painter: FramePainter, moment: float) -> np.ndarray:
    zone = SCREEN.caption
    assert zone is not None
    return painter.draw(moment)[zone.top : zone.bottom, zone.left : zone.right].astype(int)


def _silent_moments() -> list[float]:
    """Moments within notes of the played scene at which nothing is said."""
    scene = TIMELINE.scenes[-1]
    middles = [(one.start_seconds + one.end_seconds) / 2 for one in scene.highlights]
    return [moment for moment in middles if scene.caption_at(moment) is None]


@pytest.mark.slow
def test_the_tab_stands_in_the_lower_part_while_nothing_is_said() -> None:
    painter = FramePainter(LESSON, TIMELINE, SCREEN, load_catalogue("en"))
    moments = _silent_moments()
    assert len(moments) > 4
    pictures = [_zone(painter, moment) for moment in moments]
    ground = pictures[0][0, -1]
    for picture in pictures:
        assert np.mean(np.abs(picture - ground) > 40) > 0.05
        for edge in (picture[0], picture[-1], picture[:, -1]):  # nothing is cut
            assert np.abs(edge - ground).max() < 10
    assert not any(np.array_equal(one, other) for one, other in pairwise(pictures))


def test_every_part_begins_a_row() -> None:
    painter = FramePainter(LESSON, TIMELINE, SCREEN, load_catalogue("en"))
    zone, scene = SCREEN.caption, TIMELINE.scenes[-1]
    assert zone is not None
    firsts = {scene.highlights[row[0]].event for page in painter._tab_pages_of(scene, zone) for row in page}
    assert len(LESSON.parts) > 1
    assert firsts >= {part.first for part in LESSON.parts}


def test_what_sounds_has_a_line_under_it_and_what_is_past_is_faint() -> None:
    look = Look(SCREEN, load_palette("ink"))
    zone = SCREEN.caption
    assert zone is not None
    badge = Badge(Choice(Move((4,), Breath.BLOW)), "+4", "")
    picture = np.asarray(tab_picture([[badge] * 3], 1, zone, look).convert("L")).astype(int)
    wide, row_px, tall = tab_width(badge) * tab_row_px(look), tab_row_px(look), zone.height // SCREEN.tab_rows
    past, sounding, coming = (
        picture[:tall, round(place * wide) : round((place + 1) * wide - 0.1 * row_px)] for place in range(3)
    )
    assert past.min() > 100
    assert sounding.min() < 30
    assert coming.min() < 30
    lined = [(part[tall // 2 :] < 30).mean(axis=1)[-int(0.3 * row_px) :].max() for part in (past, sounding, coming)]
    assert lined[0] == lined[2] == 0.0
    assert lined[1] > 0.9
    assert picture[tall:].min() > 240


def test_other_screens_and_steps_have_no_tab_there() -> None:
    steps = TIMELINE.scenes[0]
    assert steps.kind is SceneKind.STEPS
    moment = steps.end_seconds - 0.05
    assert steps.caption_at(moment) is None
    assert np.ptp(_zone(FramePainter(LESSON, TIMELINE, SCREEN, load_catalogue("en")), moment)) < 3
    shown = load_screen("landscape")
    assert shown.tab_rows == 0
    assert shown.caption is not None
    picture = FramePainter(LESSON, TIMELINE, shown, load_catalogue("en")).draw(_silent_moments()[0])
    assert np.ptp(picture[shown.caption.top : shown.caption.bottom, 40:1240].astype(int)) < 3


@pytest.mark.parametrize("screen", ["upright", "beside-upright", "beside-upright-tall"])
def test_upright_frames_are_used_down_to_their_lower_edge(screen: str) -> None:
    shown = load_screen(screen)
    painter = FramePainter(LESSON, TIMELINE, shown, load_catalogue("en"))
    frame = painter.draw(_silent_moments()[0])[: shown.height].astype(int)
    inked = np.flatnonzero(np.abs(frame - frame[0, 0]).max(axis=1) > 40)
    assert inked[-1] > 0.95 * shown.height
    start = 0 if shown.picture is None else shown.picture.bottom
    gaps = np.diff(inked[inked > start])
    assert gaps.max() < 0.07 * shown.height
