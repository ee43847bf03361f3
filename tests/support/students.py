"""Lessons and students' takes for tests: invented tunes, played with faults at known places by glued recordings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from reedpath.arrange import Route, find_route
from reedpath.harp import make_harp
from reedpath.lesson import Lesson, encode_lesson, make_lesson
from reedpath.signal import encode
from support.glued_takes import Fault, faulted, glue, perform
from support.phrases import phrase_of

# invented for these tests: the first with bends in second position on an A harp, the second in first on a C harp
TUNES = {
    "Down the lane (invented)": ("A", "E4 1/2 G4 A4 Bb4 A4 G4 E4 1 A4 1/2 B4 D5 E5 D5 B4 A4 1 G4 1/2 A4 G4 E4 1"),
    "Kite weather (invented)": ("C", "C5 1/2 E5 G5 E5 D5 F5 A5 F5 E5 1 G5 1/2 F5 E5 D5 C5 1 G4 1/2 C5 E5 C5 1"),
}


def tune_route(title: str) -> Route:
    """The route of one of the tunes."""
    key, notes = TUNES[title]
    return find_route(phrase_of(notes), make_harp(key))


def tune_lesson(title: str) -> Lesson:
    """The lesson of one of the tunes."""
    return make_lesson(tune_route(title), title=title)


def tune_folder(title: str, folder: Path) -> Path:
    """A folder with the lesson of one of the tunes."""
    folder.mkdir(parents=True)
    (folder / "lesson.json").write_bytes(encode_lesson(tune_lesson(title)))
    return folder


def take_file(path: Path, title: str, faults: Sequence[Fault] = (), *, seed: int = 3) -> Path:
    """A take of a tune with faults, as a sound file."""
    route, rng = tune_route(title), np.random.default_rng(seed)
    deeds = perform(route, rng)
    for fault in faults:
        deeds = faulted(deeds, fault)
    path.write_bytes(encode(glue(route, deeds, rng).samples, format=path.suffix[1:]))
    return path
