"""The strip that runs in time with a sound: a course from beats to rows."""

import pytest

from reedpath.page import ribbon_of
from support.built_routes import built_route

ROUTE = built_route("2d 3d' 4b:1 r:1/2 2d 3d:1")


def test_beats_lie_where_the_course_says() -> None:
    frame = ribbon_of(ROUTE, layout="strip", course=lambda beats: 3.0 * beats**1.5).systems[0].frame
    assert frame.x_of(0) == frame.left
    assert frame.x_of(2) == pytest.approx(frame.left + 3.0 * 2**1.5)
    assert frame.beats_at(frame.x_of(1.25)) == pytest.approx(1.25, abs=1e-6)


def test_strips_begin_and_end_on_the_course() -> None:
    system = ribbon_of(ROUTE, layout="strip", course=lambda beats: 5.0 * beats).systems[0]
    for piece, one in zip(system.events, ROUTE.events, strict=True):
        assert piece.strips[0].left == pytest.approx(system.frame.left + 5.0 * float(one.event.onset), abs=0.06)
        assert piece.strips[-1].right == pytest.approx(system.frame.left + 5.0 * float(one.event.end), abs=0.06)


def test_an_even_course_is_the_strip_itself() -> None:
    plain = ribbon_of(ROUTE, layout="strip")
    rows = plain.systems[0].frame.rows_per_beat
    bent = ribbon_of(ROUTE, layout="strip", course=lambda beats: beats * rows)
    assert [piece.shapes for piece in bent.systems[0].events] == [piece.shapes for piece in plain.systems[0].events]


def test_systems_have_no_course() -> None:
    with pytest.raises(ValueError, match="strip without end"):
        ribbon_of(ROUTE, layout="phone", course=lambda beats: beats)
