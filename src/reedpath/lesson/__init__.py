"""The lesson: parts and repeats, spoken steps, ladder and drills. Knows nothing of drawing or sound."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.lesson.drills import drill_phrase, drill_route, drills_of, taught_route
    from reedpath.lesson.ladder import ladder_of, metronome_bpm, rungs_named
    from reedpath.lesson.lesson_json import (
        LESSON_AS_WRITTEN,
        LESSON_SCHEMA,
        LessonFile,
        decode_lesson,
        decode_steps,
        encode_lesson,
        lesson_as_data,
        lesson_file,
    )
    from reedpath.lesson.make import make_lesson, remade_lesson
    from reedpath.lesson.markdown import format_steps
    from reedpath.lesson.model import (
        Drill,
        Lesson,
        LessonPart,
        OwnWords,
        Rung,
        Step,
        StepBlock,
        StepGroup,
        StepKind,
        StepPlace,
        WordsKind,
    )
    from reedpath.lesson.naming import by_line, in_language, with_note, with_part_names
    from reedpath.lesson.needs import HarpNeed, LessonNeeds, OverbendNeed, TechniqueNeed, needs_of
    from reedpath.lesson.own_words import holding_words
    from reedpath.lesson.parts import parts_of
    from reedpath.lesson.steps import part_words, program_steps, steps_of
    from reedpath.lesson.steps_reading import ReadSteps, read_steps
    from reedpath.lesson.techniques import PlayingTechnique, UsedTechnique, techniques_of, techniques_words
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "LESSON_AS_WRITTEN",
    "LESSON_SCHEMA",
    "Drill",
    "HarpNeed",
    "Lesson",
    "LessonFile",
    "LessonNeeds",
    "LessonPart",
    "OverbendNeed",
    "OwnWords",
    "PlayingTechnique",
    "ReadSteps",
    "Rung",
    "Step",
    "StepBlock",
    "StepGroup",
    "StepKind",
    "StepPlace",
    "TechniqueNeed",
    "UsedTechnique",
    "WordsKind",
    "by_line",
    "decode_lesson",
    "decode_steps",
    "drill_phrase",
    "drill_route",
    "drills_of",
    "encode_lesson",
    "format_steps",
    "holding_words",
    "in_language",
    "ladder_of",
    "lesson_as_data",
    "lesson_file",
    "make_lesson",
    "metronome_bpm",
    "needs_of",
    "part_words",
    "parts_of",
    "program_steps",
    "read_steps",
    "remade_lesson",
    "rungs_named",
    "steps_of",
    "taught_route",
    "techniques_of",
    "techniques_words",
    "with_note",
    "with_part_names",
]
