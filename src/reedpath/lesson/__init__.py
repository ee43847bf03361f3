"""The lesson: parts and repeats, spoken steps, ladder and drills. Knows nothing of drawing or sound."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.lesson.data import lesson_as_data, lesson_schema
    from reedpath.lesson.drills import drill_phrase, drill_route, drills_of, taught_route
    from reedpath.lesson.ladder import ladder_of, metronome_bpm
    from reedpath.lesson.make import make_lesson
    from reedpath.lesson.model import Drill, Lesson, LessonPart, Rung, Step, StepBlock, StepGroup, StepKind
    from reedpath.lesson.parts import parts_of
    from reedpath.lesson.restore import lesson_from_data
    from reedpath.lesson.steps import part_words, steps_of
    from reedpath.lesson.written import format_steps
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "Drill",
    "Lesson",
    "LessonPart",
    "Rung",
    "Step",
    "StepBlock",
    "StepGroup",
    "StepKind",
    "drill_phrase",
    "drill_route",
    "drills_of",
    "format_steps",
    "ladder_of",
    "lesson_as_data",
    "lesson_from_data",
    "lesson_schema",
    "make_lesson",
    "metronome_bpm",
    "part_words",
    "parts_of",
    "steps_of",
    "taught_route",
]
