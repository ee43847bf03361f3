"""Moves in words: the one place that says what a move is called, in every language.

Within a tuning no two moves have the same words, long or short (a property test holds this).
"""

from __future__ import annotations

from typing import Literal

from reedpath.harp import Alteration, Embouchure, Move
from reedpath.wording.catalogue import Catalogue


def covered_holes(move: Move) -> tuple[int, ...]:
    """The holes that the tongue covers between the sounding ones.

    >>> from reedpath.harp import Breath
    >>> covered_holes(Move((1, 4), Breath.BLOW))
    (2, 3)
    """
    return tuple(hole for hole in range(move.holes[0], move.holes[-1]) if hole not in move.holes)


def covered_words(move: Move, catalogue: Catalogue) -> str:
    """The holes that the tongue covers, as a sentence names them: "2 and 3", "le 2 et le 3"."""
    return catalogue.join([catalogue.say("hole.the", hole=str(hole)) for hole in covered_holes(move)])


def hole_words(move: Move, catalogue: Catalogue) -> str:
    """Hole and breath of a move, bends and tongue unsaid: "4 draw", "1, 2 and 3 blow", "6 overblow"."""
    holes = catalogue.join(move.holes)
    if move.alteration.is_overbend:
        return catalogue.say(f"move.overbend.{move.alteration}", holes=holes)
    kind = "natural" if len(move.holes) == 1 else "chord"
    return catalogue.say(f"move.{kind}.{move.breath}", holes=holes)


def _long(move: Move, catalogue: Catalogue) -> str:
    holes = catalogue.join(move.holes)
    if move.is_dip:
        return catalogue.say(f"move.dip.{move.breath}", holes=holes)
    if move.alteration is Alteration.BEND:
        depth = catalogue.say("depth.adjective", count=-move.semitones)
        return catalogue.say(f"move.bend.{move.breath}", holes=holes, depth=depth)
    if move.is_split and move.embouchure is Embouchure.TONGUE:
        return catalogue.say(f"move.split.{move.breath}", holes=holes, covered=covered_words(move, catalogue))
    return hole_words(move, catalogue)


def _short(move: Move, catalogue: Catalogue) -> str:
    holes = catalogue.join(move.holes)
    if move.is_dip:
        return catalogue.say(f"move.short.dip_{move.breath}", holes=holes)
    if move.alteration is Alteration.BEND:
        depth = catalogue.say("depth.adjective", count=-move.semitones)
        return catalogue.say(f"move.short.bend_{move.breath}", holes=holes, depth=depth)
    if move.is_split and move.embouchure is Embouchure.TONGUE:
        return catalogue.say(f"move.short.split_{move.breath}", holes=holes)
    return hole_words(move, catalogue)


def move_words(move: Move | None, catalogue: Catalogue, *, short: bool = False) -> str:
    """
    A move in words; ``short`` as it is said in passing; None is nothing to play.

    >>> from reedpath.harp import Breath
    >>> from reedpath.wording import load_catalogue
    >>> bent = Move((4,), Breath.DRAW, Alteration.BEND, -1)
    >>> move_words(bent, load_catalogue("en")), move_words(bent, load_catalogue("en"), short=True)
    ('4 draw, half-step bend', '4 draw half-step bend')
    >>> move_words(bent, load_catalogue("fr"))
    '4 aspiré, altéré d’un demi-ton'
    """
    if move is None:
        return catalogue.say("move.silent")
    words = _short(move, catalogue) if short else _long(move, catalogue)
    if move.embouchure is Embouchure.TONGUE and not move.is_split:
        return catalogue.say("move.short.tongued" if short else "move.tongued", move=words)
    return words


def move_in_sentence(move: Move | None, catalogue: Catalogue, place: Literal["the", "from", "to"]) -> str:
    """
    A move as it is said in passing, with the article or the preposition that its language wants there.

    place : "from" and "to" on the way from one move to another, else "the".

    >>> from reedpath.harp import Breath
    >>> from reedpath.wording import load_catalogue
    >>> draw, chord = Move((4,), Breath.DRAW), Move((1, 2, 3), Breath.BLOW)
    >>> [move_in_sentence(draw, load_catalogue(name), "from") for name in ("en", "fr")]
    ['from 4 draw', 'du 4 aspiré']
    >>> move_in_sentence(chord, load_catalogue("fr"), "to")
    'aux trous 1, 2 et 3 soufflés'
    """
    words = move_words(move, catalogue, short=True)
    return words if move is None else catalogue.say(f"move.{place}", move=words, count=len(move.holes))
