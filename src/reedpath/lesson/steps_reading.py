"""Steps read back: what a person changed in ``steps.md`` since it was made.

The file as it was made and the file as it is are laid beside each other, language by language, line by line. A line
that differs is a sentence or a heading said otherwise, one that is new is a note, one that is gone is not to be said.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import Place, ReadError
from reedpath.lesson.markdown import flat, language_heading
from reedpath.lesson.model import Lesson, OwnWords, StepBlock, StepPlace, WordsKind
from reedpath.lesson.own_words import block_place, group_places, holding_words, moves_said
from reedpath.lesson.steps import program_steps
from reedpath.wording import load_catalogue

# what `markdown` puts a stroke before
_ESCAPED = re.compile(r"\\([\\`*_{}\[\]<>#&|~.)])")
_BULLET = re.compile(r"^[-*+]\s+")
# more lines than this that differ in a row are taken one for one, since comparing all with all would take long
MOST_COMPARED = 80


class StepLine(Struct, frozen=True):
    """A line of a section.

    text : without its mark and its escapes.
    heading, listed : whether it is a heading, or an item of a list.
    number : of the line in the file, 0 for one of the file as it was made.
    depth : how many marks stand before a heading; 0 where that is not told.
    """

    text: str
    heading: bool
    number: int = 0
    listed: bool = True
    depth: int = 0


class MadeLine(Struct, frozen=True):
    """A line of the file as it was made, and what it says.

    place : of a block or of what is said in it, None for a note.
    moves : that it is about.
    """

    line: StepLine
    place: StepPlace | None
    moves: tuple[str, ...] = ()


class ReadSteps(Struct, frozen=True):
    """What a person said in ``steps.md``.

    title : of the lesson.
    own_words : all of hers, those that were there before too.
    """

    title: str
    own_words: tuple[OwnWords, ...]


LinePairs: TypeAlias = list[tuple[MadeLine | None, StepLine | None]]


# ---------------------------------------------------------------------------------------------- the file's lines


def _plain(text: str) -> str:
    return _ESCAPED.sub(r"\1", text).strip()


def step_sections(text: str) -> tuple[str | None, list[tuple[StepLine, list[StepLine]]]]:
    """The title, and each section: its heading, and its lines; what goes on over several lines is one."""
    title: str | None = None
    sections: list[tuple[StepLine, list[StepLine]]] = []
    goes_on = False
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.strip()
        if not line:
            goes_on = False
        elif line.startswith("## "):
            sections.append((StepLine(_plain(line[3:]), heading=True, number=number), []))
            goes_on = False
        elif line.startswith("# ") and not sections:
            title, goes_on = _plain(line[2:]), False
        elif not sections:
            raise ReadError("lesson.words_before_language", where=Place(line=number))
        elif line.startswith("#"):
            depth = len(line) - len(line.lstrip("#"))
            said = _plain(line.lstrip("# "))
            sections[-1][1].append(StepLine(said, heading=True, number=number, depth=depth))
            goes_on = False
        elif goes_on and not _BULLET.match(line):
            before = sections[-1][1][-1]
            sections[-1][1][-1] = replace(before, text=f"{before.text} {_plain(line)}")
        else:
            listed = _BULLET.match(line) is not None
            said = _plain(_BULLET.sub("", line))
            sections[-1][1].append(StepLine(said, heading=False, number=number, listed=listed))
            goes_on = True
    return title, sections


def all_lines(lesson: Lesson, blocks: Sequence[StepBlock]) -> Iterator[MadeLine]:
    """The lines of a language, and in their places, without a text, sentences that a person has not said."""
    for block in blocks:
        yield MadeLine(StepLine(flat(block.title), heading=True), block_place(lesson, block))
        for group, place in group_places(lesson, block):
            if group.text or place is not None:
                moves = moves_said(lesson, place, group.kind) if place else ()
                yield MadeLine(StepLine(flat(group.text), heading=False), place, moves)


def made_lines(lesson: Lesson, blocks: Sequence[StepBlock]) -> Iterator[MadeLine]:
    """The lines of a language as they were made."""
    return (one for one in all_lines(lesson, blocks) if one.line.text or one.line.heading)


# --------------------------------------------------------------------------------------------- beside each other


def _likeness(made: MadeLine, line: StepLine) -> float:
    if made.line.heading != line.heading or (made.place is not None and not line.heading and not line.listed):
        return -1.0  # a sentence is changed in its list; what stands outside is a note
    return 0.1 + SequenceMatcher(None, made.line.text, line.text, autojunk=False).quick_ratio()


def _most_alike(made: Sequence[MadeLine], lines: Sequence[StepLine]) -> LinePairs:
    """Lines that differ, in order, those beside each other that are most alike in all."""
    if len(made) * len(lines) > MOST_COMPARED**2:
        count = max(len(made), len(lines))
        one = [*made, *[None] * (count - len(made))]
        two = [*lines, *[None] * (count - len(lines))]
        return list(zip(one, two, strict=True))
    best: dict[tuple[int, int], tuple[float, int]] = {}
    for i in range(len(made), -1, -1):
        for j in range(len(lines), -1, -1):
            ways = [(0.0, 0)] if i == len(made) and j == len(lines) else []
            if i < len(made) and j < len(lines) and (alike := _likeness(made[i], lines[j])) > 0:
                ways.append((alike + best[i + 1, j + 1][0], 0))
            if i < len(made):
                ways.append((best[i + 1, j][0], 1))
            if j < len(lines):
                ways.append((best[i, j + 1][0], 2))
            best[i, j] = max(ways)
    pairs: LinePairs = []
    i = j = 0
    while (i, j) != (len(made), len(lines)):
        way = best[i, j][1]
        pairs.append((made[i] if way != 2 else None, lines[j] if way != 1 else None))
        i, j = i + (way != 2), j + (way != 1)
    return pairs


def beside(made: Sequence[MadeLine], lines: Sequence[StepLine]) -> LinePairs:
    """The file as it was made and as it is, line by line."""
    texts = [(one.line.heading, one.line.text) for one in made]
    matcher = SequenceMatcher(None, texts, [(one.heading, one.text) for one in lines], autojunk=False)
    pairs: LinePairs = []
    for name, i, i_end, j, j_end in matcher.get_opcodes():
        if name == "equal":
            pairs += zip(made[i:i_end], lines[j:j_end], strict=True)
        else:
            pairs += _most_alike(made[i:i_end], lines[j:j_end])
    return pairs


# ----------------------------------------------------------------------------------------------------- her words


def words_of_program(lesson: Lesson, program: Sequence[StepBlock]) -> dict[StepPlace, str]:
    """What the program says at each place, headings with it."""
    said = {block_place(lesson, block): block.title for block in program}
    return said | {place: group.text for block in program for group, place in group_places(lesson, block) if place}


class _Words:
    """The words of one language while they are gathered."""

    def __init__(self, lesson: Lesson, language: str) -> None:
        program = program_steps(lesson, load_catalogue(language))
        self.lesson, self.language = lesson, language
        self.program = words_of_program(lesson, program)
        holding = holding_words(lesson, language, program)
        mine = [words for words in lesson.own_words if words.language == language]
        # what does not hold was not in the file, and is kept
        self.waiting = [words for words in mine if words not in holding]
        self.said: dict[tuple[WordsKind, StepPlace], OwnWords] = {
            (words.kind, words.place): words for words in holding if words.kind is not WordsKind.NOTE
        }
        self.notes: list[OwnWords] = []

    def say(self, made: MadeLine, text: str) -> None:
        """Let a sentence or a heading be said so."""
        assert made.place is not None, "a note is not said in place of anything"
        kind = WordsKind.HEADING if made.line.heading else WordsKind.SENTENCE
        before = self.said.get((kind, made.place))
        instead = self.program.get(made.place, before.instead if before else made.line.text)
        if text == flat(instead):
            self.said.pop((kind, made.place), None)
            return
        self.waiting = [one for one in self.waiting if (one.kind, one.place) != (kind, made.place)]
        moves = () if made.line.heading else made.moves
        self.said[kind, made.place] = OwnWords(self.language, kind, made.place, text, instead, moves)

    def note(self, after: StepPlace, text: str) -> None:
        """Let something be said after what is said at a place."""
        moves = moves_said(self.lesson, after)
        self.notes.append(OwnWords(self.language, WordsKind.NOTE, after, text, moves=moves))

    def all(self) -> list[OwnWords]:
        """All of them: what is said otherwise, the notes, and what holds no longer."""
        found = [*self.said.values(), *self.notes]
        return [*found, *(words for words in self.waiting if words not in found)]


def words_in(lesson: Lesson, language: str, blocks: Sequence[StepBlock], lines: Sequence[StepLine]) -> list[OwnWords]:
    """A person's words in the lines of a language, and those that she had and that no longer hold.

    blocks : what was said in that language when the lines were made.
    """
    return said_otherwise(lesson, language, beside(list(made_lines(lesson, blocks)), lines))


def said_otherwise(lesson: Lesson, language: str, pairs: LinePairs) -> list[OwnWords]:
    """A person's words where lines as they were made and as they are stand beside each other; see `words_in`."""
    words = _Words(lesson, language)
    after = StepPlace("intro")
    for made, line in pairs:
        if made is None:
            assert line is not None, "one of the two is there"
            words.note(after, line.text)
        elif made.place is None:
            if line is not None:
                words.note(after, line.text)
        else:
            after = made.place
            if line is not None and line.text != made.line.text:
                words.say(made, line.text)
            elif line is None and not made.line.heading:
                words.say(made, "")
    return words.all()


