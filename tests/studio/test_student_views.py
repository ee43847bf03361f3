"""What the students' pages show, reckoned without a browser and without a job's process."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from reedpath.jobs.next_phrases import candidates_of
from reedpath.jobs.progress import silent
from reedpath.jobs.student_progress import playing_of
from reedpath.shelf import Shelf, Student, add_phrase
from reedpath.studio.pages import Spoken
from reedpath.studio.student_views import MOST_NEXT, find_next
from support.shelves import played

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


@pytest.mark.slow
def test_so_many_phrases_come_next_and_no_more_each_with_its_tab(tmp_path: Path) -> None:
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        with shelf.step("add"):
            for number in range(MOST_NEXT + 2):
                add_phrase(shelf, played(f"Tune {number} (invented)", 60, 64, 67, 60 + number))
            student = shelf.add(Student(name="Ada (invented)", level="easy"))
        playing = playing_of(shelf, student)
        found = find_next(candidates_of(shelf, playing), playing, NOW, Spoken("en"), progress=silent)
    assert found["lessons"] == []
    assert len(found["phrases"]) == MOST_NEXT
    for one in found["phrases"]:
        assert one["title"] == f"Tune {one['number'] - 1} (invented)"
        assert one["tab"]
        assert one["percent"] % 5 == 0
