"""Telling which holes are wrong, and what to do about it: the mouth's corners, its opening, the tongue."""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.harp import Embouchure, Move
from reedpath.listen.answer import EventAnswer, FaultKind, PlayAnswer, Practise
from reedpath.listen.reed_faults import holes_heard
from reedpath.wording import Catalogue

__all__ = ["hole_values"]


def _is_tongued(move: Move) -> bool:
    return move.embouchure is Embouchure.TONGUE or move.is_split


def _side(hole: int, move: Move) -> str:
    """On which side of a move's middle a hole lies."""
    return "left" if hole < move.centre else "right" if hole > move.centre else ""


def _missing_tip(holes: Sequence[int], move: Move, words: Catalogue) -> str:
    sides = {_side(hole, move) for hole in holes}
    side = sides.pop() if len(sides) == 1 else ""
    if side and _is_tongued(move):
        return words.say(f"listen.tip.corner_{side}")
    return words.say(f"listen.tip.wider_{side}" if side else "listen.tip.wider")


def _wrong_tip(pair: tuple[int, int], move: Move, words: Catalogue) -> str:
    asked, heard = pair
    way = "left" if heard > asked else "right"
    corner = "corner_" if _is_tongued(move) else ""
    return words.say(f"listen.tip.{corner}move_{way}", count=abs(heard - asked))


def _too_many_tip(holes: Sequence[int], move: Move, words: Catalogue) -> str:
    if any(move.holes[0] < hole < move.holes[-1] for hole in holes):
        return words.say("listen.tip.cover" if len(holes) == 1 and _is_tongued(move) else "listen.tip.smaller")
    sides = {_side(hole, move) for hole in holes}
    if len(sides) != 1:
        return words.say("listen.tip.smaller")
    return words.say(f"listen.tip.smaller_{'right' if 'left' in sides else 'left'}")


def _named(holes: Sequence[int], words: Catalogue) -> str:
    own = sorted(set(holes))
    return words.say("listen.holes", count=len(own), holes=words.join(own))


def _leak_tip(told: Sequence[EventAnswer], words: Catalogue) -> str:
    """What helps several single notes that leak: a side, where it is the same one always."""
    sides = {_side(hole, one.move) for one in told for hole in holes_heard(one.reeds).too_many}
    if len(sides) != 1:
        return words.say("listen.tip.smaller")
    return words.say(f"listen.tip.smaller_{'right' if 'left' in sides else 'left'}")


def hole_values(thing: Practise, play: PlayAnswer, words: Catalogue) -> dict[str, str | float]:
    """What a sentence on holes says: which, which in their place, and what helps."""
    told = [one for one in play.events if one.event in thing.events]
    move = thing.move
    if move is None:
        return {"tip": _leak_tip(told, words)}
    found = [holes_heard(one.reeds) for one in told]
    if thing.kind is FaultKind.HOLE_MISSING:
        holes = [hole for one in found for hole in one.missing] or list(move.holes[-1:])
        return {"holes": _named(holes, words), "tip": _missing_tip(holes, move, words)}
    if thing.kind is FaultKind.HOLE_TOO_MANY:
        holes = [hole for one in found for hole in one.too_many] or [move.holes[-1] + 1]
        return {"holes": _named(holes, words), "tip": _too_many_tip(sorted(set(holes)), move, words)}
    pairs = [pair for one in found for pair in one.wrong] or [(move.holes[-1], move.holes[-1] + 1)]
    return {
        "holes": _named([asked for asked, _ in pairs], words),
        "heard": _named([other for _, other in pairs], words),
        "tip": _wrong_tip(max(pairs, key=pairs.count), move, words),
    }
