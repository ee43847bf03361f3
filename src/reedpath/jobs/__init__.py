"""Jobs: one function per whole job, and the atomic folder writer. Not told how it was asked."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.jobs.answering import (
        AnsweredFile,
        AnswerOfPiecesFile,
        answer_in_words,
        answer_recording,
        answered_as_data,
        write_answer,
    )
    from reedpath.jobs.arranging import (
        RouteRequest,
        best_route,
        retunings_of,
        settled_like,
        survey_phrase,
        surveyed_as_typed,
        trade_off_of,
    )
    from reedpath.jobs.cutting import (
        CutProposal,
        cut_beside,
        make_cut_film,
        propose_cut,
        read_cut,
        refuse_proposal,
        timeline_as_list,
        timeline_beside,
        write_proposal,
    )
    from reedpath.jobs.films import make_film, make_take_film
    from reedpath.jobs.folders import Written
    from reedpath.jobs.heard_footage import heard_beside, keep_heard, kept_plays
    from reedpath.jobs.hearing import (
        HearingChoice,
        TranscribedRecording,
        line_up_pieces,
        line_up_take,
        write_down_recording,
        write_phrase,
    )
    from reedpath.jobs.instruments import HarpChoice, PlayerChoice, known_tunings, one_harp
    from reedpath.jobs.lesson_edits import (
        lines_in,
        piece_of,
        with_drills_chosen,
        with_line_edited,
        with_pieces_in_order,
        with_tempos_chosen,
        with_words_said,
    )
    from reedpath.jobs.lesson_folders import lesson_of_version, read_lesson, read_taught
    from reedpath.jobs.lesson_plans import LessonPlan, PlannedPiece, place_of_piece, plan_from, read_plan
    from reedpath.jobs.lessons import LessonWishes
    from reedpath.jobs.lessons_of_pieces import (
        AskedPiece,
        WholeWishes,
    )
    from reedpath.jobs.live_sessions import listen_live
    from reedpath.jobs.making_lessons import (
        MadeLesson,
        make_lesson_folder,
        make_lesson_of_pieces_folder,
        write_lesson,
        write_lesson_of_pieces,
    )
    from reedpath.jobs.many_lessons import FoundLessons, find_lessons, make_lesson_index, retunings_for
    from reedpath.jobs.phrase_places import (
        ForTheFour,
        FourState,
        PlacesInForm,
        ProposedPlaces,
        asked_places,
        for_the_four,
        places_in_forms,
        proposal_beside,
    )
    from reedpath.jobs.pinning import said_of_event, said_of_part
    from reedpath.jobs.practising import (
        PractiseWishes,
        make_practice_sounds,
        make_practice_sounds_of_pieces,
        pieces_without_band,
        slow_recording,
    )
    from reedpath.jobs.progress import Progress, ProgressStep, seconds_left, silent
    from reedpath.jobs.rehearsal_answers import answer_rehearsal
    from reedpath.jobs.rehearsing import RehearsalWishes, prepare_rehearsal
    from reedpath.jobs.revising import Revised, revise_lesson
    from reedpath.jobs.shelf_adding import add_to_shelf
    from reedpath.jobs.shelf_lessons import keep_version, lesson_to_keep, make_kept_lesson, open_version
    from reedpath.jobs.shelves import export_to_zip
    from reedpath.jobs.sources import ReadPhrase, SourceChoice, demo_source, read_source, read_source_file
    from reedpath.jobs.students import StudentSaid, add_take, put_student
    from reedpath.jobs.task_pool import LocalPool, pool_at
    from reedpath.jobs.tune_queries import tune_from
    from reedpath.jobs.tune_surveys import survey_tunes, write_tune_survey
    from reedpath.jobs.wording_of_lessons import SaidOfLesson
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "AnswerOfPiecesFile",
    "AnsweredFile",
    "AskedPiece",
    "CutProposal",
    "ForTheFour",
    "FoundLessons",
    "FourState",
    "HarpChoice",
    "HearingChoice",
    "LessonPlan",
    "LessonWishes",
    "LocalPool",
    "MadeLesson",
    "PlacesInForm",
    "PlannedPiece",
    "PlayerChoice",
    "PractiseWishes",
    "Progress",
    "ProgressStep",
    "ProposedPlaces",
    "ReadPhrase",
    "RehearsalWishes",
    "Revised",
    "RouteRequest",
    "SaidOfLesson",
    "SourceChoice",
    "StudentSaid",
    "TranscribedRecording",
    "WholeWishes",
    "Written",
    "add_take",
    "add_to_shelf",
    "answer_in_words",
    "answer_recording",
    "answer_rehearsal",
    "answered_as_data",
    "asked_places",
    "best_route",
    "cut_beside",
    "demo_source",
    "export_to_zip",
    "find_lessons",
    "for_the_four",
    "heard_beside",
    "keep_heard",
    "keep_version",
    "kept_plays",
    "known_tunings",
    "lesson_of_version",
    "lesson_to_keep",
    "line_up_pieces",
    "line_up_take",
    "lines_in",
    "listen_live",
    "make_cut_film",
    "make_film",
    "make_kept_lesson",
    "make_lesson_folder",
    "make_lesson_index",
    "make_lesson_of_pieces_folder",
    "make_practice_sounds",
    "make_practice_sounds_of_pieces",
    "make_take_film",
    "one_harp",
    "open_version",
    "piece_of",
    "pieces_without_band",
    "place_of_piece",
    "places_in_forms",
    "plan_from",
    "pool_at",
    "prepare_rehearsal",
    "proposal_beside",
    "propose_cut",
    "put_student",
    "read_cut",
    "read_lesson",
    "read_plan",
    "read_source",
    "read_source_file",
    "read_taught",
    "refuse_proposal",
    "retunings_for",
    "retunings_of",
    "revise_lesson",
    "said_of_event",
    "said_of_part",
    "seconds_left",
    "settled_like",
    "silent",
    "slow_recording",
    "survey_phrase",
    "survey_tunes",
    "surveyed_as_typed",
    "timeline_as_list",
    "timeline_beside",
    "trade_off_of",
    "tune_from",
    "with_drills_chosen",
    "with_line_edited",
    "with_pieces_in_order",
    "with_tempos_chosen",
    "with_words_said",
    "write_answer",
    "write_down_recording",
    "write_lesson",
    "write_lesson_of_pieces",
    "write_phrase",
    "write_proposal",
    "write_tune_survey",
]
