"""The gallery in docs/pictures is what the code draws: numbers to a tenth of a pixel, ids left aside.

After a change that is meant, ``python scripts/make_pictures.py`` draws it anew; look at it before you keep it.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from support.pictures import PICTURES

FOLDER = Path(__file__).resolve().parents[2] / "docs" / "pictures"


def normalised(text: str) -> str:
    """The text with its numbers rounded to tenths, and without ids."""
    text = re.sub(r' id="[^"]*"', "", text)
    return re.sub(r"-?\d+\.\d+", lambda match: f"{float(match[0]):.1f}".replace("-0.0", "0.0"), text)


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_as_it_was_looked_at(name: str) -> None:
    kept = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert normalised(PICTURES[name]()) == normalised(kept)


def test_the_gallery_holds_no_picture_that_nobody_draws() -> None:
    kept = {path.stem for path in FOLDER.glob("*.svg") if path.stem.startswith(("ribbon-", "chart-"))}
    assert kept == set(PICTURES)


def test_every_picture_is_shown_in_the_document() -> None:
    text = (FOLDER.parent / "ribbon.md").read_text(encoding="utf-8")
    assert {name for name in PICTURES if f"pictures/{name}.svg" not in text} == set()
