"""Names of the parts over the ribbon: none is cut at the comb, the one that lasts stands still, long ones are cut."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from reedpath.film.ink import Ink
from reedpath.film.letters import text_px
from reedpath.film.part_names import PartNames, _shortened, names_of
from reedpath.film.planes import BT709, Frame, plain_planes
from reedpath.page import Curve, Label, load_palette, ribbon_of
from reedpath.phrase import Part
from support.built_routes import built_route

PALETTE = load_palette("night")
GROUND = plain_planes(PALETTE.inks["ground"])
WIDTH, ROW = 600, 50.0


def _names(*names: tuple[str, float]) -> PartNames:
    """Names at so many pixels from the strip's start."""
    ends = [*(x for _, x in names[1:]), 1000.0][: len(names)]
    labels = [
        (Label("part_text", x / ROW, 0.5, 0.44, text, "start"), end / ROW)
        for (text, x), end in zip(names, ends, strict=True)
    ]
    return PartNames(labels, 0.0, Ink(PALETTE, ROW), BT709, 10.0)


def _inked(names: PartNames, x: int) -> np.ndarray:
    """Which columns of the frame are inked where now is at x of the strip."""
    frame = Frame(WIDTH, 100)
    frame.fill(GROUND)
    names.put(frame, x, left=0, top=0, width=WIDTH)
    return np.flatnonzero((frame.light != GROUND.light[0, 0]).any(axis=0))


def test_a_name_comes_stands_still_and_makes_way() -> None:
    names = _names(("Bridge", 100), ("Coda", 500))
    whole = _inked(names, -50)
    width = int(np.ptp(_inked(_names(("Bridge", 100)), 0)))
    begins = []
    for x in range(0, 480):
        columns = _inked(names, x)
        first = columns[columns < 500 - x] if 500 - x > 0 else columns
        if len(first):
            begins.append((x, int(first.min())))
            # whole, or not there at all
            assert abs(int(np.ptp(first)) - width) <= 1
    assert whole.min() in range(150, 156)
    places = dict(begins)
    assert places[0] > 99
    assert len({places[x] for x in range(104, 380)}) == 1  # it stands still while its part lasts
    assert places[200] < 6
    assert max(places) < 500 - width  # and is gone before the next one stands in it


def test_a_name_goes_with_its_part() -> None:
    names = _names(("A", 0))
    assert len(_inked(names, 990)) > 0
    assert len(_inked(names, 1001)) == 0


def test_before_the_first_part_nothing_stands() -> None:
    assert len(_inked(_names(("A", 700)), 0)) == 0
    assert len(_inked(_names(), 0)) == 0


@pytest.mark.parametrize("x", range(20))
def test_a_name_is_cut_only_by_the_end_of_the_frame(x: int) -> None:
    columns = _inked(_names(("Turnaround", WIDTH - 30)), x)
    assert columns.max() <= WIDTH - 1
    assert columns.min() == pytest.approx(WIDTH - 30 - x, abs=4)


def test_a_name_longer_than_its_part_is_shortened() -> None:
    columns = _inked(_names(("The turnaround into the second verse", 0), ("B", 200)), 0)
    gap = np.diff(columns).max()
    assert gap >= 10
    assert columns[np.argmax(np.diff(columns))] < 200


@pytest.mark.parametrize("text", ["Turnaround", "The turnaround into it", "Intro, twice", "A"])
def test_a_name_is_cut_where_one_letter_more_would_not_fit(text: str) -> None:
    whole = text_px(text, 20.0)
    assert _shortened(text, 20.0, whole) == text
    for room in np.linspace(0.0, whole - 0.1, 60):
        short = _shortened(text, 20.0, room)
        assert text_px(short, 20.0) <= room
        kept = short.removesuffix("…")
        assert text.startswith(kept)
        # by its next letter, that which comes before a blank included, it would be too long
        longer = [f"{text[:length].rstrip()}…" for length in range(len(kept) + 1, len(text))]
        assert all(text_px(one, 20.0) > room for one in longer if one != short)
        assert short == "" or (kept and kept == kept.rstrip())


def test_names_of_a_ribbon_go_from_left_to_right_each_until_its_part_ends() -> None:
    route = built_route("2d 3d 4b 4d 5d 4d 4b 3d", key="A")
    parts = (Part("Verse", Fraction(0), Fraction(2)), Part("Coda", Fraction(2), Fraction(4)))
    system = ribbon_of(
        route, layout="strip", notation="sign", parts=parts, course=lambda beats: 10.0 * float(beats)
    ).systems[0]
    system = replace(system, under=system.under[::-1])
    (verse, verse_end), (coda, coda_end) = names_of(system)
    assert (verse.text, coda.text) == ("Verse", "Coda")
    assert 0.0 <= verse.x - system.frame.x_of(Fraction(0)) < 0.5
    assert 0.0 <= coda.x - system.frame.x_of(Fraction(2)) < 0.5
    assert verse_end == pytest.approx(system.frame.x_of(Fraction(2)), abs=0.5)
    assert coda_end == pytest.approx(system.frame.x_of(Fraction(4)), abs=0.5)
    # a name whose part has no line lasts
    lines = [shape for shape in system.under if not (isinstance(shape, Curve) and shape.role == "part")]
    assert [end for _, end in names_of(replace(system, under=tuple(lines)))] == [math.inf, math.inf]


@pytest.mark.parametrize("top_px", [0.0, 10.0, 40.0])
@pytest.mark.parametrize("y", [0.5, 0.8])
def test_a_name_stands_over_the_line_of_its_part_where_the_ribbon_stands(y: float, top_px: float) -> None:
    label = Label("part_text", 0.0, y, 0.44, "HHH", "start")
    names = PartNames([(label, math.inf)], 0.0, Ink(PALETTE, ROW), BT709, top_px)
    frame = Frame(WIDTH, 200)
    frame.fill(GROUND)
    names.put(frame, -20, left=0, top=20, width=WIDTH)
    rows = np.flatnonzero((frame.light != GROUND.light[0, 0]).any(axis=1))
    # capitals, 0.73 of the letters' size, raised a little over the line
    middle = 20 + top_px + (y - 0.09) * ROW
    assert (rows[0] + rows[-1]) / 2 == pytest.approx(middle, abs=2.5)
    assert rows[-1] - rows[0] == pytest.approx(0.73 * 0.44 * ROW, abs=2.5)
