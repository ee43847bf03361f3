"""Moves as harmonica tab, both ways: written in a notation, and read from what people type."""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import pairwise

from msgspec import Struct

from reedpath.errors import NotationError, Place, Term
from reedpath.harp.moves import Alteration, Breath, Embouchure, Move
from reedpath.harp.notation import KINDS, Notation, load_notation, plain_characters
from reedpath.harp.reach import holes_exist, no_such_move, reach_of
from reedpath.harp.tuning import Tuning, load_tuning

# longest piece of tab that is looked at, characters; a chord of 24 written holes is shorter
LONGEST_TOKEN = 80

_BETWEEN = r"(?:\s*[/+,&-]\s*|\s+)"
_WORD = re.compile(r"\s*(split|chord)", re.IGNORECASE)
_RANGE = re.compile(r"([0-9]{1,2})\s*-\s*([0-9]{1,2})")
_BRACKETED_RANGE = re.compile(rf"\({_RANGE.pattern}\)")
_MANY_NOTES = re.compile(r"\d['b]*\s*[-+]\s*\d")


def kind_of(move: Move) -> str:
    """Which of a notation's templates a move uses."""
    return move.alteration.value if move.alteration.is_overbend else move.breath.value


def _holes_text(holes: tuple[int, ...], notation: Notation, *, inside: bool) -> str:
    text, neighbours = str(holes[0]), False
    for before, hole in pairwise(holes):
        if hole == before + 1:
            text, neighbours = f"{text}{notation.chord_between}{hole}", True
        else:
            text = f"{text}{notation.split_between}{hole}"
    wrap = neighbours and not inside
    return f"{notation.chord_open}{text}{notation.chord_close}" if wrap else text


def _marks_text(move: Move, notation: Notation) -> str:
    if move.alteration is not Alteration.BEND:
        return ""
    return notation.dip if move.is_dip else notation.bend * -move.semitones


@lru_cache(maxsize=8192)
def _format(move: Move, notation: Notation, substitutes: tuple[tuple[str, str], ...]) -> str:
    template = notation.write[KINDS.index(kind_of(move))]
    inside = "{inside}" in template
    holes = _holes_text(move.holes, notation, inside=inside)
    text = template.format(holes=holes, inside=holes, marks=_marks_text(move, notation))
    for long, short in substitutes:
        text = text.replace(long, short)
    return text


def format_move(move: Move, notation: Notation | str = "sign", *, ascii_only: bool = False) -> str:
    """
    Write a move: "-3'", "3D'", "↓3'" ...

    The embouchure is not written: a split says it, elsewhere the lips alone are understood.

    notation : a notation or the name of a shipped one.
    ascii_only : use the notation's plain substitutes (^ and v for arrows).

    >>> from reedpath.harp import Breath
    >>> bend = Move((3,), Breath.DRAW, Alteration.BEND, -2)
    >>> [format_move(bend, name) for name in ("sign", "letters-fr", "arrow", "bracket")]
    ["-3''", "3A''", "↓3''", "(3'')"]
    """
    chosen = load_notation(notation) if isinstance(notation, str) else notation
    return _format(move, chosen, chosen.substitutes if ascii_only else ())


def plain_text(text: str) -> str:
    """
    Text with look-alike characters read as one: typographic apostrophes, minus signs, wide digits.

    >>> plain_text("−３’ ④")
    "-3' (4)"
    """
    table = plain_characters()
    return "".join(table.get(character, character) for character in text)


class _Grammar(Struct, frozen=True):
    """A notation's templates, compiled: kind of move, pattern."""

    patterns: tuple[tuple[str, re.Pattern[str]], ...]
    bend: re.Pattern[str]
    substitutes: tuple[tuple[str, str], ...]


def _any_of(texts: tuple[str, ...]) -> str:
    return "|".join(re.escape(plain_text(text)) for text in texts)


def _holes_pattern(notation: Notation) -> str:
    joins = re.escape(notation.bare_joins)
    bare = rf"[0-9]+(?:[{joins}][0-9]+)*"
    return rf"\([^()]*\)|{bare}" if notation.brackets_join else bare


