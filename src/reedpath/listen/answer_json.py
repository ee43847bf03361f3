"""An answer as JSON: its shape is that of the types, numbers rounded to what is measured (docs/listening.md)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal

from msgspec import Struct

from reedpath.data import as_plain, replace_inside, round_floats
from reedpath.harp import Move, SoundingMove, sounding_move
from reedpath.listen.answer import Answer, AnswerContent
from reedpath.listen.play_through import PlayThrough

# what an answer's file says it is
ANSWER_SCHEMA = "reedpath/answer"
# of its shape, raised by one when a key changes its meaning or goes
ANSWER_VERSION: Literal[2] = 2
# kinds within an answer that are written with more than they hold
ANSWER_AS_WRITTEN: Mapping[type, type] = {Move: SoundingMove}
# decimals of seconds, cents, decibels and shares in data; finer is not measured
_DECIMALS = {"cents": 1, "db": 1, "decibels": 1, "hz": 1}
OTHER_DECIMALS = 3


class AnswerFile(AnswerContent, frozen=True, kw_only=True, tag_field="schema", tag=ANSWER_SCHEMA):
    """An answer as it is written.

    version : of the shape of the file.
    """

    version: Literal[2]


class PlayThroughsFile(Struct, frozen=True, tag_field="schema", tag="reedpath/play-throughs"):
    """Where each event of a route is played in a take, as it is written.

    version : of the shape of the file.
    play_throughs : in order.
    """

    version: Literal[2]
    play_throughs: tuple[PlayThrough, ...]


def _decimals(name: str) -> int:
    return _DECIMALS.get(name.rpartition("_")[2], OTHER_DECIMALS)


def written_answer(answer: Answer) -> dict[str, Any]:
    """The fields of `AnswerFile`: an answer rounded, each of its moves with what it sounds."""
    harp = answer.heard_route.harp
    names = AnswerContent.__struct_fields__
    content = {name: round_floats(getattr(answer, name), _decimals, name) for name in names}
    sounding: dict[type, Any] = {Move: lambda move: sounding_move(move, harp)}
    return {name: replace_inside(one, sounding) for name, one in content.items()} | {"version": ANSWER_VERSION}


def answer_as_data(answer: Answer) -> dict[str, Any]:
    """An answer as plain data: the recording, and each play-through with every event."""
    data: dict[str, Any] = as_plain(AnswerFile(**written_answer(answer)))
    return data


def play_throughs_as_data(plays: Sequence[PlayThrough]) -> dict[str, Any]:
    """Play-throughs as plain data: when each event starts and ends, and how sure that is."""
    data: dict[str, Any] = as_plain(PlayThroughsFile(ANSWER_VERSION, round_floats(tuple(plays), _decimals)))
    return data
