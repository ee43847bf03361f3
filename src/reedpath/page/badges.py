"""Badges: one move as a sign by itself, and the harp as it is held with the holes that sound.

They are the ribbon's shapes taken out of time: blown is full and bulges, drawn is hollow and sucked in, weights hang
under a bend, a wedge stands on an overblow. So a lit hole tells by its shape alone what is done to it; when it goes
dark is one rule for films and for the lesson page.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from reedpath.arrange import Choice
from reedpath.harp import Move
from reedpath.page.chart import cell_shapes, sound_of
from reedpath.page.drawing.drawing_data import load_measures, text_width
from reedpath.page.drawing.marks import silent_slot
from reedpath.page.drawing.shapes import Box, CombHole, Curve, Label, Shape, comb_hole, rounded_box
from reedpath.page.drawing.strip import Strip, outline_of

# rows; air at both sides of a badge's tab, and its least width
BADGE_AIR, LEAST_BADGE = 0.36, 1.15
# rows by which the badge of a note with vibrato is longer, so that it ripples beside its tab
RIPPLE_ROOM = 0.8
# semitones by which the ends of a badge sag at most: it says that they do, and the ribbon how far
DEEPEST_GLIDE = 1.0
# rows; the row of holes: from hole to hole, air at its ends, height of the comb, side of a hole
COLUMN, ENDS, COMB, HOLE = 1.12, 0.3, 1.5, 0.66
# rows; height and width of a lit hole, and how far its halo stands off
LIT_HEIGHT, LIT_WIDTH, HALO = 0.78, 1.06, 0.07
# seconds for which a hole goes dark before it sounds the same again: two frames of a film; and the share of the note
# at most; our choice
DARK_SECONDS, DARK_SHARE = 0.07, 0.4


def badge_width(text: str, *, vibrato: bool = False) -> float:
    """Width of the badge with that tab, rows."""
    plain = max(LEAST_BADGE, text_width(text, load_measures().text) + 2 * BADGE_AIR)
    return plain + RIPPLE_ROOM if vibrato else plain


def badge_shapes(choice: Choice, text: str, x: float, y: float, *, vibrato: bool = False) -> tuple[Shape, ...]:
    """A move as the ribbon draws it, around (x, y), with its course, weights and wedge, and its tab.

    What is not played is a dotted slot with a cross. vibrato : whether the strip ripples behind its tab.
    """
    m, half = load_measures(), badge_width(text, vibrato=vibrato) / 2
    move = choice.move
    if move is None:
        return tuple(silent_slot(Box(x - half, y - m.strip / 2, x + half, y + m.strip / 2)))
    start, end = (max(-DEEPEST_GLIDE, glide) for glide in (choice.attack_semitones, choice.fall_semitones))
    strip = Strip(x - half, x + half, y, move.breath, start, 0.0, end, m.strip, m, vibrato)
    tab_x = x - (RIPPLE_ROOM / 2 if vibrato else 0.0)
    return tuple(
        replace(shape, x=tab_x) if isinstance(shape, Label) else shape
        for shape in cell_shapes(strip, move, text, used=True)
    )


@dataclass(frozen=True, slots=True)
class HarpRow:
    """A harp seen from in front, low notes left; coordinates are rows from its upper left corner.

    width, height : rows.
    body : the comb.
    holes : its holes, to be lit.
    """

    width: float
    height: float
    body: Curve
    holes: tuple[CombHole, ...]


def _middle(hole: int) -> tuple[float, float]:
    """Rows, the middle of a hole."""
    return ENDS + (hole - 0.5) * COLUMN, COMB / 2


def harp_row(holes: int) -> HarpRow:
    """A harp with so many holes."""
    width, half = holes * COLUMN + 2 * ENDS, HOLE / 2
    found = tuple(
        comb_hole(hole, *_middle(hole), half_width=half, half_height=half, letters=load_measures().text)
        for hole in range(1, holes + 1)
    )
    body = rounded_box("comb", Box(0.03, 0.03, width - 0.03, COMB - 0.03), 0.3)
    return HarpRow(width, COMB, body, found)


def lit_hole(move: Move, hole: int, x: float, y: float, *, width: float = LIT_WIDTH) -> Iterator[Shape]:
    """One sounding hole of a move around (x, y), to be drawn in front of the dark one."""
    strip = Strip(x - width / 2, x + width / 2, y, move.breath, 0.0, 0.0, 0.0, LIT_HEIGHT, load_measures())
    yield outline_of(strip, "halo", grow=HALO)
    yield from cell_shapes(strip, move, str(hole), used=True)


def lit_holes(move: Move) -> Iterator[Shape]:
    """The holes of a move as they are lit in `harp_row`."""
    for hole in move.holes:
        yield from lit_hole(move, hole, *_middle(hole))


def dark_times(moves: Sequence[Move | None], starts: Sequence[float], ends: Sequence[float]) -> list[float]:
    """
    When each event's holes go dark: never after the next ones sound, and between two equal moves a little before.

    moves : of each event, None where it is silent.
    starts, ends : when each begins and ends, in seconds and in order of time.
    """
    dark = list(ends)
    sounding = [(index, move) for index, move in enumerate(moves) if move is not None]
    for (here, move), (after, next_move) in pairwise(sounding):
        gap = (
            min(DARK_SECONDS, DARK_SHARE * (ends[here] - starts[here]))
            if sound_of(move) == sound_of(next_move)
            else 0.0
        )
        dark[here] = max(starts[here], min(ends[here], starts[after] - gap))
    return dark
