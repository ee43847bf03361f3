"""A small program as a user writes one, for the type checker alone: ``mypy`` reads it, nothing runs it."""

from __future__ import annotations

from pathlib import Path

import reedpath
from reedpath.arrange import Route
from reedpath.lesson import Lesson
from reedpath.phrase import Phrase


def hand_out(source: Path, folder: Path) -> tuple[str, ...]:
    """Everything that a teacher hands out for a phrase."""
    phrase: Phrase = reedpath.read(source, choose={"tune": 1}, bars=(1, 4))
    best = reedpath.survey(phrase, owned=["A", "C"], level="steady", top=1).ranked[0]
    route: Route = reedpath.find_route(phrase, harp=best.harp.name)
    lesson: Lesson = reedpath.make_lesson(route, title="Mine", languages=["fr"])
    print(reedpath.format_tab(lesson, notation="arrow", language="fr"))
    return reedpath.write_lesson(lesson, folder, paper="letter", replace=True).files


def answers(takes: list[Path], folder: Path) -> dict[Path, int]:
    """How many drills each take got."""
    lesson = reedpath.read_lesson(folder)
    found: dict[Path, int] = {}
    for take in takes:
        try:
            answered = reedpath.answer_take(take, lesson)
        except reedpath.ReedpathError as error:
            print(error, error.hint or "")
            continue
        reedpath.write_answer(answered, folder / take.stem)
        found[take] = len(answered.drills)
    return found


def film(folder: Path) -> tuple[str, ...]:
    """A lesson's film for a telephone."""
    return reedpath.make_film(
        reedpath.read_lesson(folder), folder / "film.mp4", screen="upright", tempos=["slow"]
    ).files