def _compiled(template: str, notation: Notation) -> re.Pattern[str]:
    marks = rf"(?P<marks>(?:{_any_of(notation.bend_read)})+|{_any_of(notation.dip_read)}|)"
    pattern = re.escape(plain_text(template))
    for holder, group in (
        ("{holes}", rf"(?P<holes>{_holes_pattern(notation)})"),
        ("{inside}", rf"\s*(?P<holes>[0-9]+(?:{_BETWEEN}[0-9]+)*)\s*"),
        ("{marks}", marks),
    ):
        # the template's own braces were read as brackets along with the rest
        pattern = pattern.replace(re.escape(plain_text(holder)), group)
    return re.compile(pattern, re.IGNORECASE)


@lru_cache(maxsize=64)
def _grammar(notation: Notation) -> _Grammar:
    patterns = tuple(
        (kind, _compiled(template, notation))
        for kind, templates in zip(KINDS, notation.read, strict=True)
        for template in templates
    )
    bend = re.compile(_any_of(notation.bend_read), re.IGNORECASE)
    short_first = tuple((plain_text(short), plain_text(long)) for long, short in notation.substitutes)
    return _Grammar(patterns, bend, short_first)


def _run_of_neighbours(digits: str, most: int) -> tuple[int, ...]:
    """Holes of "123" or "8910": one hole if there is such a one, else neighbours run together."""
    if 1 <= int(digits) <= most:
        return (int(digits),)
    for length in (1, 2):
        first, text = int(digits[:length] or 0), ""
        holes: list[int] = []
        while len(text) < len(digits):
            holes.append(first + len(holes))
            text += str(holes[-1])
        if text == digits and len(holes) > 1 and holes[0] >= 1:
            return tuple(holes)
    raise NotationError("harp.no_holes_run_together", where=Place(hole=int(digits)), digits=digits, most=most)


def _holes(text: str, most: int) -> tuple[int, ...]:
    inner = text.strip("() \t")
    parts = re.split(_BETWEEN, inner)
    if not all(part.isascii() and part.isdigit() for part in parts):
        raise NotationError("harp.names_no_holes", text=inner)
    if "-" in inner and not (len(parts) == 2 and int(parts[1]) == int(parts[0]) + 1):
        raise NotationError("harp.chord_or_split", text=inner)
    holes = _run_of_neighbours(parts[0], most) if len(parts) == 1 else tuple(int(part) for part in parts)
    if text.startswith("(") and len(holes) == 1:
        raise NotationError("harp.brackets_of_one", text=text)
    holes_exist(holes, most)
    if tuple(sorted(set(holes))) != holes:
        raise NotationError("harp.holes_order", text=inner)
    return holes


def _overbend(hole: int, alteration: Alteration, tuning: Tuning) -> Move:
    for move in reach_of(tuning).single:
        if move.holes == (hole,) and move.alteration is alteration:
            return move
    raise no_such_move(Move((hole,), Breath.BLOW, alteration), tuning)


def _move(kind: str, holes: tuple[int, ...], marks: str, grammar: _Grammar, tuning: Tuning) -> Move:
    if kind in ("overblow", "overdraw"):
        if len(holes) > 1:
            raise NotationError("harp.several_overbend", where=Place(hole=holes[0]))
        return _overbend(holes[0], Alteration(kind), tuning)
    breath = Breath(kind)
    if not marks:
        split = holes[-1] - holes[0] >= len(holes) > 1
        return Move(holes, breath, embouchure=Embouchure.TONGUE if split else Embouchure.PUCKER)
    if len(holes) > 1:
        raise NotationError("harp.several_bent", where=Place(hole=holes[0]))
    depth = len(grammar.bend.findall(marks)) if grammar.bend.sub("", marks) == "" else 0
    return Move(holes, breath, Alteration.BEND, -depth)


def _candidates(text: str, notation: Notation, tuning: Tuning) -> list[Move]:
    grammar = _grammar(notation)
    for short, long in grammar.substitutes:
        text = text.replace(short, long)
    moves: list[Move] = []
    problem: NotationError | None = None
    for kind, pattern in grammar.patterns:
        match = pattern.fullmatch(text)
        if match is None:
            continue
        try:
            holes = _holes(match["holes"], tuning.holes)
            move = _move(kind, holes, match.groupdict().get("marks") or "", grammar, tuning)
        except NotationError as error:
            problem = problem or error
        else:
            if move not in moves:
                moves.append(move)
    if not moves and problem is not None:
        raise problem
    return moves


