"""Letters: every sign that a film has to write is there, and text is broken where it may be."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest
from PIL import Image, ImageDraw, ImageFont

from reedpath.film.letters import _SIGNS, _file, draw_text, fitting_size, text_px, wrapped
from reedpath.harp import notation_names
from reedpath.wording import catalogue_names


def _written(text: str, size: float = 40.0) -> Image.Image:
    image = Image.new("L", (200, 80), 0)
    draw_text(ImageDraw.Draw(image), (100, 40), text, size_px=size, fill="white")
    return image


def _signs_of_catalogues() -> set[str]:
    texts = [(files("reedpath.wording") / f"{name}.toml").read_text(encoding="utf-8") for name in catalogue_names()]

    def said(value: object) -> str:
        if isinstance(value, dict):
            return "".join(map(said, value.values()))
        return "".join(map(said, value)) if isinstance(value, list) else str(value)

    return {letter for text in texts for letter in said(tomllib.loads(text))} - set("\n\t")


@pytest.mark.parametrize("bold", [True, False])
def test_every_sign_of_catalogues_and_notations_is_there(bold: bool) -> None:
    folder = files("reedpath.harp") / "notations"
    marks = "".join((folder / f"{name}.toml").read_text(encoding="utf-8") for name in notation_names())
    signs = (_signs_of_catalogues() | set(marks) | set("ÀÉéèêîïôûçœ«»…·×\u202f\u00a0")) - set("\n\t")
    font = ImageFont.truetype(_file(bold=bold), 60)
    missing = bytes(font.getmask("\U000fffff"))
    assert missing.strip(b"\0")
    unknown = [sign for sign in sorted(signs) if sign not in _SIGNS and bytes(font.getmask(sign)) == missing]
    assert unknown == []


@pytest.mark.parametrize("sign", sorted(_SIGNS))
def test_signs_that_the_font_lacks_are_drawn(sign: str) -> None:
    font = ImageFont.truetype(_file(bold=True), 60)
    assert bytes(font.getmask(sign)) == bytes(font.getmask("\U000fffff"))  # else the font has it after all
    box = _written(sign).getbbox()
    assert box is not None
    assert 15 < box[3] - box[1] < 60
    assert text_px(f"B{sign}", 40.0) > text_px("B", 40.0)


def test_capitals_stand_in_the_middle() -> None:
    left, top, right, bottom = _written("H").getbbox() or (0, 0, 0, 0)
    assert (top + bottom) / 2 == pytest.approx(40, abs=1.5)
    assert (left + right) / 2 == pytest.approx(100, abs=1.5)
    assert bottom - top == pytest.approx(0.73 * 40, abs=2)


def test_lines_are_even_and_no_more_than_needed() -> None:
    text = "Begin on 4 draw, start it bent a half step, then let it go."
    width = text_px(text, 20.0, bold=False)
    assert wrapped(text, 20.0, width + 1, most_lines=3) == [text]
    lines = wrapped(text, 20.0, width * 0.6, most_lines=3)
    assert len(lines) == 2
    assert " ".join(lines) == text
    lengths = [text_px(line, 20.0, bold=False) for line in lines]
    assert max(lengths) < 0.6 * width
    assert min(lengths) > 0.35 * width


def test_lines_are_not_broken_at_fixed_spaces() -> None:
    text = "en deuxième position\u202f: la musique"
    for width in range(40, 400, 20):
        assert not any(line.startswith(":") for line in wrapped(text, 20.0, width, most_lines=4))


def test_what_does_not_fit_is_made_smaller() -> None:
    assert fitting_size("Hello", 40.0, 1000.0) == 40.0
    small = fitting_size("Hello", 40.0, 50.0)
    assert text_px("Hello", small) <= 50.5
    assert wrapped("", 20.0, 100.0, most_lines=2) == []


@pytest.mark.parametrize("width", [37.0, 112.0, 233.0, 671.0])
def test_what_is_made_smaller_is_no_wider_than_its_room(width: float) -> None:
    """Letters keep to whole pixels, so that their width does not simply follow their size."""
    text = "2 aspiré, altéré d'un ton, attaqué altéré, relâché, accent"
    for size in range(12, 90, 5):
        for bold in (False, True):
            assert text_px(text, fitting_size(text, size, width, bold=bold), bold=bold) <= width
