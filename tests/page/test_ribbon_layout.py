"""The ribbon's layout: nothing is lost, nothing runs into anything, and it can be read on a phone."""

from __future__ import annotations

from fractions import Fraction
from importlib.resources import files
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.arrange import Route
from reedpath.errors import SettingsError
from reedpath.lesson import LessonPart
from reedpath.page import Box, Label, load_measures, parts_in_beats, ribbon_of
from reedpath.page.drawing.drawing_data import box_of, layout_names, load_layout, parse_drawing
from reedpath.page.drawing.legend import around
from reedpath.page.ribbon.grid import bars_of
from reedpath.page.ribbon.line_breaks import break_bars
from reedpath.page.ribbon.repeats import RepeatedSpan
from reedpath.page.ribbon.systems import RibbonShapes
from reedpath.phrase import Metre, Phrase, beat_of
from support import drawn_routes
from support.built_routes import built_lesson, built_route
from support.examples import examples
from support.spent_bytes import SpentBytes, built_from_bytes

ROUTES = [
    drawn_routes.opening_route(),
    drawn_routes.alphabet_route(),
    drawn_routes.dense_route(),
    drawn_routes.graces_route(),
    drawn_routes.metres_route(),
    drawn_routes.long_note_route(),
    drawn_routes.one_note_route(),
    drawn_routes.empty_route(),
]
HOLES = [
    "1d",
    "1d'",
    "2d''",
    "3d'''",
    "4b",
    "4d'",
    "5d",
    "6bo",
    "7b",
    "8d",
    "9b'",
    "10b''",
    "(1 2 3)d",
    "[1 4]b",
    "r",
]

DRAWING = (files("reedpath.page.drawing") / "drawing.toml").read_text(encoding="utf-8")


LENGTHS = ["1/4", "1/3", "1/2", "1", "3/2", "5"]


def any_route(drawn: SpentBytes) -> Route:
    tokens = drawn.picks(HOLES, least=1, most=24)
    return built_route(" ".join(f"{token}:{drawn.pick(LENGTHS)}" for token in tokens))


def routes() -> st.SearchStrategy[Route]:
    return built_from_bytes(any_route, size=49)


def labels_of(ribbon: RibbonShapes) -> list[tuple[Label, Box]]:
    """Every label of the events, with its box in the whole picture."""
    found = []
    for system in ribbon.systems:
        for piece in system.events:
            for shape in piece.shapes:
                if isinstance(shape, Label):
                    box = box_of(shape)
                    found.append((shape, Box(box.left, box.top + system.top, box.right, box.bottom + system.top)))
    return found


def assert_nothing_collides(ribbon: RibbonShapes) -> None:
    whole = Box(0.0, 0.0, ribbon.width, ribbon.height)
    labels = labels_of(ribbon)
    for label, box in labels:
        assert whole.holds(box, slack=0.3), label
    for (one, box), (other, other_box) in combinations(labels, 2):
        assert not box.overlaps(other_box), (one, other)
    for system in ribbon.systems:
        for piece in system.events:
            box = around(piece.shapes)
            assert box.top >= -0.2, piece
            assert box.bottom <= system.height + 0.1, piece


@pytest.mark.parametrize("layout", ["sheet", "phone", "wide", "upright", "strip"])
@pytest.mark.parametrize("route", ROUTES, ids=lambda route: route.phrase.title)
def test_no_text_runs_into_another_or_out_of_the_picture(route: Route, layout: str) -> None:
    assert_nothing_collides(ribbon_of(route, layout=layout))


@examples(40)
@given(routes(), st.sampled_from(["sheet", "phone"]))
def test_no_text_of_any_phrase_runs_into_another(route: Route, layout: str) -> None:
    assert_nothing_collides(ribbon_of(route, layout=layout))


@examples(40)
@given(routes(), st.sampled_from(["sheet", "phone", "strip"]))
def test_every_moment_of_every_event_is_drawn_once(route: Route, layout: str) -> None:
    ribbon = ribbon_of(route, layout=layout)
    for index, one in enumerate(route.events):
        pieces = [p for system in ribbon.systems for p in system.events if p.index == index]
        assert pieces[0].onset == one.event.onset
        assert pieces[0].first
        assert pieces[-1].end == one.event.end
        assert pieces[-1].last
        assert all(a.end == b.onset for a, b in pairwise(pieces))
        assert all(piece.holes == (one.choice.move.holes if one.choice.move else ()) for piece in pieces)


