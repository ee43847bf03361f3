"""The language of shapes: what each sign looks like, with no colour asked."""

from __future__ import annotations

import itertools

import pytest

from reedpath.harp import Breath
from reedpath.page import Curve, Label, bounds_of, flattened, load_measures, ribbon_of
from reedpath.page.drawing.shapes import circle
from reedpath.page.drawing.strip import Strip, outline_of
from reedpath.page.ribbon.notes import EventShapes
from support import drawn_routes
from support.built_routes import built_route

M = load_measures()


def strip(breath: Breath, **fields: float) -> Strip:
    levels = {"start": 0.0, "hold": 0.0, "end": 0.0, **fields}
    return Strip(0.0, 3.0, 0.0, breath, **levels, height=M.strip, measures=M)


def events_of(text: str) -> list[EventShapes]:
    return list(ribbon_of(built_route(text), layout="strip").systems[0].events)


def roles(piece: EventShapes) -> list[str]:
    return [shape.role for shape in piece.shapes]


def middle_ends(breath: Breath) -> tuple[float, float, float, float]:
    """x of the ends at mid height, and at the upper edge."""
    points = flattened(outline_of(strip(breath), breath.value), steps=40)
    middle = [x for x, y in points if abs(y) < 0.02]
    edge = [x for x, y in points if abs(y + M.strip / 2) < 0.004]
    return min(middle), max(middle), min(edge), max(edge)


def test_blown_ends_bulge_and_drawn_ends_are_sucked_in() -> None:
    left, right, edge_left, edge_right = middle_ends(Breath.BLOW)
    assert left < edge_left - 0.15
    assert right > edge_right + 0.15
    left, right, edge_left, edge_right = middle_ends(Breath.DRAW)
    assert left > edge_left + 0.15
    assert right < edge_right - 0.15


def test_an_outline_stays_inside_its_strip() -> None:
    for breath in Breath:
        box = bounds_of([outline_of(strip(breath), breath.value)])
        assert (box.left, box.right) == pytest.approx((0.0, 3.0), abs=0.002)
        assert (box.top, box.bottom) == pytest.approx((-M.strip / 2, M.strip / 2), abs=0.002)


def test_a_bend_sags_by_its_depth_and_carries_a_weight_for_each_semitone() -> None:
    natural, *bends = events_of("3d:2 3d':2 3d'':2 3d''':2")
    cord = natural.strips[0].cord
    for depth, piece in enumerate(bends, start=1):
        outline = next(shape for shape in piece.shapes if isinstance(shape, Curve) and shape.role == "draw")
        box = bounds_of([outline])
        assert (box.top + box.bottom) / 2 - cord == pytest.approx(depth * M.step)
        assert roles(piece).count("weight") == depth
        assert all(bounds_of([s]).top > cord for s in piece.shapes if s.role == "weight" and isinstance(s, Curve))
    assert "weight" not in roles(natural)


def test_a_shallow_bend_has_a_hollow_weight() -> None:
    route = drawn_routes.with_choice(built_route("5d:2"), 0, move=drawn_routes.dip(5))
    piece = ribbon_of(route, layout="strip").systems[0].events[0]
    assert roles(piece).count("half_weight") == 1
    assert roles(piece).count("weight") == 0


@pytest.mark.parametrize("text", ["6bo:2", "7do:2", "1bo:2"])
def test_an_overbend_rides_above_its_cord_under_a_wedge(text: str) -> None:
    (piece,) = events_of(text)
    body = next(s for s in piece.shapes if isinstance(s, Curve) and s.role in ("blow", "draw"))
    box = bounds_of([body])
    assert box.bottom < piece.strips[0].cord
    wedge = next(s for s in piece.shapes if isinstance(s, Curve) and s.role == "wedge")
    assert bounds_of([wedge]).top < box.top
    assert roles(piece).count("rope") == 2


def test_an_attack_bent_and_let_go_rises_out_of_the_sag() -> None:
    (piece,) = events_of("2d:2^2")
    one = piece.strips[0]
    assert one.y_at(one.start) == pytest.approx(one.cord + 2 * M.step)
    assert one.y_at(one.hold) == one.y_at(one.end) == one.cord
    points = flattened(next(s for s in piece.shapes if isinstance(s, Curve) and s.role == "draw"))
    left = [y for x, y in points if x < one.left + 0.1 * one.width]
    right = [y for x, y in points if x > one.right - 0.1 * one.width]
    assert min(left) > min(right) + M.step
    assert roles(piece).count("weight") == 2


def test_a_release_is_pressed_down_before_the_end() -> None:
    (piece,) = events_of("3d:2_2")
    one = piece.strips[0]
    assert one.y_at(one.end) == pytest.approx(one.cord + 2 * M.step)
    weights = [bounds_of([s]) for s in piece.shapes if isinstance(s, Curve) and s.role == "weight"]
    assert len(weights) == 2
    assert all(box.left > (one.left + one.right) / 2 for box in weights)