def lines_by_language(text: str, languages: Iterable[str]) -> tuple[str | None, Iterator[tuple[str, list[StepLine]]]]:
    """The title of a ``steps.md``, and its lines in each language; a ReadError where the lesson has no such one."""
    title, sections = step_sections(text)
    named = {language_heading(load_catalogue(language)): language for language in languages}

    def in_languages() -> Iterator[tuple[str, list[StepLine]]]:
        for heading, lines in sections:
            if heading.text not in named:
                where = Place(line=heading.number)
                raise ReadError("lesson.no_such_language", where=where, name=heading.text, languages=list(named))
            yield named[heading.text], lines

    return title, in_languages()


def read_steps(text: str, lesson: Lesson, made: Mapping[str, Sequence[StepBlock]]) -> ReadSteps:
    """
    What a person said in ``steps.md`` since it was made.

    lesson : as it was when the file was made.
    made : the steps in it by language, as they were made.

    Raises `ReadError`, naming the line of a language that the lesson has not, and of words that are in none.
    """
    title, sections = lines_by_language(text, made)
    own = {
        language: [words for words in lesson.own_words if words.language == language]
        for language in dict.fromkeys([*made, *(words.language for words in lesson.own_words)])
    }
    for language, lines in sections:
        own[language] = words_in(lesson, language, made[language], lines)
    return ReadSteps(title or lesson.title, tuple(words for some in own.values() for words in some))
