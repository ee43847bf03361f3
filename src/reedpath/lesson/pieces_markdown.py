"""The steps of a lesson of several pieces as text, and that text read back.

Each language is a section, each piece a section in it, with what is said of the whole before its own steps. A line
that a person changed belongs to the piece under whose heading it stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import ReadError
from reedpath.lesson.markdown import block_lines, escaped, flat, language_heading
from reedpath.lesson.model import OwnWords, StepBlock, StepPlace, WordsKind
from reedpath.lesson.pieces import LessonOfPieces, Piece, WholePlace, WholeWords
from reedpath.lesson.pieces_steps import NOTE, WholeBlock, holding_whole_words, program_whole_steps, whole_steps
from reedpath.lesson.steps import steps_of
from reedpath.lesson.steps_reading import MadeLine, StepLine, beside, lines_by_language, made_lines, words_in
from reedpath.wording import load_catalogue

# marks before the heading of a piece; those inside one have more
PIECE_DEPTH = 3


class MadeSteps(Struct, frozen=True):
    """The steps of a lesson of several pieces as they were made.

    whole : what was said of the whole, by language.
    pieces : the steps of each piece, by language.
    """

    whole: Mapping[str, Sequence[WholeBlock]]
    pieces: Sequence[Mapping[str, Sequence[StepBlock]]]


def format_steps_of_pieces(lesson: LessonOfPieces) -> str:
    """The text of ``steps.md``: title, then what the teacher says in each language, piece by piece."""
    lines = [f"# {escaped(lesson.title)}", ""]
    for language in lesson.languages:
        catalogue = load_catalogue(language)
        lines += [f"## {language_heading(catalogue)}", ""]
        for block in whole_steps(lesson, catalogue):
            lines += [f"{'#' * PIECE_DEPTH} {escaped(block.title)}", ""]
            lines += [*(f"- {escaped(line.text)}" for line in block.lines), ""] if block.lines else []
            if block.place.piece is not None:
                for of_piece in steps_of(lesson.pieces[block.place.piece].lesson, catalogue):
                    lines += block_lines(of_piece, depth=PIECE_DEPTH + 1)
    return "\n".join(lines).rstrip("\n") + "\n"


def _by_heading(blocks: Sequence[WholeBlock], lines: Sequence[StepLine]) -> list[tuple[StepLine, list[StepLine]]]:
    """For each block its heading as it is in the file, and the lines under it; those before the first are its own.

    A heading of a person's own is a line like any other. A ReadError for one that is gone.
    """
    made = [MadeLine(StepLine(flat(block.title), heading=True), StepPlace("intro")) for block in blocks]
    heads = [line for line in lines if line.depth == PIECE_DEPTH]
    found: dict[int, int] = {}
    index = 0
    for one, head in beside(made, heads):
        if one is not None and head is None:
            raise ReadError("lesson.piece_heading_gone", heading=one.line.text)
        if one is not None and head is not None:
            found[head.number] = index
            index += 1
    under: list[tuple[StepLine, list[StepLine]]] = [(made[0].line, [])]
    for line in lines:
        if line.number in found and line.depth == PIECE_DEPTH:
            before = under.pop()[1] if found[line.number] == 0 else []
            under.append((line, before))
        else:
            under[-1][1].append(line)
    return under


class WholeReading:
    """A person's words about the whole, in one language, while they are gathered."""

    def __init__(self, lesson: LessonOfPieces, language: str) -> None:
        program = program_whole_steps(lesson, load_catalogue(language))
        self.language = language
        self.note = lesson.notes.get(language, "")
        self.program = {block.place: block.title for block in program}
        self.program |= {replace(one.place, about=line.about): line.text for one in program for line in one.lines}
        holding = holding_whole_words(lesson, language, program)
        mine = [words for words in lesson.own_words if words.language == language]
        # what does not hold was not in the file, and is kept
        self.waiting = [words for words in mine if words not in holding]
        self.said: dict[tuple[WordsKind, WholePlace], WholeWords] = {}
        self.said |= {(words.kind, words.place): words for words in holding if words.kind is not WordsKind.NOTE}
        self.notes: list[WholeWords] = []

    def say(self, kind: WordsKind, place: WholePlace, made: str, text: str) -> None:
        """Let something be said so; empty for not at all."""
        if place.about == NOTE:
            self.note = text
            return
        before = self.said.pop((kind, place), None)
        instead = self.program.get(place, before.instead if before else made)
        self.waiting = [one for one in self.waiting if (one.kind, one.place) != (kind, place)]
        if text != flat(instead):
            self.said[kind, place] = WholeWords(self.language, kind, place, text, instead)

    def say_after(self, place: WholePlace, text: str) -> None:
        """Let a note be said after what is said at a place."""
        self.notes.append(WholeWords(self.language, WordsKind.NOTE, place, text))

    def all(self) -> list[WholeWords]:
        """All of them: what is said otherwise, the notes, and what holds no longer."""
        found = [*self.said.values(), *self.notes]
        return [*found, *(words for words in self.waiting if words not in found)]


