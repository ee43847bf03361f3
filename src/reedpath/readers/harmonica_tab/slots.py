"""Slots: lines of harmonica tab cut into notes, rests and holds, with their lengths and marks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from reedpath.errors import NotationError, ReadError
from reedpath.harp import Move, Notation, TabToken, TokenKind, Tuning, check_move, tokenize_tab
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed import LengthMark, parse_length

__all__ = ["SHAKE", "Slot", "SlotKind", "TypedLine", "is_tab", "prepared", "slots_of"]

# what is not carried over, a kind of `LeftOut`
SHAKE = "shakes-of-holes"

# ":q", ":e." after a note; ~ and > at its end
_LENGTH = re.compile(r":([whqesWHQES]\.{0,2}t?)(?=[\s|,;:]|$)")
_MARKS = re.compile(r"(?<=\S)[~>]+(?=[\s|,;:]|$)")
_SHAKE = re.compile(r"(?P<before>[^0-9]*[0-9]{1,2}[^0-9~]*)~(?P<second>[0-9]{1,2})(?P<after>[^0-9]*)")
_TRILL = re.compile(r"(?P<before>[^0-9]*[0-9])(?P<second>[0-9])(?P<after>[^0-9]*?)tr\.?", re.IGNORECASE)
_TIMES = re.compile(r"\(?(?:[xX*]([0-9]{1,2})|([0-9]{1,2})[xX*])\)?")
_REST, _HOLD = ("r", "R"), ("=", "==")
# columns of lengths and marks after the last note of a line
_LONGEST_SUFFIX = 16
# columns by which a length may stand beside its note; ours
_NEAR = 1
# times; more than that is a typing error
_MOST_TIMES = 64


class SlotKind(StrEnum):
    """What takes its time in a line."""

    NOTE = "note"
    REST = "rest"
    HOLD = "hold"
    BAR = "bar"  # takes no time


@dataclass(frozen=True, slots=True)
class Slot:
    """One note, rest, hold or bar line.

    place : line and column.
    beats : its length, None where none is typed.
    move : of a note.
    text : of a bar line.
    times : how often a repeat that ends at this bar line is played, 0 where it is not said.
    """

    kind: SlotKind
    place: str
    beats: Fraction | None = None
    move: Move | None = None
    vibrato: bool = False
    accent: bool = False
    text: str = ""
    times: int = 0


@dataclass(frozen=True, slots=True)
class TypedLine:
    """A line, with what is typed after the notes taken out, column for column.

    number : 1-based.
    text : the line, blanks where lengths and marks stood.
    lengths : column after a note and its length.
    marks : column after a note and its marks.
    over : lengths on the line above.
    """

    number: int
    text: str
    lengths: dict[int, Fraction]
    marks: dict[int, str]
    over: tuple[LengthMark, ...] = ()


def prepared(number: int, line: str) -> TypedLine:
    """
    Take lengths, marks and comments out of a line of tab.

    >>> typed = prepared(1, "-4':q 4~ 5")
    >>> typed.text, typed.lengths, typed.marks
    ("-4'   4  5", {3: Fraction(1, 1)}, {7: '~'})
    """
    text = line.split("#", 1)[0] if re.match(r"(.*\s)?#\s", line) else line
    lengths: dict[int, Fraction] = {}
    marks: dict[int, str] = {}

    def take_length(match: re.Match[str]) -> str:
        lengths[match.start()] = parse_length(match[1]) or Fraction(1)
        return " " * len(match[0])

    def take_marks(match: re.Match[str]) -> str:
        marks[match.start()] = match[0]
        return " " * len(match[0])

    text = _MARKS.sub(take_marks, text)
    return TypedLine(number, _LENGTH.sub(take_length, text).rstrip(), lengths, marks)


def is_tab(line: TypedLine, notation: Notation, tuning: Tuning) -> bool:
    """Whether a line is tab: most of its pieces are moves, rests, holds or bar lines, one at least a move."""
    known = other = moves = 0
    for token in tokenize_tab(line.text, notation, tuning=tuning):
        if token.kind is TokenKind.MOVE or _is_shake(token):
            moves += 1
        elif token.kind is TokenKind.BAR or token.text in (*_REST, *_HOLD) or _TIMES.fullmatch(token.text):
            known += 1
        else:
            other += 1
    return moves > 0 and moves + known >= other


def _is_shake(token: TabToken) -> re.Match[str] | None:
    return _SHAKE.fullmatch(token.text[:20]) or _TRILL.fullmatch(token.text[:20])


class _Line:
    """One line being cut."""

    def __init__(self, line: TypedLine, notation: Notation, tuning: Tuning, omissions: Omissions) -> None:
        self.line = line
        self.notation = notation
        self.tuning = tuning
        self.omissions = omissions

    def _where(self, token: TabToken) -> str:
        return f"line {self.line.number}, column {token.column + 1}"

    def _move(self, token: TabToken) -> Move:
        """The move of a piece, one that the harp can play."""
        shake = _is_shake(token) if token.move is None else None
        if shake:
            first = tokenize_tab(shake["before"] + shake["after"], self.notation, tuning=self.tuning)
            if len(first) == 1 and first[0].move:
                self.omissions.note(SHAKE, self._where(token))
                token = replace(first[0], column=token.column)
        try:
            if token.move is None:
                raise token.problem or NotationError(f"{token.text[:40]!r} is no move")
            check_move(token.move, self.tuning)
        except NotationError as error:
            raise ReadError(f"{token.text[:40]}: {error}", where=self._where(token), hint=error.hint) from error
        return token.move

    def slot(self, token: TabToken, until: int) -> Slot:
        """A note, rest or hold with what is typed after it, before the column of the next piece."""
        after = range(token.column + len(token.text), until)
        beats = next((self.line.lengths[column] for column in after if column in self.line.lengths), None)
        marks = "".join(self.line.marks.get(column, "") for column in after)
        kind = SlotKind.REST if token.text in _REST else SlotKind.HOLD if token.text in _HOLD else SlotKind.NOTE
        move = self._move(token) if kind is SlotKind.NOTE else None
        return Slot(kind, self._where(token), beats, move, "~" in marks, ">" in marks)

    def read(self) -> list[Slot]:
        slots: list[Slot] = []
        columns: list[tuple[int, int]] = []
        tokens = tokenize_tab(self.line.text, self.notation, tuning=self.tuning)
        ends = [*(token.column for token in tokens[1:]), len(self.line.text) + _LONGEST_SUFFIX]
        for token, until in zip(tokens, ends, strict=False):
            times = _TIMES.fullmatch(token.text)
            if token.kind is TokenKind.BAR:
                slots.append(Slot(SlotKind.BAR, self._where(token), text=token.text))
            elif token.move is None and times and slots and slots[-1].kind is SlotKind.BAR:
                slots[-1] = replace(slots[-1], times=self._times(token, int(times[1] or times[2])))
                continue
            else:
                slots.append(self.slot(token, until))
            columns.append((token.column, token.column + len(token.text)))
        return self._with_lengths_over(slots, columns) if self.line.over else slots

    def _times(self, token: TabToken, times: int) -> int:
        if not 1 <= times <= _MOST_TIMES:
            raise ReadError(f"repeated {times} times, of 1 to {_MOST_TIMES} allowed", where=self._where(token))
        return times

    # -- lengths on the line above ---------------------------------------------------------------------

    def _with_lengths_over(self, slots: list[Slot], columns: list[tuple[int, int]]) -> list[Slot]:
        """Slots with the lengths of the line above: one for each, in order, or else by their columns."""
        timed = [index for index, slot in enumerate(slots) if slot.kind is not SlotKind.BAR]
        if len(timed) == len(self.line.over):
            for index, mark in zip(timed, self.line.over, strict=True):
                slots[index] = replace(slots[index], beats=mark.beats)
            return slots
        result: list[Slot] = []
        marks = list(self.line.over)
        for slot, (start, end) in zip(slots, columns, strict=True):
            while marks and marks[0].column < start - _NEAR:
                result.append(self._rest(marks.pop(0)))
            if slot.kind is SlotKind.BAR:
                result.append(slot)
            elif marks and marks[0].column < max(end, start + _NEAR + 1):
                result.append(replace(slot, beats=marks.pop(0).beats))
            else:
                raise ReadError("no length stands over this note", where=slot.place)
        return [*result, *(self._rest(mark) for mark in marks)]

    def _rest(self, mark: LengthMark) -> Slot:
        return Slot(SlotKind.REST, f"line {self.line.number - 1}, column {mark.column + 1}", mark.beats)


def slots_of(
    lines: Sequence[TypedLine], notation: Notation, tuning: Tuning, omissions: Omissions
) -> list[list[Slot]]:
    """
    The slots of each line of tab.

    Raises
    ------
    ReadError
        Naming line and column of a piece that is no move, or none that the harp can play: then the message
        says what it can.
    """
    return [_Line(line, notation, tuning, omissions).read() for line in lines]