@examples(40)
@given(routes())
def test_systems_follow_one_another_and_fit_the_width(route: Route) -> None:
    ribbon = ribbon_of(route, layout="phone")
    for before, after in zip(ribbon.systems, ribbon.systems[1:], strict=False):
        assert before.frame.end == after.frame.onset
        assert before.top + before.height < after.top
    assert ribbon.systems[0].frame.onset == 0
    assert ribbon.systems[-1].frame.end >= route.phrase.end
    assert all(system.frame.right <= ribbon.width for system in ribbon.systems)


def test_strips_of_one_hole_never_overlap_in_time() -> None:
    for route in ROUTES:
        for system in ribbon_of(route).systems:
            strips = [strip for piece in system.events for strip in piece.strips]
            for one, other in combinations(strips, 2):
                if one.cord == other.cord:
                    assert one.right <= other.left + 1e-9 or other.right <= one.left + 1e-9


@pytest.mark.parametrize("layout", ["phone", "sheet"])
def test_text_is_never_smaller_than_can_be_read(layout: str) -> None:
    # CSS pixels; 9.6 px on a sheet 726 px wide print as 6.8 points at 180 mm (our own floor, no source)
    least = {"phone": 10.0, "sheet": 9.6}[layout]
    m, chosen = load_measures(), load_layout(layout)
    assert min(m.text, m.tight_text, m.small_text, m.label_text) * chosen.row_px >= least


def test_a_phone_picture_is_360_css_pixels_wide() -> None:
    for route in ROUTES:
        ribbon = ribbon_of(route, layout="phone")
        assert ribbon.width * ribbon.row_px == pytest.approx(360, abs=0.5)


def test_two_hundred_notes_stay_within_a_handful_of_sheets() -> None:
    text = " ".join(f"{hole}:1/2" for hole in ["2d", "3d'", "4b", "4d", "5b", "5d", "6b", "4d'"] * 25)
    ribbon = ribbon_of(built_route(text))
    # A4 less margins holds 267 mm, at 180 mm for 33 rows
    assert ribbon.height * 180 / 33 / 267 < 3
    assert sum(len(system.events) for system in ribbon.systems) == 200


def test_rows_are_those_that_the_route_uses_unless_all_are_wanted() -> None:
    route = built_route("4d:1 5d:1 6b:1")
    assert [one.hole for one in ribbon_of(route).systems[0].comb] == [4, 5, 6]
    assert [one.hole for one in ribbon_of(route, all_holes=True).systems[0].comb] == list(range(1, 11))
    assert len(ribbon_of(built_route("4d:1")).systems[0].comb) == 3
    assert len(ribbon_of(built_route("")).systems[0].comb) == 10


def test_bars_count_the_pickup_as_none_and_follow_the_metres() -> None:
    bars = bars_of(drawn_routes.metres_route().phrase)
    assert [bar.number for bar in bars] == list(range(8))
    assert [bar.onset for bar in bars] == [Fraction(n, 2) for n in (0, 1, 8, 15, 22, 28, 34, 44)]
    assert [len(bar.beats) for bar in bars] == [1, 7, 7, 7, 2, 2, 5, 5]


def test_a_bar_cut_by_a_new_metre_ends_there() -> None:
    route = built_route("4d:6", metres=[Metre(Fraction(0), 4, 4), Metre(Fraction(3), 3, 4)])
    assert [(bar.onset, bar.end) for bar in bars_of(route.phrase)] == [(0, 3), (3, 6)]


def test_a_pickup_counts_its_beats_back_from_the_bar() -> None:
    phrase = Phrase((), pickup=Fraction(3, 2))
    assert bars_of(phrase)[0].beats == (Fraction(0), Fraction(1, 2))


@pytest.mark.parametrize(
    ("count", "unit", "beat"),
    [(4, 4, 1), (2, 2, 2), (6, 8, Fraction(3, 2)), (3, 8, Fraction(1, 2)), (12, 8, Fraction(3, 2))],
)
def test_compound_metres_count_dotted_beats(count: int, unit: int, beat: Fraction) -> None:
    assert beat_of(Metre(Fraction(0), count, unit)) == beat


def test_equal_bars_are_shared_out_evenly() -> None:
    bars = bars_of(built_route("4d:24").phrase)
    stretches = break_bars(bars, width=30.0, need=lambda a, b: 2.4)
    assert [float(one.end - one.onset) for one in stretches] == [12, 12]


