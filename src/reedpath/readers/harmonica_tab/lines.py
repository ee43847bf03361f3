"""Lines of harmonica tab: which lines of a file are tab, and their notes, rests and holds with lengths and marks."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from msgspec import Struct

from reedpath.data import replace
from reedpath.errors import NotationError, Place, ReadError
from reedpath.harp import Move, Notation, TabToken, TokenKind, Tuning, check_move, tokenize_tab
from reedpath.phrase import Ornaments
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed_tab.heading import TypedHeading, read_heading
from reedpath.readers.typed_tab.lengths import LengthMark, parse_length, parse_lengths
from reedpath.readers.typed_tab.text import checked_times, is_chord_line, is_times_alone, part_names, times_in_words

_DIGIT = re.compile(r"[0-9①-⑳０-９]")
_NAMED = re.compile(r"\s*([^\W\d_][^\W_]*(?: [^\W_]+){0,4}):\s+(?=\S)")
# letters in a row that make a word: a line with a digit and a word in it is prose
_WORD = re.compile(r"[^\W\d_]{3,}")
# ":q", ":e." after a note; ~ and > at its end
_LENGTH = re.compile(r":([whqesWHQES]\.{0,2}t?)(?=[\s|,;:]|$)")
_MARKS = re.compile(r"(?<=\S)[~>]+(?=[\s|,;:]|$)")
_SHAKE = re.compile(r"(?P<before>[^0-9]*[0-9]{1,2}[^0-9~]*)~(?P<second>[0-9]{1,2})(?P<after>[^0-9]*)")
_TRILL = re.compile(r"(?P<before>[^0-9]*[0-9])(?P<second>[0-9])(?P<after>[^0-9]*?)tr\.?", re.IGNORECASE)
_TIMES = re.compile(r"\(?(?:[xX*]([0-9]{1,2})|([0-9]{1,2})[xX*])\)?")
# at the end of a line of tab, how often it is played, in words or after no bar line
_TIMES_AFTER = re.compile(
    r"(?<=\S)\s+(?P<times>[(\[]?(?:[xX*]\s?[0-9]{1,4}|[0-9]{1,4}\s?[xX*]|(?:[^\W\d_]+\s)?[0-9]{1,4}\s(?:times|fois|mal)|"
    r"(?i:repeat(?:ed)?|play(?:ed)? twice|twice|bis|zweimal))[)\].]?)$"
)
_REST, _HOLD = ("r", "R"), ("=", "==")
# columns of lengths and marks after the last note of a line
_LONGEST_SUFFIX = 16
# columns by which a length may stand beside its note; ours
_NEAR = 1


class TypedLine(Struct, frozen=True):
    """A line that may be tab, with what is typed after the notes taken out, column for column.

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


class SlotKind(StrEnum):
    """What takes its time in a line."""

    NOTE = "note"
    REST = "rest"
    HOLD = "hold"
    BAR = "bar"  # takes no time


class Slot(Struct, frozen=True):
    """One note, rest, hold or bar line.

    place : line and column.
    beats : its length, None where none is typed.
    move : of a note.
    ornaments : of a note, beside vibrato and accent.
    metre : count and unit of the bar that it stands in, where the tab says them for each bar.
    text : of a bar line.
    times : how often a repeat that ends at this bar line is played, 0 where it is not said.
    part : name of the part that begins here, if one does.
    """

    kind: SlotKind
    place: Place
    beats: Fraction | None = None
    move: Move | None = None
    vibrato: bool = False
    accent: bool = False
    ornaments: Ornaments = Ornaments()
    metre: tuple[int, int] | None = None
    text: str = ""
    times: int = 0
    part: str = ""


