"""Shelves with something invented on them, and what of a shelf can be compared."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from reedpath.jobs.shelf_lessons import lesson_to_keep
from reedpath.lesson import Lesson, LessonOfPieces
from reedpath.pitch import midi_name
from reedpath.shelf import (
    KeptAnswer,
    KeptTake,
    OwnedHarp,
    PhrasePlayed,
    Shelf,
    Student,
    add_lesson_version,
    add_phrase,
)
from reedpath.shelf.records import KINDS
from support.phrases import phrase_of

ANSWER = '{"schema": "reedpath/answer", "version": 2}'


def played(title: str, *midi: int, difficulty: float | None = 1.0, techniques: tuple[str, ...] = ()) -> PhrasePlayed:
    """A phrase of quarter notes."""
    return PhrasePlayed(phrase_of(" ".join(map(midi_name, midi))), title, difficulty, techniques)


def contents(shelf: Shelf) -> dict[str, list[Any]]:
    """All records, by kind."""
    return {kind: shelf.all(one) for kind, one in KINDS.items()}


def filled(path: Path) -> Shelf:
    """An open shelf with two phrases and two students, one of whom has a take with an answer."""
    shelf = Shelf(path, make=True)
    with shelf.step("add"):
        add_phrase(shelf, played("Up the stairs", 60, 62, 64, 65, techniques=("draw_bends",)), tags=("blues", "slow"))
        add_phrase(shelf, played("Élan", 67, 64, 60, 67, difficulty=None), tags=("warm-up",))
    sound = shelf.files.keep(io.BytesIO(b"RIFF, invented"), name="Take 1.WAV")
    with shelf.step("student"):
        ada = shelf.add(Student(name="Ada Inventée", level="easy", techniques=("draw_bends",), note="left-handed"))
        shelf.add(Student(name="Bo"))
        shelf.add(OwnedHarp(student=ada.number, key="Low F"))
        shelf.add(OwnedHarp(key="C"))
    with shelf.step("take"):
        take = shelf.add(KeptTake(student=ada.number, name="Take 1.WAV", sound=sound))
        shelf.add(KeptAnswer(take=take.number, data=ANSWER))
    return shelf


def put_lesson(shelf: Shelf, taught: Lesson | LessonOfPieces) -> int:
    """Put a lesson on a shelf of which nothing is made yet; its number."""
    kept = lesson_to_keep(taught)
    with shelf.step("add"):
        version, _ = add_lesson_version(shelf, kept)
    return version.lesson


__all__ = ["ANSWER", "contents", "filled", "played", "put_lesson"]
