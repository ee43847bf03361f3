"""Signs: each move of a lesson once, as a symbol that the page shows large or small, and the harp it lights."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import quoteattr

from reedpath.arrange import Choice, Route, RouteEvent
from reedpath.harp import Move, format_move
from reedpath.page.badges import badge_shapes, badge_width, harp_row, lit_holes
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.shapes import Shape
from reedpath.page.drawing.svg import FONTS, SvgWriter, number
from reedpath.page.ribbon.svg import choice_words
from reedpath.wording import Catalogue, move_words

# units to a row of the symbols, and rows above and below the middle of a sign that weights, wedge and ink need
ROW_PX, ABOVE, BELOW, BESIDE = 40.0, 0.62, 0.58, 0.08


@dataclass(frozen=True, slots=True)
class MoveSymbols:
    """The different signs of a route.

    choices : one choice of each, in the order they first come.
    shaken : whether each has vibrato.
    views : the viewBox of each one's symbol.
    of_events : the sign of each event.
    symbols : SVG with a symbol ``sign-N`` for each.
    harp : the harp as SVG, with a hidden group ``data-sign="N"`` of lit holes for each.
    """

    choices: tuple[Choice, ...]
    shaken: tuple[bool, ...]
    views: tuple[str, ...]
    of_events: tuple[int, ...]
    symbols: str
    harp: str

    def words(self, catalogue: Catalogue) -> list[str]:
        """Each sign in words, and how its pitch goes."""
        return [
            choice_words(choice, catalogue, vibrato=vibrato)
            for choice, vibrato in zip(self.choices, self.shaken, strict=True)
        ]

    def moves(self, catalogue: Catalogue) -> list[str]:
        """The move of each sign in words."""
        return [move_words(choice.move, catalogue) for choice in self.choices]

    def picture(self, index: int) -> str:
        """A sign as a small picture."""
        return f'<svg class="move" viewBox="{self.views[index]}"><use href="#sign-{index}"/></svg>'


def _tab(choice: Choice, notation: str) -> str:
    return "" if choice.move is None else format_move(choice.move, notation)


@dataclass(frozen=True, slots=True)
class _Sign:
    """What is drawn of one or more events that look alike by themselves."""

    choice: Choice
    tab: str
    vibrato: bool

    @property
    def look(self) -> tuple[object, ...]:
        """What makes two of them look alike."""
        return self.choice.move, self.choice.attack_semitones, self.choice.fall_semitones, self.vibrato

    @property
    def width(self) -> float:
        """Rows."""
        return badge_width(self.tab, vibrato=self.vibrato) + 2 * BESIDE

    @property
    def view(self) -> str:
        """The viewBox of its symbol."""
        return " ".join(number(rows * ROW_PX) for rows in (0, 0, self.width, ABOVE + BELOW))

    def symbol(self, index: int, writer: SvgWriter) -> str:
        """Itself as SVG."""
        shapes = writer.shapes(badge_shapes(self.choice, self.tab, self.width / 2, ABOVE, vibrato=self.vibrato))
        head = f'<symbol id="sign-{index}" viewBox="{self.view}" font-family={quoteattr(FONTS)}>'
        return f"{head}\n{shapes}\n</symbol>"


def _sign(one: RouteEvent, notation: str) -> _Sign:
    move = one.choice.move
    return _Sign(one.choice, _tab(one.choice, notation), move is not None and one.event.ornaments.vibrato)


def lit_groups(choices: Sequence[Choice], shapes_of: Callable[[Move], Iterable[Shape]], writer: SvgWriter) -> str:
    """A hidden group ``data-sign="N"`` of lit holes for each sign that sounds."""
    return "\n".join(
        f'<g class="lit" data-sign="{index}" display="none">\n{writer.shapes(shapes_of(choice.move))}\n</g>'
        for index, choice in enumerate(choices)
        if choice.move is not None
    )


def _harp(route: Route, choices: Sequence[Choice], writer: SvgWriter) -> str:
    row = harp_row(route.harp.tuning.holes)
    view = f"0 0 {writer.length(row.width)} {writer.length(row.height)}"
    holes = writer.holes(row.holes)
    lit = lit_groups(choices, lit_holes, writer)
    return (
        f'<svg viewBox="{view}" font-family={quoteattr(FONTS)} stroke-linejoin="round" aria-hidden="true">\n'
        f"{writer.shape(row.body)}\n{holes}\n{lit}\n</svg>"
    )


def signs_of_route(route: Route, *, notation: str) -> MoveSymbols:
    """The signs of a route in a notation."""
    drawn = [_sign(one, notation) for one in route.events]
    different = {one.look: one for one in reversed(drawn)}
    signs = [different[look] for look in dict.fromkeys(one.look for one in drawn)]
    numbers = {one.look: number for number, one in enumerate(signs)}
    writer = SvgWriter(load_palette("paper"), ROW_PX)
    symbols = "\n".join(one.symbol(index, writer) for index, one in enumerate(signs))
    choices = tuple(one.choice for one in signs)
    return MoveSymbols(
        choices=choices,
        shaken=tuple(one.vibrato for one in signs),
        views=tuple(one.view for one in signs),
        of_events=tuple(numbers[one.look] for one in drawn),
        symbols=f'<svg width="0" height="0" aria-hidden="true" class="symbols">\n{symbols}\n</svg>',
        harp=_harp(route, choices, writer),
    )
