"""The drawing's shapes, marks and strips, each by the places of its points, worked out by hand."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from msgspec.structs import replace as with_fields

from reedpath.harp import Breath
from reedpath.page.badges import (
    BADGE_AIR,
    COLUMN,
    DARK_SECONDS,
    ENDS,
    HALO,
    LIT_WIDTH,
    badge_shapes,
    badge_width,
    dark_times,
    harp_row,
    lit_hole,
)
from reedpath.page.drawing.drawing_data import (
    CAPITAL_HEIGHT,
    baseline_of,
    box_of,
    load_layout,
    load_measures,
    text_width,
)
from reedpath.page.drawing.marks import (
    HATCH_APART,
    accent_post,
    breath_comma,
    changed_lozenge,
    covering_tongue,
    lifting_wedge,
    silent_slot,
    weights_below,
)
from reedpath.page.drawing.shapes import (
    Box,
    Curve,
    Label,
    bounds_of,
    circle,
    flattened,
    line,
    moved,
    polygon,
    rounded_box,
)
from reedpath.page.drawing.strip import Strip, flat_before, level_of, outline_of
from reedpath.page.drawing.svg import number
from reedpath.page.ribbon.grid import SpotSpan, SystemFrame, bars_of, parts_of, spots_of
from reedpath.page.ribbon.line_breaks import break_bars
from reedpath.page.spans import SpanIndex
from reedpath.phrase import Part
from support.built_routes import built_route

M = load_measures()
BOX = Box(0.0, 0.0, 4.0, 2.0)


def sides(shape) -> tuple[float, float, float, float]:
    box = bounds_of([shape])
    return pytest.approx((box.left, box.top, box.right, box.bottom))


# ---------------------------------------------------------------------------------------------------------- shapes


@pytest.mark.parametrize(
    ("other", "meets"),
    [
        (Box(4.0, 0.0, 5.0, 2.0), False),
        (Box(3.9, 0.0, 5.0, 2.0), True),
        (Box(-1.0, 0.0, 0.0, 2.0), False),
        (Box(-1.0, 0.0, 0.1, 2.0), True),
        (Box(0.0, 2.0, 4.0, 3.0), False),
        (Box(0.0, 1.9, 4.0, 3.0), True),
        (Box(0.0, -1.0, 4.0, 0.0), False),
        (Box(0.0, -1.0, 4.0, 0.1), True),
        (Box(1.0, 0.5, 2.0, 1.0), True),
    ],
)
def test_boxes_overlap_where_their_insides_meet(other: Box, meets: bool) -> None:
    assert BOX.overlaps(other) is meets
    assert other.overlaps(BOX) is meets


@pytest.mark.parametrize(
    "other",
    [Box(-0.1, 0, 4, 2), Box(0, -0.1, 4, 2), Box(0, 0, 4.1, 2), Box(0, 0, 4, 2.1)],
)
def test_a_box_holds_what_reaches_beyond_no_side(other: Box) -> None:
    assert BOX.holds(BOX)
    assert not BOX.holds(other)
    assert not BOX.holds(other, slack=0.09)
    assert BOX.holds(other, slack=0.11)


def test_a_line_is_open_and_a_polygon_is_closed() -> None:
    assert line("bar", (0, 0), (1, 0), (1, 1)) == Curve("bar", (0, 0), (((1, 0),), ((1, 1),)))
    assert polygon("bar", (0, 0), (1, 0), (1, 1)) == Curve("bar", (0, 0), (((1, 0),), ((1, 1),)), closed=True)


def test_the_corners_of_a_box_are_rounded_but_for_those_at_its_square_sides() -> None:
    whole = rounded_box("comb", BOX, 0.5)
    assert whole.closed
    assert sides(whole) == (0.0, 0.0, 4.0, 2.0)
    assert [len(piece) for piece in whole.pieces] == [1, 3] * 4
    assert whole.start == (0.5, 0.0)
    assert [piece[-1] for piece in whole.pieces] == [
        (3.5, 0.0), (4.0, 0.5), (4.0, 1.5), (3.5, 2.0), (0.5, 2.0), (0.0, 1.5), (0.0, 0.5), (0.5, 0.0),
    ]  # fmt: skip
    half = rounded_box("comb", BOX, 0.5, square=["left"])
    assert [len(piece) for piece in half.pieces] == [1, 3, 1, 3, 1, 1]
    assert [piece[-1] for piece in rounded_box("comb", BOX).pieces] == [
        (4.0, 0.0),
        (4.0, 2.0),
        (0.0, 2.0),
        (0.0, 0.0),
    ]


def test_no_corner_is_rounder_than_half_its_box() -> None:
    assert rounded_box("comb", BOX, 9.0) == rounded_box("comb", BOX, 1.0)
    assert rounded_box("comb", Box(0, 0, 2, 4), 9.0) == rounded_box("comb", Box(0, 0, 2, 4), 1.0)


def test_a_circle_is_round() -> None:
    points = flattened(circle("weight", 3.0, 5.0, 2.0))
    assert [((x - 3) ** 2 + (y - 5) ** 2) ** 0.5 for x, y in points] == [pytest.approx(2.0, abs=0.001)] * len(points)
    assert len(points) == 1 + 4 * 9


def test_a_curve_is_flattened_to_as_many_straight_pieces_as_asked() -> None:
    curve = Curve("cord", (0.0, 0.0), (((0.0, 1.0), (1.0, 1.0), (1.0, 0.0)), ((2.0, 0.0),)))
    assert flattened(curve, 2) == [(0.0, 0.0), (0.5, 0.75), (1.0, 0.0), (2.0, 0.0)]
    assert len(flattened(curve)) == 10


def test_shapes_are_moved_whole() -> None:
    assert moved(Label("text", 1.0, 2.0, 0.5, "4"), 3.0, -1.0) == Label("text", 4.0, 1.0, 0.5, "4")
    curve = moved(line("bar", (0.0, 0.0), (1.0, 2.0)), 3.0, -1.0)
    assert (curve.start, curve.pieces) == ((3.0, -1.0), (((4.0, 1.0),),))


@pytest.mark.parametrize(("anchor", "left"), [("start", 3.0), ("middle", 2.0), ("end", 1.0)])
def test_the_box_of_a_label_lies_by_its_anchor(anchor: str, left: float) -> None:
    size = 2.0 / text_width("-4", 1.0)
    label = Label("text", 3.0, 5.0, size, "-4", anchor)
    box = box_of(label)
    assert (box.left, box.right) == pytest.approx((left, left + 2.0))
    assert (box.top, box.bottom) == pytest.approx((5 - size * CAPITAL_HEIGHT / 2, 5 + size * CAPITAL_HEIGHT / 2))
    assert baseline_of(label) == pytest.approx(box.bottom)


def test_a_letter_that_is_not_known_counts_as_wide() -> None:
    assert text_width("\u4e00", 0.5) == 0.5
    assert text_width("4\u4e00", 2.0) == pytest.approx(2.0 + 2 * text_width("4", 1.0))
    assert text_width("", 1.0) == 0.0


def test_a_layout_may_ask_for_larger_letters_and_never_for_smaller_ones() -> None:
    sheet = load_layout("sheet")
    same = load_measures(with_fields(sheet, least_text=0.0, letters=1.0))
    assert same == M
    least = with_fields(sheet, least_text=M.text, letters=1.0)
    larger = load_measures(least)
    assert larger.text == M.text
    assert larger.small_text == max(M.text, M.small_text)
    assert larger.strip == M.strip
    assert load_measures(with_fields(sheet, least_text=0.0, letters=1.2)).letters == 1.2


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (-0.004, "0"), (0.006, "0.01"), (-1.5, "-1.5"), (10.0, "10"), (100.04, "100.04"), (0.995, "0.99")],
)
def test_numbers_are_written_short(value: float, text: str) -> None:
    assert number(value) == text


# ----------------------------------------------------------------------------------------------------------- marks


@pytest.mark.parametrize(
    ("level", "roles"),
    [
        (-1.0, ["weight"]),
        (-2.0, ["weight"] * 2),
        (-0.5, ["half_weight"]),
        (-1.5, ["weight", "half_weight"]),
        (-1.75, ["weight"] * 2),
        (-1.74, ["weight", "half_weight"]),
        (-1.25, ["weight", "half_weight"]),
        (-1.2, ["weight"]),
        (0.0, []),
    ],
)
def test_a_weight_hangs_for_each_semitone_and_a_hollow_one_for_half(level: float, roles: list[str]) -> None:
    assert [one.role for one in weights_below(0.0, 0.0, level, 9.0, M)] == roles


def test_weights_hang_evenly_about_their_place_and_closer_where_it_is_narrow() -> None:
    def middles(level: float, width: float) -> list[tuple[float, float]]:
        boxes = [bounds_of([one]) for one in weights_below(5.0, 2.0, level, width, M)]
        return [((box.left + box.right) / 2, (box.top + box.bottom) / 2) for box in boxes]

    y = 2.0 + 1.1 * M.weight
    assert middles(-1.0, 9.0) == [pytest.approx((5.0, y))]
    assert middles(-2.0, 9.0) == [
        pytest.approx((5.0 - M.weight_apart / 2, y)),
        pytest.approx((5.0 + M.weight_apart / 2, y)),
    ]
    width = 2 * M.weight + 2 * (1.6 * M.weight)
    assert [x for x, _ in middles(-3.0, width)] == pytest.approx([5 - 1.6 * M.weight, 5.0, 5 + 1.6 * M.weight])
    assert [x for x, _ in middles(-3.0, 0.0)] == pytest.approx([5 - 1.5 * M.weight, 5.0, 5 + 1.5 * M.weight])


def test_signs_stand_where_they_are_put() -> None:
    assert sides(lifting_wedge(5.0, 2.0, M)) == (5 - 0.8 * M.wedge, 2 - M.wedge, 5 + 0.8 * M.wedge, 2.03)
    assert sides(accent_post(5.0, 1.0, 2.0)) == (4.93, 0.84, 5.07, 2.16)
    assert sides(changed_lozenge(5.0, 2.0)) == (4.83, 1.83, 5.17, 2.17)
    comma = bounds_of([breath_comma(5.0, 2.0)])
    assert (comma.top, comma.bottom) == (pytest.approx(1.44), pytest.approx(2.0, abs=0.01))
    assert comma.left < 5.0 < comma.right


def test_what_is_silent_is_crossed_from_corner_to_corner() -> None:
    slot, falling, rising = silent_slot(Box(1.0, 1.0, 5.0, 3.0))
    assert sides(slot) == (1.0, 1.0, 5.0, 3.0)
    arm = 2 * 0.28
    assert (falling.start, falling.pieces[0][0]) == (
        pytest.approx((3 - arm, 2 - arm)),
        pytest.approx((3 + arm, 2 + arm)),
    )
    assert (rising.start, rising.pieces[0][0]) == (
        pytest.approx((3 - arm, 2 + arm)),
        pytest.approx((3 + arm, 2 - arm)),
    )


@pytest.mark.parametrize(("right", "until"), [(9.0, 2.2), (1.5, 1.5)])
def test_a_tongue_covers_the_holes_between_and_is_no_longer_than_a_tongue(right: float, until: float) -> None:
    outline, *hatching = covering_tongue(1.0, right, 2.0, 3.0)
    assert bounds_of([outline]).right == pytest.approx(until, abs=0.03)
    tip = min(0.3, 0.4 * (until - 1.0))
    inside = Box(1.0, 2.0, until - 0.8 * tip, 3.0)
    assert all(inside.holds(bounds_of([one]), slack=1e-9) for one in hatching)
    # lines at an even distance, from the upper left corner to the lower right one
    width, height = inside.right - inside.left, 1.0
    assert len(hatching) == -(-round((width + height - HATCH_APART - 1e-9) * 1e6) // round(HATCH_APART * 1e6))
    for one in hatching:
        (x, y), (to_x, to_y) = one.start, one.pieces[0][0]
        assert to_x - x == pytest.approx(y - to_y)
        assert to_x > x


# ---------------------------------------------------------------------------------------------------------- strips


def strip(**changes) -> Strip:
    usual = {"left": 0.0, "right": 10.0, "cord": 5.0, "breath": Breath.BLOW, "start": 0.0, "hold": 0.0, "end": 0.0,
             "height": M.strip, "measures": M}  # fmt: skip
    return Strip(**{**usual, **changes})


def test_a_blown_strip_bulges_and_a_drawn_one_is_hollow() -> None:
    blown, drawn = (outline_of(strip(breath=breath), "x") for breath in (Breath.BLOW, Breath.DRAW))
    assert sides(blown) == (0.0, 5 - M.strip / 2, 10.0, 5 + M.strip / 2)
    assert sides(drawn) == (0.0, 5 - M.strip / 2, 10.0, 5 + M.strip / 2)
    ends = [max(x for x, y in flattened(one) if abs(y - 5.0) < 0.01) for one in (blown, drawn)]
    assert ends == pytest.approx([10.0, 10.0 - M.hollow], abs=0.01)
    assert blown.start[0] == pytest.approx(M.bulge)
    assert drawn.start[0] == 0.0


def test_the_ends_of_a_narrow_strip_take_only_a_share_of_it() -> None:
    assert strip(right=0.5).cap == pytest.approx(0.22 * 0.5)
    assert strip(right=0.5, breath=Breath.DRAW).cap == pytest.approx(0.13 * 0.5)
    assert strip(height=M.strip / 2).cap == pytest.approx(M.bulge / 2)


def test_a_note_that_goes_on_in_another_system_is_cut_straight() -> None:
    both = outline_of(strip(open_left=True, open_right=True), "x")
    assert all(len(piece) == 1 for piece in both.pieces)
    left = outline_of(strip(open_left=True), "x")
    assert left.start[0] == 0.0
    assert [len(piece) for piece in left.pieces].count(3) == 1


def test_a_halo_stands_off_on_all_sides() -> None:
    assert sides(outline_of(strip(), "halo", grow=0.2)) == (-0.2, 4.8 - M.strip / 2, 10.2, 5.2 + M.strip / 2)


def test_a_strip_sags_by_its_level() -> None:
    low = strip(start=-2.0, hold=-2.0, end=-2.0)
    assert low.y_at(-2.0) == 5.0 + 2 * M.step
    assert sides(outline_of(low, "x")) == (0.0, 5 + 2 * M.step - M.strip / 2, 10.0, 5 + 2 * M.step + M.strip / 2)


def test_a_glide_takes_its_share_and_less_where_there_are_two() -> None:
    width = 0.5 * M.attack_rows / M.attack_share
    plain, attacked = strip(right=width), strip(right=width, start=-1.0)
    assert (plain.attack_width, plain.fall_width, plain.still) == (0.0, 0.0, (0.0, width))
    assert attacked.attack_width == pytest.approx(0.5 * M.attack_rows)
    assert attacked.still == pytest.approx((0.5 * M.attack_rows, width))
    fallen = strip(right=width, end=-1.0)
    assert fallen.still == pytest.approx((0.0, width - 0.5 * M.attack_rows))
    both = strip(right=width, start=-1.0, end=-1.0)
    assert (both.attack_width, both.fall_width) == pytest.approx((0.4 * M.attack_rows, 0.4 * M.attack_rows))
    assert strip(right=100.0, start=-1.0).attack_width == M.attack_rows


def test_a_course_begins_and_ends_where_its_levels_are() -> None:
    outline = outline_of(strip(breath=Breath.DRAW, start=-1.0, end=-2.0), "x")
    assert outline.start == pytest.approx((0.0, 5 + M.step - M.strip / 2))
    ends = [y for piece in outline.pieces for x, y in piece[-1:] if abs(x - 10.0) < 1e-9]
    assert min(ends) == pytest.approx(5 + 2 * M.step - M.strip / 2)
    assert max(ends) == pytest.approx(5 + 2 * M.step + M.strip / 2)


def test_a_ripple_leaves_room_for_the_tab_before_it() -> None:
    assert flat_before(100.0) == 1.5
    assert flat_before(1.0) == pytest.approx(0.42)
    box = bounds_of([outline_of(strip(vibrato=True), "x")])
    half = M.strip / 2 + M.ripple
    assert (box.top, box.bottom) == (pytest.approx(5 - half, abs=0.02), pytest.approx(5 + half, abs=0.02))


def test_levels_are_semitones_of_sag() -> None:
    moves = [one.choice.move for one in built_route("3d'' 4b 6bo 10b'").events]
    assert [level_of(move, M) for move in moves] == pytest.approx([-2.0, 0.0, M.lift / M.step, -1.0])


# ---------------------------------------------------------------------------------------------------------- badges


def test_holes_stand_a_column_apart() -> None:
    row = harp_row(10)
    assert row.width == pytest.approx(10 * COLUMN + 2 * ENDS)
    middles = [one.number.x for one in row.holes]
    assert middles[0] == pytest.approx(ENDS + COLUMN / 2)
    assert middles[-1] == pytest.approx(row.width - ENDS - COLUMN / 2)
    assert [one.hole for one in row.holes] == list(range(1, 11))


def test_a_lit_hole_stands_about_its_place() -> None:
    move = built_route("4d").events[0].choice.move
    halo = next(iter(lit_hole(move, 4, 3.0, 2.0)))
    box = bounds_of([halo])
    assert ((box.left + box.right) / 2, (box.top + box.bottom) / 2) == pytest.approx((3.0, 2.0))
    assert box.right - box.left == pytest.approx(LIT_WIDTH + 2 * HALO)


def test_a_badge_is_as_wide_as_its_tab_and_longer_where_it_ripples() -> None:
    text = "-4'+5'-6'"
    assert badge_width(text) == pytest.approx(text_width(text, M.text) + 2 * BADGE_AIR)
    assert badge_width(text, vibrato=True) == pytest.approx(badge_width(text) + 0.8)
    choice = built_route("4d").events[0].choice
    for vibrato, x in ((False, 5.0), (True, 4.6)):
        shapes = badge_shapes(choice, "-4", 5.0, 2.0, vibrato=vibrato)
        assert [shape.x for shape in shapes if isinstance(shape, Label)] == [pytest.approx(x)]
        box = bounds_of([shapes[0]])
        assert (box.left, box.right) == pytest.approx(
            (5 - badge_width("-4", vibrato=vibrato) / 2, 5 + badge_width("-4", vibrato=vibrato) / 2)
        )


def test_a_glide_of_a_badge_sags_by_a_semitone_at_most() -> None:
    (one,) = built_route("4d:1^1").events
    (two,) = built_route("4d:1^3").events
    assert badge_shapes(two.choice, "-4", 0.0, 0.0)[0] == badge_shapes(one.choice, "-4", 0.0, 0.0)[0]


MOVES = [one.choice.move for one in built_route("4d 4d 5d 4d").events]


def test_a_hole_goes_dark_before_it_sounds_the_same_again() -> None:
    starts, ends = [0.0, 1.0, 2.0, 3.0], [1.0, 2.0, 3.0, 4.0]
    assert dark_times(MOVES, starts, ends) == pytest.approx([1.0 - DARK_SECONDS, 2.0, 3.0, 4.0])


def test_a_short_note_is_lit_for_the_most_of_its_length() -> None:
    assert dark_times(MOVES[:2], [0.0, 0.1], [0.1, 0.2]) == pytest.approx([0.06, 0.2])


def test_a_hole_goes_dark_when_its_note_ends_or_the_next_begins() -> None:
    assert dark_times(MOVES[:2], [0.0, 2.0], [1.0, 3.0]) == [1.0, 3.0]
    assert dark_times(MOVES[1:3], [0.0, 0.8], [1.0, 2.0]) == [0.8, 2.0]
    assert dark_times(MOVES[1:3], [1.0, 0.8], [2.0, 2.0]) == [1.0, 2.0]
    # a silent event between does not count
    assert dark_times([MOVES[0], None, MOVES[1]], [0.0, 1.0, 1.0], [1.0, 1.0, 2.0]) == pytest.approx(
        [1.0 - DARK_SECONDS, 1.0, 2.0]
    )
    assert dark_times([], [], []) == []


# ----------------------------------------------------------------------------------------------- beats and systems


FRAME = SystemFrame(onset=F(4), end=F(8), left=2.0, rows_per_beat=1.5, lowest=2, highest=5, top=3.0, step=0.25)


def test_a_frame_tells_where_beats_and_holes_lie() -> None:
    assert (FRAME.x_of(F(4)), FRAME.x_of(F(6)), FRAME.right) == (2.0, 5.0, 8.0)
    assert (FRAME.y_of(5), FRAME.y_of(2), FRAME.bottom) == (3.0, 6.0, 6.0)
    assert FRAME.y_of(5, -2.0) == 3.5
    assert FRAME.beats_at(5.0) == 6.0


def test_a_beat_is_found_along_a_course_that_is_not_even() -> None:
    bent = SystemFrame(F(4), F(8), 2.0, 1.5, 2, 5, 3.0, 0.25, course=lambda beats: (beats - 4.0) ** 2)
    assert bent.x_of(F(6)) == 6.0
    assert bent.right == 18.0
    assert bent.beats_at(6.0) == pytest.approx(6.0, abs=1e-6)
    assert bent.beats_at(11.0) == pytest.approx(7.0, abs=1e-6)


def test_a_part_is_named_where_it_begins() -> None:
    shapes = parts_of(FRAME, [Part("A", F(2), F(5)), Part("B", F(5), F(8)), Part("C", F(8), F(9))], M)
    before, own, label = shapes
    assert (before.start[0], before.pieces[-1][0][0], len(before.pieces)) == pytest.approx((2.04, 3.38, 1))
    assert (own.start[0], own.pieces[-1][0][0], len(own.pieces)) == pytest.approx((3.54, 7.88, 2))
    assert (label.text, label.x) == ("B", pytest.approx(3.54))


def test_the_bracket_of_a_spot_is_open_where_it_goes_on() -> None:
    def bracket(onset: int, end: int):
        shades, shapes = spots_of(FRAME, [SpotSpan(7, F(onset), F(end))], M, depth=1.0)
        return shades, shapes

    shades, (own, disc, label) = bracket(5, 6)
    assert sides(shades[0]) == (3.5, 2.5, 5.0, 6.5)
    assert (len(own.pieces), label.text, label.x) == (3, "7", pytest.approx(4.25))
    assert sides(disc) == (3.95, label.y - 0.3, 4.55, label.y + 0.3)
    assert len(bracket(2, 6)[1][0].pieces) == 2
    assert len(bracket(5, 9)[1][0].pieces) == 2
    assert len(bracket(2, 9)[1][0].pieces) == 1
    assert len(bracket(4, 8)[1][0].pieces) == 3
    assert bracket(2, 4) == ([], [])
    assert bracket(8, 9) == ([], [])


def test_spans_are_found_by_where_they_lie() -> None:
    spans = SpanIndex([(F(0), F(4)), (F(1), F(2)), (F(2), F(3)), (F(4), F(5))])
    assert spans.starting(F(1), F(2)) == range(1, 2)
    assert spans.starting(F(0), F(5)) == range(4)
    assert spans.near(F(3), F(4)) == range(3)
    assert spans.near(F(4), F(9)) == range(3, 4)
    assert spans.near(F(5), F(9)) == range(4, 4)
    assert SpanIndex([]).near(F(0), F(1)) == range(0)


def bars(count: int):
    return bars_of(built_route(f"4d:{4 * count}").phrase)


def broken(count: int, width: float, need: float = 1.0) -> list[tuple[int, int, float]]:
    found = break_bars(bars(count), width=width, need=lambda onset, end: need)
    return [(int(one.onset), int(one.end), one.rows_per_beat) for one in found]


def test_bars_fill_their_systems() -> None:
    assert broken(1, float("inf"), 2.5) == [(0, 4, 2.5)]
    assert broken(4, 8.0) == [(0, 8, 1.0), (8, 16, 1.0)]
    assert broken(3, 9.0) == [(0, 8, 1.125), (8, 12, 1.15)]


def test_a_short_last_system_is_not_spread_out() -> None:
    # alone: up to one and a half times its natural width
    assert broken(1, 6.0) == [(0, 4, 1.5)]
    assert broken(1, 6.4) == [(0, 4, 1.15)]
    # after another: as that one is
    assert broken(3, 11.0) == [(0, 8, 1.375), (8, 12, 1.375)]


def test_the_widest_bar_of_a_system_sets_its_beats() -> None:
    found = break_bars(bars(3), width=8.0, need=lambda onset, end: 2.0 if onset == 4 else 1.0)
    assert [(int(one.onset), int(one.end)) for one in found] == [(0, 4), (4, 8), (8, 12)]