def test_a_bar_wider_than_a_system_is_cut_at_its_beats() -> None:
    bars = bars_of(built_route("4d:4").phrase)
    stretches = break_bars(bars, width=10.0, need=lambda a, b: 4.0)
    assert [one.onset for one in stretches] == [0, 2]


def test_what_is_repeated_is_drawn_once_between_repeat_signs() -> None:
    route = drawn_routes.with_spots(built_route("4d:1 4b:1 5d:2 6b:4 " * 3 + "4b:4"), (0, 2), (4, 5))
    ribbon = ribbon_of(route, repeats=[RepeatedSpan(Fraction(0), Fraction(8), 3)])
    assert [piece.index for system in ribbon.systems for piece in system.events] == [0, 1, 2, 3, 12]
    assert [(system.frame.onset, system.frame.end) for system in ribbon.systems] == [(0, 8), (24, 28)]
    first, last = ([shape for shape in system.under if isinstance(shape, Label)] for system in ribbon.systems)
    assert "×3" in {label.text for label in first}
    assert "×3" not in {label.text for label in last}
    # the second spot lies in the second time and is shown where that is drawn
    spots = [label.text for label in (*first, *ribbon.systems[0].over) if isinstance(label, Label)]
    assert {"1", "2"} <= set(spots)


def test_endings_that_differ_are_drawn_under_brackets() -> None:
    body = "4d:1 4b:1 5d:2 6b:4 "
    ends = RepeatedSpan(Fraction(0), Fraction(12), 2, ending=Fraction(4), other=Fraction(4))
    ribbon = ribbon_of(built_route(f"{body} 4d:4 {body} 5d:4 6d:4"), repeats=[ends])
    assert [piece.index for system in ribbon.systems for piece in system.events] == [0, 1, 2, 3, 4, 9, 10]
    assert [(system.frame.onset, system.frame.end) for system in ribbon.systems] == [(0, 12), (20, 28)]
    first, last = ({shape.text for shape in system.under if isinstance(shape, Label)} for system in ribbon.systems)
    assert "1." in first
    assert "2." in last
    assert "×2" not in first | last
    signs = {shape.text: shape for shape in ribbon.systems[1].under if isinstance(shape, Label)}
    assert signs["2."].x - signs["6"].x > len("108 (2)") * signs["6"].size / 2


def test_no_line_is_drawn_for_the_empty_end_of_a_cut_bar() -> None:
    ribbon = ribbon_of(built_route("4d':1/16 5d:1/16 " * 6 + "4d:1/4"), layout="phone")
    assert len(ribbon.systems) == 1


def test_lesson_parts_become_stretches_of_beats() -> None:
    route = built_route("4d:1 5d:1 r:1 6b:1 6d:1")
    lesson = built_lesson(route)
    assert [(p.label, p.onset, p.end) for p in parts_in_beats(lesson)] == [("A", 0, 5)]
    two = type(lesson)(
        title=lesson.title,
        route=route,
        parts=(LessonPart("A", 0, 1), LessonPart("B", 2, 3)),
        ladder=lesson.ladder,
        drills=(),
        notation="sign",
        languages=("en",),
    )
    assert [(p.label, p.onset, p.end) for p in parts_in_beats(two)] == [("A", 0, 3), ("B", 3, 5)]
    assert parts_in_beats(built_lesson(built_route(""))) == ()


def test_an_unknown_layout_is_told_the_known_ones() -> None:
    with pytest.raises(SettingsError, match="there is no layout named 'poster'") as caught:
        load_layout("poster")
    assert all(name in (caught.value.hint or "") for name in layout_names())


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("strip = 0.60 ", "strip = 0 ", r"drawing.toml, 'measures.strip': 0 is too low: over 0"),
        ("strip = 0.60 ", "strip = 'wide' ", r"drawing.toml, 'measures.strip': .*wide"),
        ("strip = 0.60 ", "", r"drawing.toml, 'measures.strip': this is missing"),
        ("strip = 0.60 ", "stripe = 1.0\nstrip = 0.60 ", r"drawing.toml, 'measures.stripe': there is no such field"),
        ("beat = 2.0 ", "beat = -1.0 ", r"drawing.toml, 'layouts.sheet.beat': -1 is too low: over 0"),
    ],
)
def test_a_wrong_measure_names_its_place(old: str, new: str, message: str) -> None:
    with pytest.raises(SettingsError, match=message):
        parse_drawing(DRAWING.replace(old, new))
