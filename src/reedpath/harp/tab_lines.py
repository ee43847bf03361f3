"""Lines of harmonica tab cut into moves, bar lines and the rest, and the notation they are likely in."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise

from reedpath.errors import NotationError
from reedpath.harp.moves import Breath, Move
from reedpath.harp.notation import Notation, load_notation, notation_names
from reedpath.harp.reach import check_move
from reedpath.harp.tab_moves import parse_move, plain_text
from reedpath.harp.tuning import Tuning, load_tuning

# characters of a text that a guess looks at; enough for any tune, bounded for hostile input
MOST_GUESSED_CHARACTERS = 20_000
# weight of a text that uses one breath only: tunes use both (common practice, no source)
ONE_BREATH_WEIGHT = 0.6

_PIECE = re.compile(
    r"(?P<bar>[|‖:]*[|‖][|‖:]*)"
    r"|(?P<chunk>(?:[(\[{（［][^()\[\]{}（）［］|]*[)\]}）］]|[^\s,;|‖])+(?:[ \t]+(?:split|chord)\b)?)",
    re.IGNORECASE,
)
# where a new move may begin inside a piece typed without spaces: after a mark, or before an arrow; a sign after
# a digit may be a range and is no seam
_SEAMS = (
    re.compile(r"(?<=[^\s0-9(/&+,-])(?=[0-9(↑↓+-])"),
    re.compile(r"(?<=[^\s(↑↓^v])(?=[↑↓^v])"),
)


class TokenKind(StrEnum):
    """What a piece of a line of tab is."""

    MOVE = "move"
    BAR = "bar"
    OTHER = "other"  # words, rests, shakes: the reader's business


@dataclass(frozen=True, slots=True)
class TabToken:
    """One piece of a line of tab.

    kind : move, bar line or something else.
    text : as it stands in the line.
    column : 0-based index of its first character in the line.
    move : the move read, None for the other kinds.
    problem : why a piece that is not a bar line could not be read as a move, else None.
    """

    kind: TokenKind
    text: str
    column: int
    move: Move | None = None
    problem: NotationError | None = None


@dataclass(frozen=True, slots=True)
class NotationGuess:
    """How well a notation fits a text.

    name : of the notation.
    score : 0 to 1, greater fits better.
    moves : pieces read as moves that a harp of the tuning can play.
    problems : pieces with a digit that are no such move.
    """

    name: str
    score: float
    moves: int
    problems: int


@lru_cache(maxsize=64)
def _reader(notation: Notation, tuning: Tuning) -> Callable[[str], Move | NotationError]:
    """Reads a piece: its move or why there is none; refusals recur in a text as moves do, so both are kept."""

    @lru_cache(maxsize=8192)
    def read(text: str) -> Move | NotationError:
        try:
            return parse_move(text, notation, tuning=tuning)
        except NotationError as error:
            return error

    return read


def _token(text: str, column: int, read: Callable[[str], Move | NotationError]) -> TabToken:
    found = read(text)
    if isinstance(found, Move):
        return TabToken(TokenKind.MOVE, text, column, found)
    # a new one for each place, since a reader may add a place to it
    problem = NotationError.like(found)
    return TabToken(TokenKind.OTHER, text, column, problem=problem)


def _tokens(text: str, column: int, read: Callable[[str], Move | NotationError]) -> list[TabToken]:
    """A piece, or the moves of "4B4D5B" typed without spaces where every part is a move."""
    token = _token(text, column, read)
    for seam in () if token.move else _SEAMS:
        cuts = [0, *(match.start() for match in seam.finditer(text)), len(text)]
        if all(isinstance(read(text[start:end]), Move) for start, end in pairwise(cuts)):
            return [_token(text[start:end], column + start, read) for start, end in pairwise(cuts)]
    return [token]


def tokenize_tab(line: str, notation: Notation | str, *, tuning: Tuning | None = None) -> tuple[TabToken, ...]:
    """
    Cut a line of tab into moves, bar lines and other pieces, with their columns.

    Blanks, commas and semicolons part the pieces; brackets hold theirs together. Whether a bend exists on
    the tuning is not asked here (see `check_move`).

    >>> [token.text for token in tokenize_tab("4D (1 2)B | 4D'5B", "letters-en")]
    ['4D', '(1 2)B', '|', "4D'", '5B']
    """
    chosen = load_notation(notation) if isinstance(notation, str) else notation
    reeds = tuning if tuning is not None else load_tuning("standard")
    read = _reader(chosen, reeds)
    tokens: list[TabToken] = []
    for match in _PIECE.finditer(line):
        if match["bar"]:
            tokens.append(TabToken(TokenKind.BAR, match["bar"], match.start()))
        else:
            tokens += _tokens(match["chunk"], match.start(), read)
    return tuple(tokens)


def _has_digit(text: str) -> bool:
    return any("0" <= character <= "9" for character in plain_text(text))


def _playable(move: Move, tuning: Tuning) -> bool:
    try:
        check_move(move, tuning)
    except NotationError:
        return False
    return True


def _fit(chunks: Mapping[str, int], notation: Notation, tuning: Tuning) -> NotationGuess:
    """How well a notation fits the pieces of a text, each with how often it stands there."""
    read = _reader(notation, tuning)
    pieces: Counter[Move | None] = Counter()
    for chunk, count in chunks.items():
        for token in _tokens(chunk, 0, read):
            if token.move or _has_digit(token.text):
                pieces[token.move] += count
    moves = {move: count for move, count in pieces.items() if move and _playable(move, tuning)}
    count, total = sum(moves.values()), pieces.total()
    if not count:
        return NotationGuess(notation.name, 0.0, 0, total)
    share = count / total
    both = 1.0 if {move.breath for move in moves} == set(Breath) else ONE_BREATH_WEIGHT
    return NotationGuess(notation.name, share * share * both * notation.prior, count, total - count)


def guess_notation(text: str, *, tuning: Tuning | None = None) -> tuple[NotationGuess, ...]:
    """
    The shipped notations, best fitting first, those that read nothing left out.

    The score is the square of the share of pieces with a digit that read as moves the harp can play, times
    how usual the notation is, less where only one breath would occur (common practice: tunes use both).
    Two close scores at the top mean that the text does not tell.

    >>> guess_notation("4 -4 5 -5 -4'")[0].name, guess_notation("4 (4) 5 (5)")[0].name
    ('sign', 'bracket')
    """
    reeds = tuning if tuning is not None else load_tuning("standard")
    lines = text[:MOST_GUESSED_CHARACTERS].splitlines()
    pieces = (match for line in lines for match in _PIECE.finditer(line))
    chunks = Counter(match["chunk"] for match in pieces if not match["bar"])
    guesses = [_fit(chunks, load_notation(name), reeds) for name in notation_names()]
    return tuple(sorted((g for g in guesses if g.score > 0), key=lambda g: (-g.score, g.name)))
