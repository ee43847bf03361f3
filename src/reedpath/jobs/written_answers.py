"""Answers as they were written, read again: to a take of one phrase, or to each piece in a take of several."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, NamedTuple

from msgspec import Meta, Struct

from reedpath.arrange import Route
from reedpath.data import from_plain, plain_of_version, read_json
from reedpath.data.numbers import Index
from reedpath.listen import AnswerFile
from reedpath.skill import route_answered

OF_ONE, OF_PIECES = "reedpath/answer", "reedpath/answer-of-pieces"


class WrittenAnswer(NamedTuple):
    """An answer as it was written.

    folder : of the piece that it is about; empty where it does not say.
    """

    folder: str
    answer: AnswerFile

    def route_in(self, folders: Sequence[str], routes: Sequence[Route]) -> int | None:
        """Index of the one of some routes that it is about, by the folder of its piece first; None for none.

        folders : of the routes, where they have some.
        """
        own = [index for index, folder in enumerate(folders) if folder == self.folder]
        order = [*own, *(index for index in range(len(routes)) if index not in own)]
        route = route_answered(self.answer, [routes[index] for index in order])
        return None if route is None else next(index for index in order if routes[index] is route)


class _PieceRead(Struct, frozen=True):
    """What is read of the answer to a piece."""

    piece: Index
    folder: str
    answer: AnswerFile


class _PiecesRead(Struct, frozen=True):
    """What is read of the answer to a take of several pieces."""

    pieces: Annotated[tuple[_PieceRead, ...], Meta(min_length=1)]


class _Schema(Struct, frozen=True):
    """What a file says it is."""

    schema: str = ""


def answers_written(data: bytes) -> tuple[WrittenAnswer, ...]:
    """The answers in an ``answer.json``, one for each piece heard; ReadError for other files."""
    if read_json(data, _Schema).schema == OF_PIECES:
        found = from_plain(plain_of_version(data, schema=OF_PIECES, version=1, older={}), _PiecesRead)
        return tuple(WrittenAnswer(one.folder, one.answer) for one in found.pieces)
    one = from_plain(plain_of_version(data, schema=OF_ONE, version=2, older={}), AnswerFile)
    return (WrittenAnswer("", one),)
