"""Jobs: one function per whole job, and the atomic folder writer. Not told how it was asked."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.jobs.answering import Answered, answer_recording, answered_as_data, write_answer
    from reedpath.jobs.asking import RouteRequest, best_route, survey_phrase, trade_off_of
    from reedpath.jobs.demonstration import demo_request, demo_source
    from reedpath.jobs.disk import read_bytes, read_text, write_file
    from reedpath.jobs.films import make_film, make_take_film
    from reedpath.jobs.folders import Written
    from reedpath.jobs.hearing import (
        Heard,
        HearingChoice,
        line_up_take,
        opened_take,
        write_down_recording,
        write_phrase,
    )
    from reedpath.jobs.instruments import (
        HarpChoice,
        PlayerChoice,
        chosen_harps,
        chosen_player,
        one_harp,
        shipped_tunings,
    )
    from reedpath.jobs.lessons import LessonWishes, MadeLesson, make_lesson_folder
    from reedpath.jobs.practising import PractiseWishes, make_practice_sounds, read_lesson, slow_recording
    from reedpath.jobs.progress import Progress, ProgressStep, silent
    from reedpath.jobs.sources import ReadPhrase, SourceChoice, read_source
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "Answered",
    "HarpChoice",
    "Heard",
    "HearingChoice",
    "LessonWishes",
    "MadeLesson",
    "PlayerChoice",
    "PractiseWishes",
    "Progress",
    "ProgressStep",
    "ReadPhrase",
    "RouteRequest",
    "SourceChoice",
    "Written",
    "answer_recording",
    "answered_as_data",
    "best_route",
    "chosen_harps",
    "chosen_player",
    "demo_request",
    "demo_source",
    "line_up_take",
    "make_film",
    "make_lesson_folder",
    "make_practice_sounds",
    "make_take_film",
    "one_harp",
    "opened_take",
    "read_bytes",
    "read_lesson",
    "read_source",
    "read_text",
    "shipped_tunings",
    "silent",
    "slow_recording",
    "survey_phrase",
    "trade_off_of",
    "write_answer",
    "write_down_recording",
    "write_file",
    "write_phrase",
]
