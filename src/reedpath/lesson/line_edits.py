"""Single lines of what the teacher says, as a person edits them in place: what stands there, and the lesson with it
changed. What becomes of a change is decided as for ``steps.md``: in `steps_reading`, and of the whole in
`pieces_markdown`.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import SettingsError
from reedpath.lesson.markdown import flat
from reedpath.lesson.model import Lesson, OwnWords, WordsKind
from reedpath.lesson.pieces import LessonOfPieces, WholePlace
from reedpath.lesson.pieces_markdown import WholeReading
from reedpath.lesson.pieces_steps import NOTE, holding_whole_words, program_whole_steps
from reedpath.lesson.steps import program_steps, steps_of
from reedpath.lesson.steps_reading import LinePairs, StepLine, all_lines, said_otherwise, words_of_program
from reedpath.wording import load_catalogue


class LineKind(StrEnum):
    """What a line is."""

    HEADING = "heading"
    SENTENCE = "sentence"
    NOTE = "note"  # a person's own, beside what the program says
    STUDENT_NOTE = "student note"  # to the student, before everything, of a lesson of several pieces


class SaidLine(Struct, frozen=True):
    """A line of what the teacher says in a language.

    text : without marks; empty for a sentence that a person has not said.
    program : what the program says there, empty for a note.
    first, last : indexes of the events that it speaks of, inclusive; None where it speaks of none.
    piece : index of the piece that it is said before, of a line about the whole; None for any other.
    """

    kind: LineKind
    text: str
    program: str = ""
    first: int | None = None
    last: int | None = None
    piece: int | None = None

    @property
    def is_own(self) -> bool:
        """Whether a person said it so."""
        return self.text != self.program


class LineEdit(Struct, frozen=True):
    """A change of one line.

    index : of the line, among all that are said in the language.
    was : its text when the change was begun, so that a line that has changed since is not written over.
    text : its new text; empty for a note that goes, a sentence that is not to be said, the program's own heading.
    after : whether the text is a new note after the line, which stays as it is.
    """

    index: int
    was: str
    text: str
    after: bool = False


def lines_said(lesson: Lesson, language: str) -> tuple[SaidLine, ...]:
    """What is said in a lesson of one phrase, line by line."""
    program = words_of_program(lesson, program_steps(lesson, load_catalogue(language)))
    found: list[SaidLine] = []
    for made in all_lines(lesson, steps_of(lesson, language)):
        place = made.place
        if place is None:
            found.append(SaidLine(LineKind.NOTE, made.line.text))
            continue
        kind = LineKind.HEADING if made.line.heading else LineKind.SENTENCE
        said = flat(program.get(place, ""))
        found.append(SaidLine(kind, made.line.text, said, place.first, place.last))
    return tuple(found)


def _checked(lines: tuple[SaidLine, ...], edit: LineEdit) -> SaidLine:
    """The line that an edit is about; SettingsError where it is not there or no longer says what it said."""
    if not 0 <= edit.index < len(lines) or lines[edit.index].text != flat(edit.was):
        raise SettingsError("lesson.line_changed", was=flat(edit.was), text=flat(edit.text))
    return lines[edit.index]


def edited_words(lesson: Lesson, language: str, edit: LineEdit) -> Lesson:
    """A lesson of one phrase with a line changed.

    Raises `SettingsError` when the line is not as it was when the change was begun.
    """
    lines = lines_said(lesson, language)
    line, text = _checked(lines, edit), flat(edit.text)
    pairs: LinePairs = []
    for index, made in enumerate(all_lines(lesson, steps_of(lesson, language))):
        said = made.line.text
        if index == edit.index and not edit.after:
            said = text or (line.program if line.kind is LineKind.HEADING else "")
        pairs.append((made, StepLine(said, heading=made.line.heading) if said else None))
        if index == edit.index and edit.after and text:
            pairs.append((None, StepLine(text, heading=False)))
    others = (words for words in lesson.own_words if words.language != language)
    return replace(lesson, own_words=_in_order(lesson, (*others, *said_otherwise(lesson, language, pairs))))


def _in_order(lesson: Lesson, words: tuple[OwnWords, ...]) -> tuple[OwnWords, ...]:
    """Words language by language, those of the lesson's languages first."""
    languages = list(dict.fromkeys([*lesson.languages, *(one.language for one in words)]))
    return tuple(sorted(words, key=lambda one: languages.index(one.language)))


# ------------------------------------------------------------------------------------------------- of several pieces


class _WholeLine(Struct, frozen=True):
    """A line about the whole: what stands there, and where."""

    line: SaidLine
    place: WholePlace


def _whole_lines(lesson: LessonOfPieces, language: str) -> Iterator[_WholeLine]:
    blocks = program_whole_steps(lesson, load_catalogue(language))
    words = holding_whole_words(lesson, language, blocks)
    own = {(one.kind, one.place): one.text for one in words}

    def notes(place: WholePlace) -> Iterator[_WholeLine]:
        for one in words:
            if one.kind is WordsKind.NOTE and one.place == place:
                yield _WholeLine(SaidLine(LineKind.NOTE, one.text, piece=place.piece), place)

    for block in blocks:
        piece = block.place.piece
        heading = flat(own.get((WordsKind.HEADING, block.place), block.title))
        yield _WholeLine(SaidLine(LineKind.HEADING, heading, flat(block.title), piece=piece), block.place)
        yield from notes(block.place)
        for line in block.lines:
            place = replace(block.place, about=line.about)
            if line.about == NOTE:
                yield _WholeLine(SaidLine(LineKind.STUDENT_NOTE, flat(line.text), piece=piece), place)
            else:
                said = flat(own.get((WordsKind.SENTENCE, place), line.text))
                yield _WholeLine(SaidLine(LineKind.SENTENCE, said, flat(line.text), piece=piece), place)
            yield from notes(place)


def lines_said_of_whole(lesson: LessonOfPieces, language: str) -> tuple[SaidLine, ...]:
    """What is said of the whole in a lesson of several pieces, line by line; not the pieces' own steps."""
    return tuple(one.line for one in _whole_lines(lesson, language))


def edited_whole(lesson: LessonOfPieces, language: str, edit: LineEdit) -> LessonOfPieces:
    """A lesson of several pieces with a line about the whole changed; SettingsError as for `edited_words`."""
    every = tuple(_whole_lines(lesson, language))
    _checked(tuple(one.line for one in every), edit)
    text = flat(edit.text)
    reading = WholeReading(lesson, language)
    for index, (line, place) in enumerate((one.line, one.place) for one in every):
        is_edited = index == edit.index and not edit.after
        said = text if is_edited else line.text
        if line.kind is LineKind.NOTE:
            if said:
                reading.say_after(place, said)
        elif is_edited:
            kind = WordsKind.HEADING if line.kind is LineKind.HEADING else WordsKind.SENTENCE
            heading = line.program if kind is WordsKind.HEADING else ""
            reading.say(kind, place, line.program, said or heading)
        if index == edit.index and edit.after and text:
            reading.say_after(place, text)
    notes = {**lesson.notes, language: reading.note}
    others = (words for words in lesson.own_words if words.language != language)
    return replace(
        lesson,
        own_words=(*others, *reading.all()),
        notes={name: note for name, note in notes.items() if note},
    )
