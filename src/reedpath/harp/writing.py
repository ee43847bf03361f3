"""Writing a move in a notation."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

from reedpath.harp.moves import Alteration, Move
from reedpath.harp.notation import KINDS, Notation, load_notation

__all__ = ["format_move"]


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

    Parameters
    ----------
    notation : a notation or the name of a shipped one.
    ascii_only : use the notation's plain substitutes (^ and v for arrows).

    >>> from reedpath.harp import Breath
    >>> bend = Move((3,), Breath.DRAW, Alteration.BEND, -2)
    >>> [format_move(bend, name) for name in ("sign", "letters-fr", "arrow", "bracket")]
    ["-3''", "3A''", "↓3''", "(3'')"]
    """
    chosen = load_notation(notation) if isinstance(notation, str) else notation
    return _format(move, chosen, chosen.substitutes if ascii_only else ())
