"""Reading a move from a piece of harmonica tab."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from reedpath.errors import NotationError
from reedpath.harp.checking import holes_exist, possible_at
from reedpath.harp.moves import Alteration, Breath, Embouchure, Move
from reedpath.harp.notation import KINDS, Notation, load_notation, plain_characters
from reedpath.harp.reach import reach_of
from reedpath.harp.tuning import Tuning, load_tuning
from reedpath.harp.writing import format_move

__all__ = ["parse_move", "plain_text"]

# longest piece of tab that is looked at, characters; a chord of 24 written holes is shorter
LONGEST_TOKEN = 80

_BETWEEN = r"(?:\s*[/+,&-]\s*|\s+)"
_WORD = re.compile(r"\s*(split|chord)", re.IGNORECASE)
_RANGE = re.compile(r"([0-9]{1,2})\s*-\s*([0-9]{1,2})")
_BRACKETED_RANGE = re.compile(rf"\({_RANGE.pattern}\)")
_MANY_NOTES = re.compile(r"\d['b]*\s*[-+]\s*\d")


def plain_text(text: str) -> str:
    """
    Text with look-alike characters read as one: typographic apostrophes, minus signs, wide digits.

    >>> plain_text("−３’ ④")
    "-3' (4)"
    """
    table = plain_characters()
    return "".join(table.get(character, character) for character in text)


@dataclass(frozen=True, slots=True)
class _Grammar:
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
    raise NotationError(
        f"{digits} is no hole of a harp with {most}, nor neighbouring holes run together",
        where=f"hole {digits}",
        hint="write 1/4 for a split, (1 2 3) for a chord",
    )


def _holes(text: str, most: int) -> tuple[int, ...]:
    inner = text.strip("() \t")
    parts = re.split(_BETWEEN, inner)
    if not all(part.isascii() and part.isdigit() for part in parts):
        raise NotationError(f"{inner!r} names no holes")
    if "-" in inner and not (len(parts) == 2 and int(parts[1]) == int(parts[0]) + 1):
        raise NotationError(
            f"{inner} could be a chord or a split",
            hint="write (1 2 3 4) for all the holes from 1 to 4, 1/4 for the two alone",
        )
    holes = _run_of_neighbours(parts[0], most) if len(parts) == 1 else tuple(int(part) for part in parts)
    if text.startswith("(") and len(holes) == 1:
        raise NotationError(f"brackets hold several holes together here, unlike {text!r}")
    holes_exist(holes, most)
    if tuple(sorted(set(holes))) != holes:
        raise NotationError(f"holes ascend without repeats, unlike {inner}")
    return holes


def _overbend(hole: int, alteration: Alteration, tuning: Tuning) -> Move:
    for move in reach_of(tuning).single:
        if move.holes == (hole,) and move.alteration is alteration:
            return move
    raise NotationError(f"no {alteration.value} here, only {possible_at(hole, tuning)}", where=f"hole {hole}")


def _move(kind: str, holes: tuple[int, ...], marks: str, grammar: _Grammar, tuning: Tuning) -> Move:
    if kind in ("overblow", "overdraw"):
        if len(holes) > 1:
            raise NotationError("only a single hole overblows or overdraws", where=f"hole {holes[0]}")
        return _overbend(holes[0], Alteration(kind), tuning)
    breath = Breath(kind)
    if not marks:
        split = holes[-1] - holes[0] >= len(holes) > 1
        return Move(holes, breath, embouchure=Embouchure.TONGUE if split else Embouchure.PUCKER)
    if len(holes) > 1:
        raise NotationError("only a single hole is bent", where=f"hole {holes[0]}")
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
    """The chord of "(-1 -2 -3)" or "(1D 2D)", where each hole carries its breath."""
    if not (notation.brackets_join and text.startswith("(") and text.endswith(")")):
        return None
    parts = re.split(r"[\s,/]+", text.strip("() \t"))
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
        raise NotationError(f"{text[:20]!r}... is too long for one move: {len(text)} characters")
    plain, word = _without_word(plain_text(text).strip(), notation, tuning.holes)
    signed = _signed_group(plain, notation, tuning)
    moves = [signed] if signed else _candidates(plain, notation, tuning)
    if not moves:
        raise NotationError(f"{text!r} is no move in {notation.title!r}", hint=_hint(plain, notation))
    single = set(reach_of(tuning).single)
    move = next((move for move in moves if move in single), moves[0])
    if word and (len(move.holes) == 1 or (word == "chord" and move.is_split)):
        raise NotationError(f"{text!r} is no {word}", where=f"hole {move.holes[0]}")
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


def _hint(text: str, notation: Notation) -> str:
    if re.fullmatch(r"[A-Ha-h][#b]?-?\d?", text):
        return "a letter first is the name of a note; a move begins with its hole"
    if _MANY_NOTES.search(text):
        return "put a space between notes; write 1/4 for a split, (1 2 3 4) for a chord"
    shown = [format_move(move, notation) for move in reach_of(load_tuning("standard")).single[:3]]
    return f"hole 1 is written {shown[0]} for blow, {shown[1]} for draw, {shown[2]} for a bend"
