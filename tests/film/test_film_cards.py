"""Cards: where words stand on a picture of their own, and how large."""

from __future__ import annotations

from dataclasses import replace as replace_row

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import ImageColor

from reedpath.film.cards import FACTS, SIDE, STEP, TEXT, TITLE, CardRow, facts_joined, text_picture
from reedpath.film.ink import FINER
from reedpath.film.letters import wrapped
from reedpath.film.screens import load_screen
from reedpath.page import load_palette

PALETTE = load_palette("night")
# a small one: what is looked at are parts of its size
SCREEN = replace(load_screen("landscape"), size=(640, 360))
ROW = CardRow(0.1, 3, "text")


def inked(texts: list[tuple[str, CardRow]], *, room: tuple[float, float] = (0.0, 1.0), apart: float = 0.0):
    """Rows and columns of the picture that are inked: first and last, pixels."""
    picture = np.asarray(text_picture(texts, SCREEN, PALETTE, room=room, apart=apart)).astype(int)
    assert picture.shape == (SCREEN.height, SCREEN.width, 3)
    ground = picture[0, 0]
    apart_from_it = np.abs(picture - ground).max(axis=2) > 40
    rows, columns = np.flatnonzero(apart_from_it.any(axis=1)), np.flatnonzero(apart_from_it.any(axis=0))
    return (rows[0], rows[-1], columns[0], columns[-1]) if len(rows) else None


def test_one_line_stands_in_the_middle_of_its_room_at_the_side() -> None:
    size = 0.1 * min(SCREEN.width, SCREEN.height)
    for room in ((0.0, 1.0), (0.2, 0.6), (0.5, 0.9)):
        top, bottom, left, _ = inked([("HHH", ROW)], room=room)
        assert (top + bottom) / 2 == pytest.approx(SCREEN.height * sum(room) / 2, abs=1.5)
        assert bottom - top == pytest.approx(0.73 * size, abs=2)  # capitals, of the size of the letters
        assert left == pytest.approx(SIDE * SCREEN.width, abs=0.1 * size)


def test_empty_texts_are_left_out_and_none_leaves_the_ground() -> None:
    assert inked([("", ROW), ("HHH", ROW), ("", TITLE)]) == inked([("HHH", ROW)])
    assert inked([("", ROW)]) is None
    assert inked([]) is None


def test_lines_stand_under_one_another_with_air_between_two_texts() -> None:
    size = 0.1 * min(SCREEN.width, SCREEN.height)
    one = inked([("HHH", ROW)])
    two = inked([("HHH", ROW), ("HHH", ROW)])
    wide = inked([("HHH", ROW), ("HHH", ROW)], apart=0.5)
    tall = one[1] - one[0]
    assert two[1] - two[0] - tall == pytest.approx(STEP * size, abs=2)
    assert wide[1] - wide[0] - tall == pytest.approx((STEP + 0.5) * size, abs=2)
    for several in (two, wide):
        assert (several[0] + several[1]) / 2 == pytest.approx((one[0] + one[1]) / 2, abs=1.5)


@pytest.mark.parametrize("name", ["paper", "night"])
def test_ground_and_letters_have_the_inks_of_the_palette(name: str) -> None:
    palette = load_palette(name)
    picture = text_picture([("HHH", replace_row(ROW, size=0.5, ink="faint_text"))], SCREEN, palette, room=(0.0, 1.0))
    assert picture.getpixel((0, 0)) == ImageColor.getrgb(palette.inks["ground"])
    assert ImageColor.getrgb(palette.inks["faint_text"]) in {colour for _, colour in picture.getcolors(100_000)}


def test_bold_letters_are_broken_by_their_own_width() -> None:
    text = "A sentence of a length such that bold letters need one line more than plain ones"
    for row in (ROW, replace_row(ROW, bold=True)):
        lines = wrapped(text, 36.0 * FINER, (1 - 2 * SIDE) * 640 * FINER, most_lines=9, bold=row.bold)
        top, bottom, *_ = inked([(text, replace_row(row, most_lines=9))])
        assert bottom - top == pytest.approx((len(lines) - 1) * STEP * 36.0 + 0.95 * 36.0, abs=9)


def test_what_is_too_tall_for_its_room_is_made_smaller_and_no_wider_than_the_picture() -> None:
    texts = [
        ("A sentence that is long enough to take more lines than one of them", row) for row in (TITLE, FACTS, TEXT)
    ]
    top, bottom, left, right = inked(texts, room=(0.4, 0.6))
    assert 0.4 * SCREEN.height - 2 <= top < bottom <= 0.6 * SCREEN.height + 2
    assert bottom - top > 0.15 * SCREEN.height
    _, _, left, right = inked([("Unbroken" * 30, TITLE)])
    assert SIDE * SCREEN.width - 2 <= left < right <= (1 - SIDE) * SCREEN.width + 2
    assert right > (1 - SIDE) * SCREEN.width * 0.9


def test_facts_are_broken_only_between_them_and_no_line_ends_with_a_dot() -> None:
    assert facts_joined(["C harp", "100 beats a minute"]).replace("\N{NO-BREAK SPACE}", "_") == (
        "C_harp_· 100_beats_a_minute_·"
    )
    assert inked([(facts_joined(["HHH"]), ROW)]) == inked([("HHH", ROW)])