def _prepared(number: int, line: str, over: tuple[LengthMark, ...] = ()) -> TypedLine:
    """
    Take lengths, marks and comments out of a line of tab.

    >>> typed = _prepared(1, "-4':q 4~ 5")
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
    return TypedLine(number, _LENGTH.sub(take_length, text).rstrip(), lengths, marks, over)


def lay_out(
    lines: Sequence[str], omissions: Omissions
) -> tuple[TypedHeading, list[TypedLine], list[tuple[int, str]]]:
    """
    The heading, the lines that may be tab, and the number of a line and name of each part that begins after it.

    The lines of the file are given in plain characters.

    Raises `ReadError`, naming the line of a heading that means nothing.
    """
    numbered = [(number, line) for number, line in enumerate(lines, start=1) if line.strip()]
    heading, of_heading = read_heading(numbered, omissions)
    found: list[TypedLine] = []
    parts: list[tuple[int, str]] = []
    over: tuple[int, tuple[LengthMark, ...]] = (0, ())
    for number, text in numbered:
        if number in of_heading or text.lstrip().startswith("#"):
            continue
        names = part_names(text)
        lengths = parse_lengths(text)
        if times_in_words(text) is not None and (names or is_times_alone(text) or not _DIGIT.search(text)):
            omissions.note("repeats-in-words", Place(line=number))
        if names:
            parts.append((number, names[0][1]))
        elif is_times_alone(text):
            continue
        elif lengths is not None:
            over = (number, lengths)
        else:
            named = _NAMED.match(text[:80])
            if named is not None:
                parts.append((number, named[1]))
                text = " " * named.end() + text[named.end() :]
            if _DIGIT.search(text) and not is_chord_line(text):
                found.append(_prepared(number, text, over[1] if over[0] == number - 1 else ()))
    return heading, found, parts


# -- pieces of a line ------------------------------------------------------------------------------------


def _as_shake(token: TabToken) -> re.Match[str] | None:
    return _SHAKE.fullmatch(token.text[:20]) or _TRILL.fullmatch(token.text[:20])


def _is_tab(tokens: Sequence[TabToken]) -> bool:
    """Whether a line is tab: most of its pieces are moves, rests, holds or bar lines, one at least a move."""
    known = other = moves = 0
    for token in tokens:
        if token.kind is TokenKind.MOVE or _as_shake(token):
            moves += 1
        elif token.kind is TokenKind.BAR or token.text in (*_REST, *_HOLD) or _TIMES.fullmatch(token.text):
            known += 1
        else:
            other += 1
    return moves > 0 and moves + known >= other


# moves recur in a tab: those that can be played are remembered, the others raise each time
_must_be_playable = lru_cache(maxsize=4096)(check_move)


class _LineReader:
    """One line being cut."""

    def __init__(self, line: TypedLine, notation: Notation, tuning: Tuning, omissions: Omissions) -> None:
        self.line = line
        self.notation = notation
        self.tuning = tuning
        self.omissions = omissions

    def _where(self, token: TabToken) -> Place:
        return Place(line=self.line.number, column=token.column + 1)

    def _move(self, token: TabToken) -> Move:
        """The move of a piece, one that the harp can play."""
        shake = _as_shake(token) if token.move is None else None
        if shake:
            first = tokenize_tab(shake["before"] + shake["after"], self.notation, tuning=self.tuning)
            if len(first) == 1 and first[0].move:
                self.omissions.note("shakes-of-holes", self._where(token))
                token = replace(first[0], column=token.column)
        try:
            if token.move is None:
                assert token.problem is not None
                raise token.problem
            _must_be_playable(token.move, self.tuning)
        except NotationError as error:
            raise ReadError.like(error).inside(self._where(token)) from error
        return token.move

    def _slot(self, token: TabToken, until: int) -> Slot:
        """A note, rest or hold with what is typed after it, before the column of the next piece."""
        after = range(token.column + len(token.text), until)
        beats = next((self.line.lengths[column] for column in after if column in self.line.lengths), None)
        marks = "".join(self.line.marks.get(column, "") for column in after)
        kind = SlotKind.REST if token.text in _REST else SlotKind.HOLD if token.text in _HOLD else SlotKind.NOTE
        move = self._move(token) if kind is SlotKind.NOTE else None
        return Slot(kind, self._where(token), beats, move, "~" in marks, ">" in marks)

    def read(self, tokens: Sequence[TabToken]) -> list[Slot]:
        slots: list[Slot] = []
        columns: list[tuple[int, int]] = []
        ends = [*(token.column for token in tokens[1:]), len(self.line.text) + _LONGEST_SUFFIX]
        for token, until in zip(tokens, ends, strict=False):
            times = _TIMES.fullmatch(token.text)
            if token.kind is TokenKind.BAR:
                slots.append(Slot(SlotKind.BAR, self._where(token), text=token.text))
            elif token.move is None and times and slots and slots[-1].kind is SlotKind.BAR:
                slots[-1] = replace(slots[-1], times=checked_times(int(times[1] or times[2]), self._where(token)))
                continue
            else:
                slots.append(self._slot(token, until))
            columns.append((token.column, token.column + len(token.text)))
        return self._with_lengths_over(slots, columns) if self.line.over else slots

    def _with_lengths_over(self, slots: list[Slot], columns: list[tuple[int, int]]) -> list[Slot]:
        """Slots with the lengths of the line above: one for each, in order, or else by their columns."""
        timed = [index for index, slot in enumerate(slots) if slot.kind is not SlotKind.BAR]
        if len(timed) == len(self.line.over):
            for index, mark in zip(timed, self.line.over, strict=True):
                slots[index] = replace(slots[index], beats=mark.beats)
            return slots
        result: list[Slot] = []
        waiting = 0
        marks = self.line.over
        for slot, (start, end) in zip(slots, columns, strict=True):
            while waiting < len(marks) and marks[waiting].column < start - _NEAR:
                result.append(self._rest(marks[waiting]))
                waiting += 1
            if slot.kind is SlotKind.BAR:
                result.append(slot)
            elif waiting < len(marks) and marks[waiting].column < max(end, start + _NEAR + 1):
                result.append(replace(slot, beats=marks[waiting].beats))
                waiting += 1
            else:
                raise ReadError("tab.no_length", where=slot.place)
        return [*result, *(self._rest(mark) for mark in marks[waiting:])]

    def _rest(self, mark: LengthMark) -> Slot:
        return Slot(SlotKind.REST, Place(line=self.line.number - 1, column=mark.column + 1), mark.beats)


def _written_out(slots: list[Slot], times: int, where: Place) -> list[Slot]:
    """The slots of a line that is played so many times, one time after the other."""
    checked_times(times, where)
    barred = any(slot.kind is SlotKind.BAR for slot in slots)
    between = [Slot(SlotKind.BAR, slots[-1].place)] if barred else []
    return [*slots, *(slot for _ in range(times - 1) for slot in (*between, *slots))]


def slots_of(
    lines: Sequence[TypedLine],
    parts: Sequence[tuple[int, str]],
    notation: Notation,
    tuning: Tuning,
    omissions: Omissions,
) -> list[Slot]:
    """
    The notes, rests, holds and bar lines of the lines of tab, in order; none where no line is tab.

    A line that holds a bar line ends a bar at its own end. Prose is passed over; a line that is neither tab nor prose
    is read, for its errors to be said. A part begins with the line after its name, the last one of several names.

    Raises `ReadError`, naming line and column of a piece that is no move, or none that the harp can play: then the
    message says what it can.
    """
    found: list[Slot] = []
    named = 0
    for line in lines:
        said = _TIMES_AFTER.search(line.text)
        times = 1
        if said is not None and not (line.text[: said.start()].endswith("|") and _TIMES.fullmatch(said["times"])):
            line = replace(line, text=line.text[: said.start()])
            times = 1 if line.text.endswith(":|") else times_in_words(said["times"]) or 1
        tokens = tokenize_tab(line.text, notation, tuning=tuning)
        if not tokens or (_WORD.search(line.text) and not _is_tab(tokens)):
            if times_in_words(line.text) is not None:
                omissions.note("repeats-in-words", Place(line=line.number))
            continue
        slots = _LineReader(line, notation, tuning, omissions).read(tokens)
        slots = _written_out(slots, times, Place(line=line.number))
        since = bisect_right(parts, line.number, key=lambda part: part[0])
        if since > named:
            slots[0] = replace(slots[0], part=parts[since - 1][1])
            named = since
        if any(slot.kind is SlotKind.BAR for slot in slots):
            slots.append(Slot(SlotKind.BAR, slots[-1].place))
        found += slots
    return found
