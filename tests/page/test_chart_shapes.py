"""The chart: every sound of every hole once, in order of pitch, and the used ones marked by more than colour."""

from __future__ import annotations

from itertools import groupby, pairwise

import pytest

from reedpath.harp import Alteration, Breath, Harp, Move, make_harp, midi_of, reach_of, tuning_names
from reedpath.page import Box, Curve, Label, format_chart_svg
from reedpath.page.chart import ChartShapes, chart_of
from reedpath.page.drawing.drawing_data import box_of
from reedpath.page.drawing.legend import around
from reedpath.pitch import pitch_class_name
from reedpath.wording import load_catalogue
from support import drawn_routes


def chart(harp: Harp, **options: object) -> ChartShapes:
    return chart_of(harp, name=pitch_class_name, **options)  # type: ignore[arg-type]


def cells(shapes: ChartShapes) -> list[tuple[Move, Box, int]]:
    return [
        (cell.move, around([s for s in cell.shapes if s.role not in ("used",)]), cell.midi)
        for block in shapes.blocks
        for cell in block.cells
    ]


HARPS = [make_harp("C", name) for name in tuning_names()] + [drawn_routes.long_harp()]
each_harp = pytest.mark.parametrize("harp", HARPS, ids=lambda harp: harp.tuning.name)


@each_harp
@pytest.mark.parametrize("layout", ["sheet", "phone", "strip"])
def test_every_sound_of_the_reach_has_one_cell(harp: Harp, layout: str) -> None:
    shown = [move for move, _, _ in cells(chart(harp, layout=layout))]
    assert sorted(shown) == sorted(reach_of(harp.tuning).single)


@each_harp
def test_higher_is_up_in_every_hole(harp: Harp) -> None:
    for _, stack in groupby(cells(chart(harp)), key=lambda cell: cell[0].holes):
        for (move, lower, midi), (next_move, upper, next_midi) in pairwise(stack):
            assert upper.bottom < lower.bottom
            assert next_midi > midi or (next_midi == midi and (move.is_dip or move.breath is not next_move.breath))


@each_harp
@pytest.mark.parametrize("layout", ["sheet", "phone"])
def test_no_cell_runs_into_another_or_out_of_the_picture(harp: Harp, layout: str) -> None:
    shapes = chart(harp, layout=layout)
    for block in shapes.blocks:
        whole = Box(0.0, -0.3, shapes.width, block.height)
        labels = [box_of(s) for cell in block.cells for s in cell.shapes if isinstance(s, Label)]
        assert all(whole.holds(around(cell.shapes), slack=0.01) for cell in block.cells)
        assert not any(a.overlaps(b) for i, a in enumerate(labels) for b in labels[i + 1 :])


def test_names_of_seven_notes_in_solfege_stay_in_their_cells() -> None:
    names = load_catalogue("fr", notes="solfege").note
    for block in chart_of(make_harp("Db"), name=names, layout="phone").blocks:
        for cell in block.cells:
            (label,) = [s for s in cell.shapes if isinstance(s, Label)]
            body = around([s for s in cell.shapes if isinstance(s, Curve) and s.role in ("blow", "draw")])
            box = box_of(label)
            assert body.left < box.left
            assert box.right < body.right


def test_used_sounds_stand_on_a_tile_and_the_others_are_outlines() -> None:
    bend = Move((3,), Breath.DRAW, Alteration.BEND, -2)
    shapes = chart(make_harp("C"), used_moves=[bend, Move((1, 2), Breath.BLOW), bend])
    used = [cell.move for block in shapes.blocks for cell in block.cells if cell.used]
    assert used == [Move((1,), Breath.BLOW), Move((2,), Breath.BLOW), bend]
    for block in shapes.blocks:
        for cell in block.cells:
            drawn = {s.role for s in cell.shapes}
            assert ("used" in drawn) == cell.used
            assert ("idle" in drawn) != cell.used


def test_without_a_phrase_all_sounds_look_alike() -> None:
    drawn = {s.role for block in chart(make_harp("C")).blocks for cell in block.cells for s in cell.shapes}
    assert not drawn & {"used", "idle", "idle_text"}


def test_a_phrase_of_nothing_uses_nothing() -> None:
    blocks = chart(make_harp("C"), used_moves=[]).blocks
    assert not any(cell.used for block in blocks for cell in block.cells)


def test_the_key_note_is_underlined_wherever_it_sounds() -> None:
    harp = make_harp("A")
    shapes = chart(harp, tonic=4)
    marked = {
        cell.move
        for block in shapes.blocks
        for cell in block.cells
        if any(s.role.startswith("home_") for s in cell.shapes)
    }
    assert marked == {move for move in reach_of(harp.tuning).single if midi_of(harp, move)[0] % 12 == 4}


@pytest.mark.parametrize(("layout", "holes"), [("sheet", [14]), ("phone", [7, 7]), ("strip", [14])])
def test_a_long_harp_is_cut_into_even_blocks_where_it_must(layout: str, holes: list[int]) -> None:
    shapes = chart(drawn_routes.long_harp(), layout=layout)
    assert [len(block.comb) for block in shapes.blocks] == holes
    for above, below in pairwise(shapes.blocks):
        assert above.top + above.height < below.top


def test_a_phone_chart_of_ten_holes_is_360_css_pixels_wide() -> None:
    shapes = chart(make_harp("C"), layout="phone")
    assert shapes.width * shapes.row_px == pytest.approx(360, abs=1)
    assert len(shapes.blocks) == 1


def test_sounds_are_read_aloud_with_their_notes() -> None:
    text = format_chart_svg(make_harp("C"))
    words = load_catalogue("en")
    assert f'aria-label="3 draw, whole-step bend: {words.note_with_octave(69)}"' in text
    assert text.count('class="sound') == len(reach_of(make_harp("C").tuning).single)


def test_the_description_counts_the_sounds_used() -> None:
    moves = [Move((4,), Breath.DRAW), Move((4,), Breath.DRAW), Move((5,), Breath.BLOW)]
    text = format_chart_svg(make_harp("C"), used_moves=moves)
    assert load_catalogue("en").say("chart.describes", harp="C harp", count=2) in text
