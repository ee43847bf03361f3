"""Jobs: one function per whole job, and the atomic folder writer. Not told how it was asked."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.jobs.answering import Answered, AnsweredFile, answer_recording, answered_as_data, write_answer
    from reedpath.jobs.asking import RouteRequest, best_route, settled_like, survey_phrase, trade_off_of
    from reedpath.jobs.collections import FoundLesson, FoundLessons, find_lessons, make_lesson_index