def test_vibrato_ripples_and_a_plain_note_does_not() -> None:
    plain, shaken = events_of("4d:2 4d:2~")

    def turns(piece: EventShapes) -> int:
        points = flattened(next(s for s in piece.shapes if isinstance(s, Curve) and s.role == "draw"))
        heights = [y for _, y in points]
        moves = [b - a for a, b in itertools.pairwise(heights) if abs(b - a) > 1e-6]
        return sum(1 for a, b in itertools.pairwise(moves) if a * b < 0)

    assert turns(plain) <= 2
    assert turns(shaken) > 8


def test_chord_and_split_are_told_apart() -> None:
    chord, split = events_of("(4 5 6)d:2 [1 4]b:2")
    assert roles(chord).count("draw") == 3
    assert roles(chord).count("bond_draw") == 2
    assert "tongue" not in roles(chord)
    assert roles(split).count("blow") == 2
    assert "tongue" in roles(split)
    assert roles(split).count("hatch") > 3
    tongue = bounds_of([s for s in split.shapes if isinstance(s, Curve) and s.role == "tongue"])
    outer = sorted(one.cord for one in split.strips)
    assert outer[0] < tongue.top < tongue.bottom < outer[1]


def test_a_chord_with_a_gap_has_a_tongue_over_the_gap_alone() -> None:
    route = built_route("(1 2 4)d:2")
    (piece,) = ribbon_of(route, layout="strip").systems[0].events
    assert roles(piece).count("tongue") == 1
    assert roles(piece).count("bond_draw") == 1


def test_grace_notes_are_slim_and_an_accent_has_a_post() -> None:
    grace, main = events_of("3d:1/8g 4d:2!")
    assert grace.strips[0].height == M.slim
    assert "accent" in roles(main)
    assert "accent" not in roles(grace)


def test_what_is_not_as_given_has_a_lozenge_and_what_is_not_played_a_slot_in_its_lane() -> None:
    route = drawn_routes.with_choice(built_route("4d:1 5d:1"), 0, changes=(drawn_routes.OTHER_OCTAVE,))
    route = drawn_routes.with_silence(route, 1)
    system = ribbon_of(route, layout="strip").systems[0]
    changed, silent = system.events
    assert "changed" in roles(changed)
    assert "silent" in roles(silent)
    assert silent.breath is None
    assert bounds_of([s for s in silent.shapes if isinstance(s, Curve)]).bottom < system.frame.top


def test_a_breath_is_a_comma_before_its_note() -> None:
    route = drawn_routes.with_breaths(built_route("4d:1 5d:1"), 1)
    system = ribbon_of(route, layout="strip").systems[0]
    (comma,) = [s for s in system.over if s.role == "breath"]
    assert isinstance(comma, Curve)
    box = bounds_of([comma])
    assert (box.left + box.right) / 2 < system.frame.x_of(1)
    assert box.bottom < min(piece.strips[0].cord for piece in system.events)


def test_hole_1_lies_lowest_and_time_runs_evenly_to_the_right() -> None:
    frame = ribbon_of(built_route("1d:1 10d:1"), layout="strip").systems[0].frame
    ys = [frame.y_of(hole) for hole in range(1, 11)]
    assert ys == sorted(ys, reverse=True)
    assert frame.x_of(2) - frame.x_of(1) == pytest.approx(frame.x_of(1) - frame.x_of(0)) == frame.rows_per_beat
    assert frame.beats_at(frame.x_of(1.25)) == pytest.approx(1.25)
    assert frame.y_of(4, -1) - frame.y_of(4) == pytest.approx(M.step)


def test_leaps_are_joined_by_a_path_and_rests_by_a_broken_one() -> None:
    system = ribbon_of(built_route("2d:1 6d:1 r:1 2d:1 2d:1"), layout="strip").systems[0]
    assert [shape.role for shape in system.links] == ["path", "far_path"]


def test_the_tab_stands_in_every_strip_in_the_notation_asked_for() -> None:
    for notation, texts in (("sign", ["-3''", "+4"]), ("letters-fr", ["3A''", "4S"])):
        system = ribbon_of(built_route("3d'':2 4b:2"), layout="strip", notation=notation).systems[0]
        shown = [s.text for piece in system.events for s in piece.shapes if isinstance(s, Label)]
        assert shown == texts


def test_a_flattened_circle_is_round() -> None:
    # four cubics come within 0.03 % of a circle (Riskus, "Approximation of a cubic Bezier curve by circular
    # arcs and vice versa", Inf. Technol. Control 35(4), 2006)
    for x, y in flattened(circle("weight", 2.0, 3.0, 1.0), steps=16):
        assert ((x - 2) ** 2 + (y - 3) ** 2) ** 0.5 == pytest.approx(1.0, abs=0.0004)
