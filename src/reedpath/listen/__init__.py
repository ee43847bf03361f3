"""Listening: lining a take up with a route, and the answer to it; the live listener."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.listen.advice_text import harp_heard_words, next_step_words, place_words, praise_words, remedy_words
    from reedpath.listen.align import line_up
    from reedpath.listen.answer import (
        Answer,
        BendHeard,
        BreathBalance,
        EventAnswer,
        Extra,
        Fault,
        GlideHeard,
        NextStep,
        PlayAnswer,
        Practise,
        Praise,
        SwingHeard,
        TempoHeard,
        Tries,
    )
    from reedpath.listen.answer_json import (
        ANSWER_AS_WRITTEN,
        ANSWER_VERSION,
        AnswerFile,
        PlayThroughsFile,
        answer_as_data,
        play_throughs_as_data,
        written_answer,
    )
    from reedpath.listen.answer_kinds import BeatDivision, FaultKind, NextStepKind, Notice, PraiseKind, Trend, Verdict
    from reedpath.listen.answer_text import MOST_POINTS, format_answer, practise_words
    from reedpath.listen.answering import answer_of, answer_take, lined_up_again, notices_of
    from reedpath.listen.expected import pitch_prior, score_of
    from reedpath.listen.fault_places import PlaceToHear, places_to_hear
    from reedpath.listen.held_notes import BEND_TOLERANCES, HeldNote, HeldTime
    from reedpath.listen.live import LiveListener, LiveMove
    from reedpath.listen.live_playing import LiveMark, LivePlaying
    from reedpath.listen.live_sessions import (
        BLOCK_BYTES,
        BLOCK_FRAMES,
        LiveAnswer,
        LiveAsked,
        LiveSession,
        packed_block,
    )
    from reedpath.listen.moves_heard import HeardMove, heard_move
    from reedpath.listen.next_step import is_in_part, next_step_of
    from reedpath.listen.pieces_heard import PieceLinedUp, line_up_with_pieces
    from reedpath.listen.pieces_text import PieceTold, format_pieces
    from reedpath.listen.pitch_measure import HeardVibrato, Shape
    from reedpath.listen.play_through import HarpHeard, LinedUp, PlacedEvent, PlayThrough, Restart
    from reedpath.listen.praise import praise_of
    from reedpath.listen.reading_again import NOT_READ_AGAIN, ReadAgain, read_again
    from reedpath.listen.reeds import HolesHeard, ReedHeard, ReedState, holes_heard
    from reedpath.listen.take_hearings import TakeHearings
    from reedpath.listen.take_picture import TakeCurve, TakeStroke, answer_curve, take_curve
    from reedpath.listen.time_map import Pause
    from reedpath.listen.which_route import (
        RouteHeard,
        lessons_heard,
        lessons_heard_elsewhere,
        routes_heard,
        routes_heard_elsewhere,
    )
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "ANSWER_AS_WRITTEN",
    "ANSWER_VERSION",
    "BEND_TOLERANCES",
    "BLOCK_BYTES",
    "BLOCK_FRAMES",
    "MOST_POINTS",
    "NOT_READ_AGAIN",
    "Answer",
    "AnswerFile",
    "BeatDivision",
    "BendHeard",
    "BreathBalance",
    "EventAnswer",
    "Extra",
    "Fault",
    "FaultKind",
    "GlideHeard",
    "HarpHeard",
    "HeardMove",
    "HeardVibrato",
    "HeldNote",
    "HeldTime",
    "HolesHeard",
    "LinedUp",
    "LiveAnswer",
    "LiveAsked",
    "LiveListener",
    "LiveMark",
    "LiveMove",
    "LivePlaying",
    "LiveSession",
    "NextStep",
    "NextStepKind",
    "Notice",
    "Pause",
    "PieceLinedUp",
    "PieceTold",
    "PlaceToHear",
    "PlacedEvent",
    "PlayAnswer",
    "PlayThrough",
    "PlayThroughsFile",
    "Practise",
    "Praise",
    "PraiseKind",
    "ReadAgain",
    "ReedHeard",
    "ReedState",
    "Restart",
    "RouteHeard",
    "Shape",
    "SwingHeard",
    "TakeCurve",
    "TakeHearings",
    "TakeStroke",
    "TempoHeard",
    "Trend",
    "Tries",
    "Verdict",
    "answer_as_data",
    "answer_curve",
    "answer_of",
    "answer_take",
    "format_answer",
    "format_pieces",
    "harp_heard_words",
    "heard_move",
    "holes_heard",
    "is_in_part",
    "lessons_heard",
    "lessons_heard_elsewhere",
    "line_up",
    "line_up_with_pieces",
    "lined_up_again",
    "next_step_of",
    "next_step_words",
    "notices_of",
    "packed_block",
    "pitch_prior",
    "place_words",
    "places_to_hear",
    "play_throughs_as_data",
    "practise_words",
    "praise_of",
    "praise_words",
    "read_again",
    "remedy_words",
    "routes_heard",
    "routes_heard_elsewhere",
    "score_of",
    "take_curve",
    "written_answer",
]