def _signed_group(text: str, notation: Notation, tuning: Tuning) -> Move | None:
    """The chord of "(-1 -2 -3)", "(-1-2-3)" or "(1D 2D)", where each hole carries its breath."""
    if not (notation.brackets_join and text.startswith("(") and text.endswith(")")):
        return None
    parts = re.split(r"[\s,/]+|(?<=[0-9])(?=[+-])", text.strip("() \t"))
    singles = [move for part in parts for move in _candidates(part, notation, tuning)[:1]]
    holes = tuple(hole for move in singles for hole in move.holes)
    alike = {(move.breath, move.alteration, len(move.holes)) for move in singles}
    if not 2 <= len(parts) == len(singles) or len(alike) > 1 or tuple(sorted(set(holes))) != holes:
        return None
    breath, alteration, _ = alike.pop()
    if alteration is not Alteration.NATURAL:
        return None
    split = holes[-1] - holes[0] >= len(holes)
    return Move(holes, breath, embouchure=Embouchure.TONGUE if split else Embouchure.PUCKER)


def parse_move(text: str, notation: Notation | str = "sign", *, tuning: Tuning | None = None) -> Move:
    """
    Read one move as a notation writes it, with the look-alike characters that people type.

    How high an overblow sounds and how many holes there are depend on the tuning (standard if not given);
    whether a bend exists there is `check_move`'s question. Raises NotationError.

    >>> parse_move("−3’’").semitones, parse_move("7o").alteration.value
    (-2, 'overdraw')
    >>> parse_move("123D", "letters-en").holes
    (1, 2, 3)
    """
    chosen = load_notation(notation) if isinstance(notation, str) else notation
    return _parse(text, chosen, tuning if tuning is not None else load_tuning("standard"))


@lru_cache(maxsize=8192)
def _parse(text: str, notation: Notation, tuning: Tuning) -> Move:
    if len(text) > LONGEST_TOKEN:
        raise NotationError("harp.move_too_long", start=text[:20], count=len(text))
    plain, word = _without_word(plain_text(text).strip(), notation, tuning.holes)
    signed = _signed_group(plain, notation, tuning)
    moves = [signed] if signed else _candidates(plain, notation, tuning)
    if not moves:
        raise _no_move(text, plain, notation)
    single = set(reach_of(tuning).single)
    move = next((move for move in moves if move in single), moves[0])
    if word and (len(move.holes) == 1 or (word == "chord" and move.is_split)):
        raise NotationError("harp.not_as_called", where=Place(hole=move.holes[0]), text=text, kind=Term(word))
    return move


def _without_word(text: str, notation: Notation, most: int) -> tuple[str, str]:
    """Text less the word "split" or "chord", which says how its range is meant, and that word."""
    found = _WORD.search(text)
    if found is None:
        return text, ""
    word = found[1].lower()

    def spelt_out(match: re.Match[str]) -> str:
        first, last = int(match[1]), int(match[2])
        if word == "split":
            return f"{first}/{last}"
        holes_exist((first, last), most)
        inner = notation.chord_between.join(str(hole) for hole in range(first, last + 1))
        return f"{notation.chord_open}{inner}{notation.chord_close}"

    rest = _WORD.sub("", text, count=1)
    pattern = _BRACKETED_RANGE if notation.brackets_join and "(" in rest else _RANGE
    return pattern.sub(spelt_out, rest, count=1), word


def _no_move(text: str, plain: str, notation: Notation) -> NotationError:
    """The error for a text that is no move, with what was likely meant."""
    if re.fullmatch(r"[A-Ha-h][#b]?-?\d?", plain):
        return NotationError("harp.note_for_move", text=text, notation=notation.title)
    if _MANY_NOTES.search(plain):
        return NotationError("harp.moves_run_together", text=text, notation=notation.title)
    blow, draw, bend = (format_move(move, notation) for move in reach_of(load_tuning("standard")).single[:3])
    return NotationError("harp.no_move", text=text, notation=notation.title, blow=blow, draw=draw, bend=bend)
