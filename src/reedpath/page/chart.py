"""The chart: every sound of a harp, hole by hole, and those that a phrase uses.

Each hole is a stack on the comb. At its foot lies the lower of the hole's two reeds, above it the bends, in
order of pitch, then the higher reed, and on top the overblow or overdraw: so higher is always up, the bends
are seen to lie between the two reeds, and the signs are those of the ribbon.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from reedpath.harp import Alteration, Harp, Move, midi_of, reach_of
from reedpath.page.drawing.drawing_data import Layout, Measures, load_layout, load_measures, text_width
from reedpath.page.drawing.marks import lifting_wedge, weights_below
from reedpath.page.drawing.shapes import Box, CombHole, Curve, Label, Shape, comb_hole, line, rounded_box
from reedpath.page.drawing.strip import Strip, level_of, outline_of

# rows; least and greatest width of a column, air between its cells, at both sides of the comb, height of the comb
COLUMN, WIDEST_COLUMN, APART, SIDE, COMB = 1.5, 2.1, 0.26, 0.3, 0.9
# rows; height of a slot of a stack, and of the air between the comb and the lowest slot, and above blocks
SLOT, FOOT, BLOCK_AIR = 1.18, 0.2, 0.8
# rows; how far the halo of a lit sound stands off its cell
HALO = 0.13
# rows; the tile behind a used sound: how far it reaches beyond its cell, above its middle and below
TILE_BESIDE, TILE_ABOVE, TILE_BELOW = 0.08, 0.5, 0.6


@dataclass(frozen=True, slots=True)
class ChartCell:
    """One sound of one hole.

    move : how it is played.
    midi : its pitch.
    used : whether the phrase uses it.
    shapes : outlines and labels, from back to front.
    halo : the outline around it, drawn when it is lit.
    """

    move: Move
    midi: int
    used: bool
    shapes: tuple[Shape, ...]
    halo: Curve


@dataclass(frozen=True, slots=True)
class ChartBlock:
    """Some neighbouring holes; coordinates are rows from its own upper left corner.

    top : y of that corner in the whole picture.
    height : rows.
    under : the body of the comb.
    comb : its holes.
    cells : their sounds.
    """

    top: float
    height: float
    under: tuple[Shape, ...]
    comb: tuple[CombHole, ...]
    cells: tuple[ChartCell, ...]


@dataclass(frozen=True, slots=True)
class ChartShapes:
    """A whole chart as shapes.

    width, height : rows.
    row_px : CSS pixels to a row that the layout is made for.
    blocks : one where the harp fits the layout's width, else as many as needed, from the low holes up.
    measures : the drawing's measures.
    """

    width: float
    height: float
    row_px: float
    blocks: tuple[ChartBlock, ...]
    measures: Measures


@dataclass(frozen=True, slots=True)
class _Pen:
    """What is needed to draw any cell: the measures, how a note is named, and what is used."""

    harp: Harp
    measures: Measures
    name: Callable[[int], str]
    used: frozenset[tuple[object, ...]] | None
    tonic: int | None
    column: float


def sound_of(move: Move) -> tuple[object, ...]:
    """What makes two one-hole moves the same sound, whatever the mouth does."""
    return (move.holes, move.breath, move.alteration, move.semitones)


def used_sounds(moves: Iterable[Move]) -> frozenset[tuple[object, ...]]:
    """The sounds of some moves; one with several holes uses each hole's own."""
    single = (
        part
        for move in moves
        for part in ([Move((hole,), move.breath) for hole in move.holes] if len(move.holes) > 1 else [move])
    )
    return frozenset(sound_of(move) for move in single)


