"""The chart of a harp: what every hole sounds, row by row, for whoever draws or prints it.

Rows from top to bottom: overblows, blow bends (deepest first), blow, draw, draw bends (deepening), overdraws;
so that what is played outward stands above the holes and what is played inward below (common practice, no
source). A dip stands in the row of half-step bends. Rows that would be empty are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from reedpath.harp.harp import Harp
from reedpath.harp.moves import Alteration, Breath, Move
from reedpath.harp.reach import single_moves
from reedpath.harp.reed_pitch import sound_of
from reedpath.pitch import midi_name


@dataclass(frozen=True, slots=True)
class ChartNote:
    """What one hole gives in one row.

    hole : 1-based.
    move : the move.
    midi : MIDI number it sounds.
    name : name of that note, with its octave, spelt as the harp's key asks.
    cents : off equal temperament with A4 at 440 Hz.
    """

    hole: int
    move: Move
    midi: int
    name: str
    cents: float


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One row of a chart.

    breath : blow or draw.
    alteration : natural, bend, overblow or overdraw.
    depth_semitones : of the bends in the row, 0 for the other rows; a dip stands at depth 1.
    cells : one for each hole, None where the hole gives nothing here.
    """

    breath: Breath
    alteration: Alteration
    depth_semitones: int
    cells: tuple[ChartNote | None, ...]


@dataclass(frozen=True, slots=True)
class HarpChart:
    """A harp as rows of cells, top to bottom.

    harp : the harp.
    rows : see the module's headline for their order.
    """

    harp: Harp
    rows: tuple[ChartRow, ...]


def _row_of(move: Move) -> tuple[Breath, Alteration, int]:
    depth = max(1, -move.semitones) if move.alteration is Alteration.BEND else 0
    return move.breath, move.alteration, depth


def _height(row: tuple[Breath, Alteration, int]) -> tuple[int, int]:
    """Sorting key, from the top: distance from the holes, upward for blow and downward for draw."""
    breath, alteration, depth = row
    side = -1 if breath is Breath.BLOW else 1
    return side * (2 if alteration.is_overbend else 1), side * depth


@lru_cache(maxsize=64)
def harp_chart(harp: Harp) -> HarpChart:
    """
    The chart of a harp.

    >>> from reedpath.harp import make_harp
    >>> [(row.breath.value, row.alteration.value, row.depth_semitones) for row in harp_chart(make_harp("A")).rows][:4]
    [('blow', 'overblow', 0), ('blow', 'bend', 2), ('blow', 'bend', 1), ('blow', 'natural', 0)]
    """
    cells: dict[tuple[Breath, Alteration, int], dict[int, ChartNote]] = {}
    for move in single_moves(harp.tuning):
        sound = sound_of(harp, move)
        hole, midi = move.holes[0], sound.midi[0]
        name = midi_name(midi, tonic=harp.key_midi)
        cells.setdefault(_row_of(move), {})[hole] = ChartNote(hole, move, midi, name, sound.cents[0])
    holes = range(1, harp.tuning.holes + 1)
    rows = (ChartRow(*row, cells=tuple(cells[row].get(hole) for hole in holes)) for row in sorted(cells, key=_height))
    return HarpChart(harp, tuple(rows))
