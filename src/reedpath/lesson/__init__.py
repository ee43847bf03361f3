"""The lesson: parts and repeats, spoken steps, ladder and drills. Knows nothing of drawing or sound."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.lesson.choices import (
        DrillWish,
        has_own_drills,
        has_own_tempos,
        in_order,
        with_drills,
        with_tempos,
    )
    from reedpath.lesson.drills import drill_phrase, drill_route, drills_of, taught_route
    from reedpath.lesson.groups_of_parts import PartGroup, part_groups
    from reedpath.lesson.ladder import ladder_of, metronome_bpm, rungs_named
    from reedpath.lesson.lesson_json import (
        LESSON_AS_WRITTEN,
        LessonFile,
        decode_lesson,
        decode_steps,
        encode_lesson,
        lesson_file,
    )
    from reedpath.lesson.line_edits import (
        LineEdit,
        LineKind,
        SaidLine,
        edited_whole,
        edited_words,
        lines_said,
        lines_said_of_whole,
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
    from reedpath.lesson.pieces import (
        LessonOfPieces,
        Piece,
        Taught,
        VariantKind,
        WholePlace,
        WholeWords,
        checked_pieces,
        phrases_taught,
        played_alike,
    )
    from reedpath.lesson.pieces_json import (
        LessonOfPiecesFile,
        decode_lesson_of_pieces,
        decode_taught,
        decode_whole_steps,
        encode_lesson_of_pieces,
        is_lesson_of_pieces,
        piece_folders,
    )
    from reedpath.lesson.pieces_markdown import MadeSteps, format_steps_of_pieces, read_steps_of_pieces
    from reedpath.lesson.pieces_steps import (
        WholeBlock,
        WholeLine,
        holding_whole_words,
        piece_heading,
        program_whole_steps,
        whole_steps,
    )
    from reedpath.lesson.play_through import PlayedPiece, play_through_rounds, single_lesson
    from reedpath.lesson.spoken_parts import part_words
    from reedpath.lesson.steps import program_steps, steps_of
    from reedpath.lesson.steps_reading import ReadSteps, read_steps
    from reedpath.lesson.techniques import (
        PlayingTechnique,
        UsedTechnique,
        techniques_of,
        techniques_words,
        techniques_words_of_all,
    )
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "LESSON_AS_WRITTEN",
    "Drill",
    "DrillWish",
    "HarpNeed",
    "Lesson",
    "LessonFile",
    "LessonNeeds",
    "LessonOfPieces",
    "LessonOfPiecesFile",
    "LessonPart",
    "LineEdit",
    "LineKind",
    "MadeSteps",
    "OverbendNeed",
    "OwnWords",
    "PartGroup",
    "Piece",
    "PlayedPiece",
    "PlayingTechnique",
    "ReadSteps",
    "Rung",
    "SaidLine",
    "Step",
    "StepBlock",
    "StepGroup",
    "StepKind",
    "StepPlace",
    "Taught",
    "TechniqueNeed",
    "UsedTechnique",
    "VariantKind",
    "WholeBlock",
    "WholeLine",
    "WholePlace",
    "WholeWords",
    "WordsKind",
    "by_line",
    "checked_pieces",
    "decode_lesson",
    "decode_lesson_of_pieces",
    "decode_steps",
    "decode_taught",
    "decode_whole_steps",
    "drill_phrase",
    "drill_route",
    "drills_of",
    "edited_whole",
    "edited_words",
    "encode_lesson",
    "encode_lesson_of_pieces",
    "format_steps",
    "format_steps_of_pieces",
    "has_own_drills",
    "has_own_tempos",
    "holding_whole_words",
    "holding_words",
    "in_language",
    "in_order",
    "is_lesson_of_pieces",
    "ladder_of",
    "lesson_file",
    "lines_said",
    "lines_said_of_whole",
    "make_lesson",
    "metronome_bpm",
    "needs_of",
    "part_groups",
    "part_words",
    "parts_of",
    "phrases_taught",
    "piece_folders",
    "piece_heading",
    "play_through_rounds",
    "played_alike",
    "program_steps",
    "program_whole_steps",
    "read_steps",
    "read_steps_of_pieces",
    "remade_lesson",
    "rungs_named",
    "single_lesson",
    "steps_of",
    "taught_route",
    "techniques_of",
    "techniques_words",
    "techniques_words_of_all",
    "whole_steps",
    "with_drills",
    "with_note",
    "with_part_names",
    "with_tempos",
]
