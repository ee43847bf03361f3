"""What all tests share: how Hypothesis draws its examples, which files come first, lesson folders made once."""

from __future__ import annotations

import os
from pathlib import Path

# sums of a few thousand numbers are over before threads have begun to share them, most of all on a busy machine
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import settings

from support.examples import examples

# No test depends on the clock. Where everything is checked before a change lands, the same examples are drawn each
# time, so that a run says something about the change and not about the draw; at home each run draws anew.
settings.register_profile("home", examples(100), deadline=None)
settings.register_profile("ci", examples(100), deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "home")

# marks of tests that take long, the longest first
LONG = ("story", "outside", "slow")


# fixtures for which whole lessons are written, with their sounds: what uses them is slow
WHOLE_LESSONS = {"porch_folder", "pieces_folder"}


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files with long tests come first, so that at the end of a run in several processes none waits for another."""
    for item in items:
        if WHOLE_LESSONS.intersection(getattr(item, "fixturenames", ())):
            item.add_marker(pytest.mark.slow)
    ranks: dict[Path, int] = {}
    for item in items:
        rank = next((place for place, mark in enumerate(LONG) if item.get_closest_marker(mark)), len(LONG))
        ranks[item.path] = min(rank, ranks.get(item.path, rank))
    items.sort(key=lambda item: ranks[item.path])


@pytest.fixture(scope="session")
def porch_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole lesson folder of `support.pieces.porch`, to be read and not changed."""
    from reedpath.jobs import write_lesson
    from support.pieces import porch

    folder = tmp_path_factory.mktemp("written") / "porch"
    write_lesson(porch(), folder)
    return folder


@pytest.fixture(scope="session")
def pieces_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole lesson folder of `support.pieces.lesson_of_pieces`, to be read and not changed."""
    from reedpath.jobs import write_lesson_of_pieces
    from support.pieces import lesson_of_pieces

    folder = tmp_path_factory.mktemp("written") / "pieces"
    write_lesson_of_pieces(lesson_of_pieces(), folder)
    return folder
