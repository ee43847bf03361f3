"""Tab read back: which moves a person changed in a lesson's ``tab.txt``.

The tab is read with the lesson at hand: it says which notes are printed where, and which moments stand for others
that are only named. So nothing of rhythm or ornament has to be told from the text, and what was not changed stays as
it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from msgspec import Struct

from reedpath.arrange import RouteEvent
from reedpath.errors import NotationError, Place, ReadError
from reedpath.harp import Move, check_move, parse_move
from reedpath.lesson import Lesson
from reedpath.page.score.sheet import Sheet, WrittenNote, sheet_of
from reedpath.page.score.tab_signs import MARKS, PLAIN_MARKS, note_token
from reedpath.page.tabtext.columns import columns_of, folded

# a row of tab: the number of a bar or none, a bar line, and one at the end
_ROW = re.compile(r"\s*(?:\d+(?: \(\d+\))?)?\s*\|.*\|\s*")
# a note with the blanks inside its brackets; a bar line. A sign that a note goes on may touch the note
_PIECE = re.compile(rf"(?:[(\[{{][^()\[\]{{}}|]*[)\]}}]|[^\s|()\[\]{{}}{re.escape(MARKS.hold)}])+|\|")
_RUN = re.compile("|".join(re.escape(run) for marks in (MARKS, PLAIN_MARKS) for run in (marks.run, marks.run_out)))
_GLIDE = re.compile(f"{re.escape(MARKS.glide)}|{re.escape(PLAIN_MARKS.glide)}")
# signs that stand in a row and are no notes, and those that stand after one
_NO_NOTES = {mark for marks in (MARKS, PLAIN_MARKS) for mark in (marks.hold, marks.breath)}
_AFTER = "".join({mark for marks in (MARKS, PLAIN_MARKS) for mark in (marks.changed, marks.vibrato, marks.breath)})


class ReadTab(Struct, frozen=True):
    """What a person changed in a tab.

    moves : of the events that are to be played otherwise, by their index.
    whole : whether nothing else was written into it, beside or between the notes.
    """

    moves: dict[int, Move]
    whole: bool = True


class _TypedToken(Struct, frozen=True):
    """A note as it stands in the text."""

    text: str
    line: int
    column: int

    @property
    def place(self) -> Place:
        return Place(line=self.line, column=self.column)


class _Printed(Struct, frozen=True):
    """A note as it was printed.

    token : how.
    bar : index of its bar among those that are printed.
    number : of its bar as printed.
    notes : the note, and those that are only named as its repeats.
    """

    token: str
    bar: int
    number: int
    notes: tuple[WrittenNote, ...]


def _printed_notes(sheet: Sheet) -> Iterator[_Printed]:
    """The notes in the order in which a tab has them."""
    sections = folded(sheet, columns_of(sheet))
    at = {note.onset: note for note in reversed(sheet.notes)}
    repeats: dict[object, list[WrittenNote]] = {}
    for section in sections:
        for column, printed in zip(section.columns, section.as_columns, strict=False):
            if column.beats in at:
                repeats.setdefault(printed.beats, []).append(at[column.beats])
    bar, number = -1, 0
    for section in sections:
        for column in () if section.as_label else section.columns:
            if column.starts_bar is not None:
                bar, number = bar + 1, column.starts_bar.printed.number
            note = at.get(column.beats)
            if note is not None:
                yield _Printed(
                    note_token(sheet, note, points_back=True), bar, number, (note, *repeats.get(column.beats, ()))
                )


def _typed_bars(text: str) -> list[list[_TypedToken]]:
    """The notes of each bar of a text, those of a bar that goes on in the next row together."""
    bars: list[list[_TypedToken]] = []
    lines = text.splitlines()
    heading = next((number for number, row in enumerate(lines) if not row.strip()), 0)
    for line, row in enumerate(lines[heading:], start=heading + 1):
        if not _ROW.fullmatch(row):
            continue
        starts_bar = row.split("|", 1)[0].strip() != ""
        for number, match in enumerate(match for match in _PIECE.finditer(row, row.index("|"))):
            if match[0] == "|":
                if number or starts_bar or not bars:
                    bars.append([])
            elif match[0] not in _NO_NOTES:
                bars[-1].append(_TypedToken(match[0], line, match.start() + 1))
        bars.pop()  # after the last bar line of a row nothing stands
    return bars


def _beside_the_notes(text: str) -> tuple[set[str], int]:
    """Lines that are no rows of tab, and how many breaths there are in all."""
    rows = [line for line in text.splitlines() if line.strip()]
    breaths = sum(row.count(f"{MARKS.breath} ") for row in rows if _ROW.fullmatch(row))
    return {" ".join(row.split()) for row in rows if not _ROW.fullmatch(row)}, breaths


def _counted(printed: Sequence[_Printed], typed: Sequence[Sequence[_TypedToken]]) -> None:
    """A ReadError where a bar has other than its number of notes."""
    bars = max((note.bar for note in printed), default=-1) + 1
    for index in range(max(bars, len(typed))):
        inside = [note for note in printed if note.bar == index]
        there = typed[index] if index < len(typed) else []
        if len(inside) != len(there):
            line = next((note.line for bar in typed[index:] for note in bar), None)
            raise ReadError(
                "page.tab_notes", where=Place(line=line, bar=inside[0].number if inside else None),
                found=len(there), wanted=len(inside),
            )  # fmt: skip


class _Reader:
    """Reads notes of a lesson's tab."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet, self.harp, self.notation = sheet, sheet.route.harp, sheet.notation

    def move(self, typed: _TypedToken, text: str) -> Move:
        """A move of the harp."""
        try:
            move = parse_move(text.strip(_AFTER), self.notation, tuning=self.harp.tuning)
            check_move(move, self.harp.tuning)
        except NotationError as error:
            raise ReadError.like(error).inside(typed.place) from error
        return move

    def _runs(self, note: WrittenNote) -> Iterator[tuple[int, RouteEvent, bool]]:
        """What stands between the signs of a run in a printed note: event, and whether it is its own move."""
        for index in (*note.graces, note.index):
            one = self.sheet.route.events[index]
            yield from ((index, one, False) for _ in one.choice.lead_in)
            yield index, one, True
            yield from ((index, one, False) for _ in one.choice.lead_out)

    def changes(self, typed: _TypedToken, printed: _Printed) -> Iterator[tuple[int, Move]]:
        """The moves that a note's text asks for, by event, for one that was changed."""
        note = printed.notes[0]
        runs = list(self._runs(note))
        texts = _RUN.split(typed.text)
        if len(texts) == 1:
            yield note.index, self._own(typed, texts[0], self.sheet.route.events[note.index])
            return
        if len(texts) != len(runs):
            raise ReadError("page.tab_run", where=typed.place, text=typed.text)
        before = _RUN.split(printed.token)
        for text, was, (index, one, is_own) in zip(texts, before, runs, strict=True):
            if text.strip(_AFTER) == was.strip(_AFTER):
                continue
            if not is_own:
                raise ReadError("page.tab_run", where=typed.place, text=typed.text)
            yield index, self._own(typed, text, one)

    def _own(self, typed: _TypedToken, text: str, one: RouteEvent) -> Move:
        """The move itself among the depths that a breath glides through."""
        depths = _GLIDE.split(text)
        return self.move(typed, depths[1 if len(depths) > 1 and one.choice.attack_semitones else 0])


def read_tab(text: str, lesson: Lesson, printed_as: str) -> ReadTab:
    """
    What a person changed in a lesson's tab since it was printed.

    A note that stands for repeats of it as well is changed in all of them. What stands beside the tab itself is not
    read.

    printed_as : the text as it was printed.

    Raises `ReadError`, naming the line of a bar with a note too many or too few, and line and column of what is no
    move of the harp.
    """
    sheet = sheet_of(lesson)
    if not sheet.notes:
        return ReadTab({})
    printed, bars = list(_printed_notes(sheet)), _typed_bars(text)
    _counted(printed, bars)
    reader = _Reader(sheet)
    moves: dict[int, Move] = {}
    for note, typed in zip(printed, (note for bar in bars for note in bar), strict=True):
        if typed.text.strip(_AFTER) == note.token.strip(_AFTER):
            continue
        for index, move in reader.changes(typed, note):
            for other in note.notes:
                moves[index - note.notes[0].index + other.index] = move
    (lines, breaths), (made, made_breaths) = _beside_the_notes(text), _beside_the_notes(printed_as)
    return ReadTab(moves, whole=lines <= made and breaths == made_breaths)
