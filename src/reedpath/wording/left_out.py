"""What a phrase does not hold of its source, told to a person: few lines, the weightiest things first."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import Place, plain_text
from reedpath.phrase import LeftOut, left_out_kinds
from reedpath.wording.catalogue import Catalogue
from reedpath.wording.error_messages import place_words

# lines of a block; ours: what a teacher reads through
MOST_LINES = 6
# places of a doubtful thing that are all named, since each is to be looked at; of more the first; ours
MOST_PLACES = 6
# values that are numbers, to be written as the language writes them
_NUMBERS = frozenset({"percent", "bpm", "hertz"})
_DECIMAL = re.compile(r"-?\d{1,15}(?:\.\d{1,9})?")


class _Gathered(Struct, frozen=True):
    """A kind of thing, once.

    one : with its first place and the sum of its counts. often : whether it has several places.
    places : all of them, where each is known; nothing where one stands for several.
    """

    one: LeftOut
    often: bool
    places: tuple[Place, ...]


class LeftOutBlock(Struct, frozen=True):
    """A heading and the lines under it.

    name : "left_out" or "doubtful"; title : in the language asked for.
    lines : whole sentences, one for each kind of thing.
    """

    name: str
    title: str
    lines: tuple[str, ...]


def _number(text: str, catalogue: Catalogue) -> str:
    return catalogue.number(float(text)) if _DECIMAL.fullmatch(text) else plain_text(text)


def left_out_words(one: LeftOut, catalogue: Catalogue) -> str:
    """What was left out and how often, without its place.

    >>> from reedpath.wording import load_catalogue
    >>> left_out_words(LeftOut("trills", count=2), load_catalogue("fr"))
    '2 trilles'
    """
    key = f"left_out.{one.kind}"
    values: dict[str, str | float] = {
        name: _number(value, catalogue) if name in _NUMBERS else plain_text(value) for name, value in one.values
    }
    if "count" in catalogue.messages[key].gaps:
        values["count"] = one.count
    return catalogue.say(key, variant=0, **values)


def _gathered(left_out: Iterable[LeftOut]) -> list[_Gathered]:
    """Each kind once."""
    found: dict[tuple[str, tuple[tuple[str, str], ...]], _Gathered] = {}
    for one in left_out:
        before = found.get((one.kind, one.values))
        places: tuple[Place, ...] = (one.place,) if one.count == 1 else ()
        if before is None:
            often = one.count > 1 and one.place.last_tune is None
            found[one.kind, one.values] = _Gathered(one, often=often, places=places)
        else:
            places = (*before.places, *places) if before.places and places else ()
            summed = replace(before.one, count=before.one.count + one.count)
            found[one.kind, one.values] = _Gathered(summed, often=True, places=places)
    return sorted(found.values(), key=lambda each: left_out_kinds()[each.one.kind].rank)


def _line(each: _Gathered, catalogue: Catalogue) -> str:
    what, place = left_out_words(each.one, catalogue), place_words(each.one.place, catalogue)
    places = [place_words(one, catalogue) for one in each.places]
    if each.one.doubtful and 1 < len(places) <= MOST_PLACES and all(places):
        what = catalogue.say("source.at", what=what, place=catalogue.join(places))
    elif place:
        what = catalogue.say("source.first_at" if each.often else "source.at", what=what, place=place)
    return catalogue.sentence(what)


def _lines(things: Sequence[_Gathered], catalogue: Catalogue, most: int) -> tuple[str, ...]:
    """At most so many lines, the last of them for all that is not named."""
    shown = things if len(things) <= most else things[: most - 1]
    lines = [_line(each, catalogue) for each in shown]
    if len(shown) < len(things):
        more = catalogue.say("source.more", count=len(things) - len(shown))
        lines.append(catalogue.sentence(more))
    return tuple(lines)


def left_out_blocks(
    left_out: Iterable[LeftOut], catalogue: Catalogue, *, most: int = MOST_LINES
) -> tuple[LeftOutBlock, ...]:
    """
    What was left out, and what was guessed or is doubtful: a block of lines for each that there is.

    The same thing at several places is told once, with the first of them; where it is doubtful and they are few, with
    all of them. ``most`` is the number of lines of a block.
    """
    things = _gathered(left_out)
    blocks = []
    for name, doubtful in (("left_out", False), ("doubtful", True)):
        told = [each for each in things if each.one.doubtful is doubtful]
        if told:
            blocks.append(LeftOutBlock(name, catalogue.say(f"source.{name}"), _lines(told, catalogue, most)))
    return tuple(blocks)
