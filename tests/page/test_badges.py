from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.arrange import Choice
from reedpath.harp import Breath, Move, make_harp, reach_of
from reedpath.page.badges import badge_shapes, badge_width, harp_row, lit_holes
from reedpath.page.drawing.drawing_data import text_width
from reedpath.page.drawing.shapes import Curve, Label, bounds_of
from reedpath.page.web.symbols import ABOVE, BELOW, signs_of_route
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.examples import examples

REACH = reach_of(make_harp("C").tuning)
MOVES = (*REACH.single, *REACH.multiple)


def roles(shapes) -> list[str]:
    return [shape.role for shape in shapes]


def choice(text: str) -> Choice:
    return built_route(text).events[0].choice


@pytest.mark.parametrize(
    ("text", "outline", "weights", "wedges"),
    [
        ("4b", "blow", 0, 0),
        ("4d", "draw", 0, 0),
        ("3d''", "draw", 2, 0),
        ("6bo", "blow", 0, 1),
        ("10b'", "blow", 1, 0),
    ],
)
def test_a_badge_tells_the_move_by_its_shape_alone(text, outline, weights, wedges):
    found = roles(badge_shapes(choice(text), "x", 1.0, 1.0))
    assert found.count(outline) == 1
    assert (found.count("weight"), found.count("wedge")) == (weights, wedges)


def test_a_badge_goes_the_way_the_note_goes():
    plain, scooped = (badge_shapes(choice(text), "4", 0.0, 0.0)[0] for text in ("4d", "4d:1^1"))
    assert isinstance(plain, Curve)
    assert isinstance(scooped, Curve)
    assert bounds_of([scooped]).bottom > bounds_of([plain]).bottom + 0.1


@pytest.mark.parametrize(
    "text", ["4d", "4d:1^1", "2d:1^2", "2d:1_2", "3d'''", "3d''':1^1", "6bo", "10b''", "[1 4]b:1", "4b"]
)
def test_a_sign_of_the_page_holds_the_whole_badge(text):
    box = bounds_of(shape for shape in badge_shapes(choice(text), "x", 0.0, 0.0) if isinstance(shape, Curve))
    assert box.top > -ABOVE
    assert box.bottom < BELOW


def test_a_note_with_vibrato_ripples_beside_its_tab_and_is_a_sign_of_its_own():
    route = built_route("4d:1~ 4d:1 4d:1~")
    plain, shaken = (
        badge_shapes(route.events[0].choice, "-4", 0.0, 0.0, vibrato=vibrato) for vibrato in (False, True)
    )
    assert isinstance(plain[0], Curve)
    assert isinstance(shaken[0], Curve)
    assert len(shaken[0].pieces) > len(plain[0].pieces)
    assert badge_width("-4", vibrato=True) > badge_width("-4")
    signs = signs_of_route(route, notation="sign")
    assert signs.of_events == (0, 1, 0)
    assert [load_catalogue("en").say("ribbon.vibrato") in one for one in signs.words(load_catalogue("en"))] == [
        True,
        False,
    ]


def test_what_is_not_played_is_a_slot_with_a_cross():
    assert roles(badge_shapes(Choice(None), "", 0.0, 0.0)) == ["silent", "silent_cross", "silent_cross"]


@given(st.text(alphabet="-+'0123456789↑↓() aspé", max_size=14))
def test_a_tab_fits_its_badge(text):
    assert text_width(text, 0.52) <= badge_width(text) - 0.5 or badge_width(text) == 1.15


@given(st.sampled_from(MOVES))
@examples(60)
def test_lit_holes_stand_over_the_dark_ones(move):
    row = harp_row(10)
    lit = list(lit_holes(move))
    labels = [shape for shape in lit if isinstance(shape, Label)]
    assert [label.text for label in labels] == [str(hole) for hole in move.holes]
    for label, hole in zip(labels, move.holes, strict=True):
        dark = row.holes[hole - 1].number
        assert (label.x, label.y) == (pytest.approx(dark.x), pytest.approx(dark.y))
    assert roles(lit).count("halo") == len(move.holes)


@pytest.mark.parametrize("holes", [10, 12, 14])
def test_a_harp_has_all_its_holes_low_ones_left(holes):
    row = harp_row(holes)
    assert [one.number.text for one in row.holes] == [str(number) for number in range(1, holes + 1)]
    middles = [one.number.x for one in row.holes]
    assert middles == sorted(middles)
    body = bounds_of([row.body])
    assert all(body.holds(bounds_of([one.box])) for one in row.holes)
    assert body.right <= row.width
    assert body.bottom <= row.height


def test_neighbouring_lit_holes_do_not_cover_one_another():
    first, second = (
        bounds_of([shape for shape in lit_holes(Move((hole,), Breath.DRAW)) if shape.role == "draw"])
        for hole in (4, 5)
    )
    assert first.right <= second.left
