"""A lesson as it is shown for editing: what is said beside the moves that it speaks of, in every language, and what a
person may decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from reedpath.arrange import RouteEvent
from reedpath.harp import Breath, format_move, load_notation
from reedpath.jobs.lesson_edits import lines_in
from reedpath.lesson import (
    DrillWish,
    Lesson,
    LessonOfPieces,
    LineKind,
    Rung,
    SaidLine,
    StepPlace,
    Taught,
    WordsKind,
    has_own_drills,
    has_own_tempos,
)
from reedpath.phrase import bar_place, bars, metre_at, practice_beat
from reedpath.wording import Catalogue, harp_words, load_catalogue, named_words

# decimals of a tempo that is shown
DECIMALS = 1


class ViewEvent(Struct, frozen=True):
    """A note or a rest: its number from 1, its bar, its tab, and the breath ("blow", "draw", empty for a rest)."""

    number: int
    bar: int
    tab: str
    breath: str = ""


class ViewCell(Struct, frozen=True):
    """A line in one language.

    index : of the line, as `lines_in` has it. line : what it says.
    notes : a person's own that stand after it, with their indexes.
    """

    language: str
    index: int
    line: SaidLine
    notes: tuple[tuple[int, str], ...] = ()


class ViewRow(Struct, frozen=True):
    """The same line in every language, and the indexes of the events that it speaks of."""

    kind: LineKind
    cells: tuple[ViewCell, ...]
    first: int | None = None
    last: int | None = None


class ViewPiece(Struct, frozen=True):
    """A phrase that is taught.

    index : of the piece; None for the whole lesson, where it teaches one phrase.
    harp, level : in words. variant_of : index of the piece that it is a variant of.
    tempos : below the full one, in counted beats a minute. full : the full one.
    beats : counted in a bar.
    own_tempos, own_drills : whether a person chose them.
    part_names : what each part is called, by label and language.
    """

    index: int | None
    title: str
    harp: str
    level: str
    variant_of: int | None
    rows: tuple[ViewRow, ...]
    events: tuple[ViewEvent, ...]
    tempos: tuple[float, ...]
    full: float
    beats: int
    own_tempos: bool
    drills: tuple[DrillWish, ...]
    own_drills: bool
    part_names: Mapping[str, Mapping[str, str]]


class LessonView(Struct, frozen=True):
    """A lesson as it is shown.

    languages : names of catalogues. notes : to the student, by language.
    whole : what is said of the whole, where there are several pieces.
    play_through : indexes of the pieces played in a row at the end.
    """

    title: str
    author: str
    date: str
    languages: tuple[str, ...]
    notes: Mapping[str, str]
    pieces: tuple[ViewPiece, ...]
    whole: tuple[ViewRow, ...] = ()
    play_through: tuple[int, ...] = ()

    @property
    def is_of_pieces(self) -> bool:
        """Whether it teaches several phrases."""
        return self.pieces[0].index is not None


def _cells(language: str, lines: Sequence[SaidLine]) -> Iterator[ViewCell]:
    """The lines that the program says, each with the notes after it."""
    cell: ViewCell | None = None
    for index, line in enumerate(lines):
        if line.kind is LineKind.NOTE and cell is not None:
            cell = ViewCell(cell.language, cell.index, cell.line, (*cell.notes, (index, line.text)))
            continue
        if cell is not None:
            yield cell
        cell = ViewCell(language, index, line)
    if cell is not None:
        yield cell


def row_of_languages(taught: Taught, languages: Sequence[str], piece: int | None) -> tuple[ViewRow, ...]:
    """What is said, line by line, every language beside the others."""
    columns = [list(_cells(language, lines_in(taught, language, piece))) for language in languages]
    places = [[(cell.line.kind, cell.line.first, cell.line.last) for cell in column] for column in columns]
    rows = []
    for index, (kind, first, last) in enumerate(places[0]):
        cells = (column[index] for column, at in zip(columns, places, strict=True) if len(at) == len(places[0]))
        rows.append(ViewRow(kind, tuple(cells), first, last))
    for column, at in zip(columns, places, strict=True):
        if len(at) != len(places[0]):  # a note to the student that only one language has
            rows += [ViewRow(cell.line.kind, (cell,), cell.line.first, cell.line.last) for cell in column]
    return tuple(rows)


def _event(lesson: Lesson, index: int, one: RouteEvent) -> ViewEvent:
    phrase, move = lesson.route.phrase, one.choice.move
    found = bars(phrase)
    bar = bar_place(found, max(one.event.onset, found[0].onset)).number if found else 0
    if move is None:
        return ViewEvent(index + 1, bar, "–")
    tab = format_move(move, load_notation(lesson.notation))
    return ViewEvent(index + 1, bar, tab, "blow" if move.breath is Breath.BLOW else "draw")


def _counted(lesson: Lesson, ladder: Sequence[Rung], first: int) -> tuple[float, ...]:
    events, phrase = lesson.route.events, lesson.route.phrase
    beat = float(practice_beat(metre_at(phrase, events[first].event.onset if first else phrase.pickup)))
    return tuple(round(rung.bpm / beat, DECIMALS) for rung in ladder)


def _piece(
    taught: Taught, lesson: Lesson, index: int | None, variant_of: int | None, catalogue: Catalogue
) -> ViewPiece:
    tempos = _counted(lesson, lesson.ladder, 0)
    drills = (
        DrillWish(one.spot.first, one.spot.last, one.times, _counted(lesson, one.ladder, one.spot.first)[:-1])
        for one in lesson.drills
    )
    labels = dict.fromkeys(part.label for part in lesson.parts)
    metre = metre_at(lesson.route.phrase, lesson.route.phrase.pickup)
    names = {
        label: {language: lesson.part_names.get(language, {}).get(label, "") for language in lesson.languages}
        for label in labels
    }
    return ViewPiece(
        index,
        lesson.title,
        harp_words(lesson.route.harp, catalogue),
        named_words("level", lesson.route.level, catalogue),
        variant_of,
        row_of_languages(taught, lesson.languages, index),
        tuple(_event(lesson, place, one) for place, one in enumerate(lesson.route.events)),
        tempos[:-1],
        tempos[-1],
        max(1, round(metre.bar / practice_beat(metre))),
        has_own_tempos(lesson),
        tuple(drills),
        has_own_drills(lesson),
        names,
    )


def notes_before_all(lesson: Lesson) -> dict[str, str]:
    """The notes before everything, by language."""
    found: dict[str, str] = {}
    for words in lesson.own_words:
        if words.kind is WordsKind.NOTE and words.place == StepPlace("intro"):
            found[words.language] = f"{found.get(words.language, '')} {words.text}".strip()
    return found


def lesson_view(taught: Taught, shown: str, *, notes: str = "") -> LessonView:
    """A lesson as it is shown to a person of a language; ``notes``: how it names notes, empty for its custom."""
    catalogue = load_catalogue(shown, notes=notes or None)
    if isinstance(taught, LessonOfPieces):
        pieces = [
            _piece(taught, piece.lesson, index, piece.variant_of, catalogue)
            for index, piece in enumerate(taught.pieces)
        ]
        return LessonView(
            taught.title, taught.author, taught.date, taught.languages, taught.notes, tuple(pieces),
            row_of_languages(taught, taught.languages, None), taught.play_through,
        )  # fmt: skip
    piece = _piece(taught, taught, None, None, catalogue)
    return LessonView(taught.title, taught.author, taught.date, taught.languages, notes_before_all(taught), (piece,))
