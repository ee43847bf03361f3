"""Listening: lining a take up with a route, the answer, the live tracker. Returns spots."""

from reedpath.listen.align import LinedUp, Placed, PlayThrough, Restart, line_up
from reedpath.listen.answer import (
    Air,
    Answer,
    BendHeard,
    EventAnswer,
    Extra,
    Fault,
    FaultKind,
    Glide,
    PlayAnswer,
    Practise,
    TempoHeard,
    Verdict,
)
from reedpath.listen.answering import answer_of, answer_take
from reedpath.listen.expected import pitch_prior
from reedpath.listen.measure import Shape, Vibrato
from reedpath.listen.moves_heard import HeardMove, heard_move
from reedpath.listen.timemap import Pause
from reedpath.listen.watch import Notice, SoundWatch

__all__ = [
    "Air",
    "Answer",
    "BendHeard",
    "EventAnswer",
    "Extra",
    "Fault",
    "FaultKind",
    "Glide",
    "HeardMove",
    "LinedUp",
    "Notice",
    "Pause",
    "Placed",
    "PlayAnswer",
    "PlayThrough",
    "Practise",
    "Restart",
    "Shape",
    "SoundWatch",
    "TempoHeard",
    "Verdict",
    "Vibrato",
    "answer_of",
    "answer_take",
    "heard_move",
    "line_up",
    "pitch_prior",
]
