"""The legend of a tab: each sign that a page uses, shown by its first example, in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reedpath.arrange import RouteEvent
from reedpath.harp import Alteration, Move, format_move
from reedpath.page.score.sheet import Sheet
from reedpath.page.score.tab_signs import event_token, is_other_note, marks_for
from reedpath.wording import Catalogue, move_words


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign of the tab and what it means."""

    sign: str
    words: str


def _kind(move: Move) -> tuple[object, ...]:
    """What makes a move look different on the page, whatever its hole."""
    shape = "split" if move.is_split else "chord" if len(move.holes) > 1 else "single"
    depth = move.semitones if move.alteration is Alteration.BEND else 0
    return (shape, list(Alteration).index(move.alteration), -depth, move.breath)


def moves_legend(sheets: Sequence[Sheet], catalogue: Catalogue, *, ascii_only: bool = False) -> tuple[Sign, ...]:
    """One example of each kind of move in routes, plain ones first."""
    examples: dict[tuple[object, ...], Sign] = {}
    for sheet in sheets:
        for move in (move for one in sheet.route.events for move in one.choice.moves):
            if _kind(move) not in examples:
                tab = format_move(move, sheet.notation, ascii_only=ascii_only)
                examples[_kind(move)] = Sign(tab, move_words(move, catalogue))
    order = {"single": 0, "chord": 1, "split": 2}
    kinds = sorted(examples, key=lambda kind: (order[str(kind[0])], kind[1], kind[2], kind[3] != "blow"))
    return tuple(examples[kind] for kind in kinds)


# what makes an event use a sign, in the legend's order
_USES: dict[str, Callable[[RouteEvent], bool]] = {
    "let_go": lambda one: one.choice.attack_semitones < 0,
    "pressed": lambda one: one.choice.fall_semitones < 0 or one.choice.attack_semitones > 0,
    "run": lambda one: bool(one.choice.lead_in or one.choice.lead_out),
    "grace": lambda one: one.event.grace,
    "vibrato": lambda one: one.event.ornaments.vibrato and one.choice.move is not None,
    "changed": is_other_note,
    "silent": lambda one: one.choice.move is None,
}


def signs_legend(
    sheets: Sequence[Sheet], catalogue: Catalogue, *, ascii_only: bool = False, points_back: bool = False
) -> tuple[Sign, ...]:
    """The further signs that routes use: glides and runs by their first example, then single marks.

    points_back : as for `event_token`.
    """
    marks = marks_for(ascii_only=ascii_only)
    alone = {"vibrato": marks.vibrato, "changed": marks.changed, "silent": marks.silent}
    events = [(sheet, one) for sheet in sheets for one in sheet.route.events]
    signs = []
    for name, uses in _USES.items():
        sheet, example = next(((sheet, one) for sheet, one in events if uses(one)), (None, None))
        if sheet is not None and example is not None:
            token = alone.get(name) or event_token(
                example, notation=sheet.notation, ascii_only=ascii_only, points_back=points_back
            )
            signs.append(Sign(token + (marks.run if name == "grace" else ""), catalogue.say(f"ribbon.{name}")))
    if any(one.breathe_before for sheet in sheets for one in sheet.route.events[1:]):
        signs.append(Sign(marks.breath, catalogue.say("ribbon.breath")))
    return tuple(signs)


def legend_of_sheets(
    sheets: Sequence[Sheet], catalogue: Catalogue, *, ascii_only: bool = False, points_back: bool = False
) -> tuple[Sign, ...]:
    """One legend for several sheets: an example of each kind of move, then the further signs."""
    return (
        *moves_legend(sheets, catalogue, ascii_only=ascii_only),
        *signs_legend(sheets, catalogue, ascii_only=ascii_only, points_back=points_back),
    )
