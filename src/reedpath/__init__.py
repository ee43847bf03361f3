"""From a phrase born on another instrument to a playable, teachable harmonica lesson (docs/api.md)."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.errors import ReedpathError
    from reedpath.jobs.from_python import (
        answer_take,
        find_route,
        format_tab,
        join_lessons,
        make_film,
        make_lesson,
        read,
        settle,
        survey,
        survey_tunes,
        transcribe,
        typed_route,
        write_answer,
    )
    from reedpath.jobs.lesson_folders import read_lesson, read_taught
    from reedpath.jobs.making_lessons import write_lesson, write_lesson_of_pieces
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "ReedpathError",
    "answer_take",
    "find_route",
    "format_tab",
    "join_lessons",
    "make_film",
    "make_lesson",
    "read",
    "read_lesson",
    "read_taught",
    "settle",
    "survey",
    "survey_tunes",
    "transcribe",
    "typed_route",
    "write_answer",
    "write_lesson",
    "write_lesson_of_pieces",
]

__version__ = "0.1.0"