def _whole_lines(block: WholeBlock) -> Iterator[MadeLine]:
    """The lines of a block about the whole as they were made; one that is a person's note has no place."""
    for line in block.lines:
        place = StepPlace("intro") if line.about else None
        yield MadeLine(StepLine(flat(line.text), heading=False), place)


def _read_block(
    reading: WholeReading, block: WholeBlock, of_piece: Sequence[MadeLine], head: StepLine, lines: list[StepLine]
) -> list[StepLine]:
    """What is said of the whole in a block; the lines that are left are the piece's."""
    if head.text != flat(block.title):
        reading.say(WordsKind.HEADING, block.place, block.title, head.text)
    whole = list(_whole_lines(block))
    place, count = block.place, 0
    own = iter(block.lines)
    for made, line in beside([*whole, *of_piece], lines):
        said = None
        if made is not None:
            said = next(own, None)
            if said is None and line is not None:  # the first line of the piece's own
                break
        if line is not None:
            count += 1
        if made is None or (said is not None and not said.about):
            if line is not None:
                reading.say_after(place, line.text)
        elif said is not None:
            place = replace(block.place, about=said.about)
            if line is None:
                reading.say(WordsKind.SENTENCE, place, said.text, "")
            elif line.text != flat(said.text):
                reading.say(WordsKind.SENTENCE, place, said.text, line.text)
    return lines[count:]


def _read_language(
    lesson: LessonOfPieces, language: str, made: MadeSteps, lines: Sequence[StepLine]
) -> tuple[WholeReading, dict[int, list[OwnWords]]]:
    """What a person says in a language of the whole, and of each piece by index."""
    reading = WholeReading(lesson, language)
    of_pieces: dict[int, list[OwnWords]] = {}
    blocks = made.whole[language]
    for block, (head, under) in zip(blocks, _by_heading(blocks, lines), strict=True):
        index = block.place.piece
        if index is None:
            left = _read_block(reading, block, (), head, under)
            assert not left, "all lines of such a block are about the whole"
            continue
        taught, steps = lesson.pieces[index].lesson, made.pieces[index][language]
        left = _read_block(reading, block, list(made_lines(taught, steps)), head, under)
        of_pieces[index] = words_in(taught, language, steps, left)
    return reading, of_pieces


def _with_piece_words(piece: Piece, words: Mapping[str, Sequence[OwnWords]]) -> Piece:
    """A piece with a person's words in the languages that were read; those in others stay."""
    languages = dict.fromkeys([*piece.lesson.languages, *(one.language for one in piece.lesson.own_words)])
    own: list[OwnWords] = []
    for language in languages:
        own += words.get(language, [one for one in piece.lesson.own_words if one.language == language])
    return replace(piece, lesson=replace(piece.lesson, own_words=tuple(own)))


def read_steps_of_pieces(text: str, lesson: LessonOfPieces, made: MadeSteps) -> LessonOfPieces:
    """
    The lesson with what a person said in ``steps.md`` since it was made.

    lesson : as it was when the file was made.
    made : the steps in it, as they were made.

    Raises `ReadError`, naming the line of a language that the lesson has not, and of words that are in none; naming
    the heading of a piece that is gone.
    """
    title, sections = lines_by_language(text, made.whole)
    languages = dict.fromkeys([*made.whole, *(words.language for words in lesson.own_words)])
    whole = {one: [words for words in lesson.own_words if words.language == one] for one in languages}
    notes = dict(lesson.notes)
    pieces: dict[int, dict[str, list[OwnWords]]] = {index: {} for index in range(len(lesson.pieces))}
    for language, lines in sections:
        reading, of_pieces = _read_language(lesson, language, made, lines)
        whole[language] = reading.all()
        notes[language] = reading.note
        for index, own in of_pieces.items():
            pieces[index][language] = own
    return replace(
        lesson,
        title=title or lesson.title,
        notes={language: note for language, note in notes.items() if note},
        own_words=tuple(words for some in whole.values() for words in some),
        pieces=tuple(_with_piece_words(piece, pieces[index]) for index, piece in enumerate(lesson.pieces)),
    )
