"""A bench writes its table between its marks and leaves the rest of the page alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from tables import put_between

MARKS = ("<!-- mine -->", "<!-- end of mine -->")


def test_a_table_takes_the_place_of_the_one_before(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(f"Before\n{MARKS[0]}\n| é | \\1 |\n{MARKS[1]}\nAfter\n", encoding="utf-8")
    for text in ("| old |", r"| \1 é |"):
        put_between(MARKS, text, page)
        assert page.read_text(encoding="utf-8") == f"Before\n{MARKS[0]}\n\n{text}\n\n{MARKS[1]}\nAfter\n"


@pytest.mark.parametrize("text", ["", MARKS[0], f"{MARKS[1]}{MARKS[0]}", f"{MARKS[0]}{MARKS[0]}{MARKS[1]}"])
def test_a_page_without_the_marks_once_each_is_left_alone(tmp_path: Path, text: str) -> None:
    page = tmp_path / "page.md"
    page.write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit, match="the marks"):
        put_between(MARKS, "| new |", page)
    assert page.read_text(encoding="utf-8") == text