def chart_of(
    harp: Harp,
    *,
    used_moves: Iterable[Move] | None = None,
    tonic: int | None = None,
    name: Callable[[int], str],
    layout: Layout | str = "sheet",
) -> ChartShapes:
    """
    The chart of a harp, as shapes.

    used_moves : moves of a phrase, whose sounds are marked and all others faint; None draws all alike.
    tonic : pitch class of the music's key note, which is underlined; None for no such mark.
    name : how a MIDI number is named.
    layout : how much room there is; a harp too long for it is cut into blocks.
    """
    chosen = load_layout(layout) if isinstance(layout, str) else layout
    used = None if used_moves is None else used_sounds(used_moves)
    holes = harp.tuning.holes
    most = holes if math.isinf(chosen.width) else max(1, int((chosen.width - 2 * SIDE) / COLUMN + 1e-9))
    count = -(-holes // most)
    each = -(-holes // count)
    column = max(COLUMN, min(WIDEST_COLUMN, (chosen.width - 2 * SIDE) / each))
    pen = _Pen(harp, load_measures(chosen), name, used, None if tonic is None else tonic % 12, column)
    blocks: list[ChartBlock] = []
    y = 0.0
    for first in range(1, holes + 1, each):
        block = _block(range(first, min(first + each, holes + 1)), y, pen)
        blocks.append(block)
        y += block.height + BLOCK_AIR
    return ChartShapes(each * column + 2 * SIDE, y - BLOCK_AIR, chosen.row_px, tuple(blocks), pen.measures)


def _stack(hole: int, pen: _Pen) -> list[Move]:
    """The sounds of a hole from the lowest up; a shallow bend stands under its own note."""
    moves = [move for move in reach_of(pen.harp.tuning).single if move.holes == (hole,)]
    return sorted(moves, key=lambda move: (midi_of(pen.harp, move)[0] - 0.5 * move.is_dip, move.breath))


def _block(holes: range, y: float, pen: _Pen) -> ChartBlock:
    stacks = {hole: _stack(hole, pen) for hole in holes}
    height = max(len(stack) for stack in stacks.values()) * SLOT
    top = height + FOOT
    cells = [
        _cell(move, SIDE + (hole - holes[0] + 0.5) * pen.column, height - (slot + 0.5) * SLOT, pen)
        for hole, stack in stacks.items()
        for slot, move in enumerate(stack)
    ]
    under, comb = _comb(holes, top, pen)
    return ChartBlock(y, top + COMB, under, comb, tuple(cells))


def _comb(holes: range, top: float, pen: _Pen) -> tuple[tuple[Shape, ...], tuple[CombHole, ...]]:
    right = len(holes) * pen.column + 2 * SIDE
    bottom = top + COMB - 0.03
    ends = (("left", holes[0] > 1), ("right", holes[-1] < pen.harp.tuning.holes))
    cut = [side for side, goes_on in ends if goes_on]
    body = rounded_box("comb", Box(0.03, top, right - 0.03, bottom), 0.25, square=cut)
    y = top + COMB / 2
    half, letters = (pen.column - APART) / 2, pen.measures.text
    return (body,), tuple(
        comb_hole(hole, SIDE + (place + 0.5) * pen.column, y, half_width=half, half_height=0.33, letters=letters)
        for place, hole in enumerate(holes)
    )


def _cell(move: Move, x: float, y: float, pen: _Pen) -> ChartCell:
    midi = midi_of(pen.harp, move)[0]
    used = pen.used is None or sound_of(move) in pen.used
    strip = strip_of_cell(move, x, y, pen.column - APART, pen.measures)
    shapes = cell_shapes(
        strip,
        move,
        pen.name(midi),
        used=used,
        tiled=used and pen.used is not None,
        home=midi % 12 == pen.tonic,
    )
    return ChartCell(move, midi, used, tuple(shapes), outline_of(strip, "halo", grow=HALO))


def strip_of_cell(move: Move, x: float, y: float, width: float, m: Measures) -> Strip:
    """The strip of a cell around (x, y)."""
    return Strip(x - width / 2, x + width / 2, y, move.breath, 0.0, 0.0, 0.0, m.strip, m)


def cell_shapes(
    strip: Strip, move: Move, text: str, *, used: bool, tiled: bool = False, home: bool = False
) -> list[Shape]:
    """A cell: its strip with the note's name, weights or wedge, and the marks on it."""
    m, role = strip.measures, move.breath.value
    x, y, half = (strip.left + strip.right) / 2, strip.cord, strip.height / 2
    shapes: list[Shape] = []
    if tiled:
        left, right = strip.left - TILE_BESIDE, strip.right + TILE_BESIDE
        shapes.append(rounded_box("used", Box(left, y - TILE_ABOVE, right, y + TILE_BELOW), 0.14))
    shapes.append(outline_of(strip, role if used else "idle"))
    room = strip.width - 2 * strip.cap * (1.0 if role == "draw" else 0.5)
    size = min(m.text, m.text * room / max(room / 2, m.letters * text_width(text, m.text)))
    if text:
        shapes.append(Label(f"{role}_text" if used else "idle_text", x, y, size, text))
    if home:
        wide = m.letters * text_width(text, size) / 2
        ink = f"home_{role}" if used else "home_idle"
        shapes.append(line(ink, (x - wide, y + size * 0.46), (x + wide, y + size * 0.46)))
    if move.alteration is Alteration.BEND:
        shapes += weights_below(x, y + half - 0.02, level_of(move, m), strip.width, m)
    elif move.alteration.is_overbend:
        shapes.append(lifting_wedge(strip.left + 0.22 * strip.width, y - half + 0.02, m))
    return shapes
