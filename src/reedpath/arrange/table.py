"""The table of choices: what the effort terms need to know of each choice, as numbers.

One table serves one player and one set of weights. Choices of any tuning are added when first asked for and keep
their row for good, so a survey meets each case of (tuning, ask) only once.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from itertools import pairwise
from math import log2
from typing import TypeAlias

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from reedpath.arrange.demands import Ask
from reedpath.arrange.difficulty import bend_points, bend_room, move_points
from reedpath.arrange.fitting import choices_for, loss_of, octaves_of
from reedpath.arrange.player import Player, Weights
from reedpath.arrange.route import OF_ORNAMENTS, ChangeKind, Choice
from reedpath.harp import Breath, Embouchure, Move, Tuning, pitches_of, reach_of

Rows: TypeAlias = NDArray[np.intp]

# name of a column: what it holds
COLUMNS = {
    "sounding": "1 where something sounds, 0 for silence",
    "in_hole": "place of the mouth at the attack, holes",
    "out_hole": "place of the mouth at the end, holes",
    "in_breath": "0 blow, 1 draw, at the attack",
    "out_breath": "0 blow, 1 draw, at the end",
    "in_key": "hole and breath at the attack as one number; -1 for several holes",
    "out_key": "hole and breath at the end; -2 for several holes",
    "overbend": "1 where the attack is an overblow or overdraw",
    "tongue": "1 where the tongue blocks holes",
    "steady_points": "points of the move, whatever its length",
    "settle_points": "points of a bend or overbend, which grow as the note shortens",
    "cold_points": "points of attacking a bend cold",
    "ornament_points": "points of pressing, letting go and running",
    "run_notes": "notes run through",
    "asked": "highest pitch asked for, semitones above the key note",
    "given": "highest pitch that sounds, or is meant where a chord has notes missing or added",
    "stiff": "1 where the note can't be bent and the harp has it on a reed that this player can bend",
    "loss": "truth lost, 0 to 1",
    "flow": "litres a second into the lungs, negative when blowing",
}

# changes that leave the line where it is: what is missing of a chord, or sounds beside it
SAME_LINE = (ChangeKind.MISSING, ChangeKind.ADDED)
# numbers of a choice that sounds nothing
SILENT_ROW = (0.0, 0.0, 0.0, 0.0, 0.0, -1.0, -2.0, *([0.0] * 12))


def _key(move: Move, several: int) -> float:
    return 2 * move.holes[0] + _draws(move) if len(move.holes) == 1 else several


def _draws(move: Move) -> float:
    return float(move.breath is Breath.DRAW)


def _depth(move: Move) -> float:
    return 0.0 if move.alteration.is_overbend else float(-move.semitones)


class _MoveNumbers(Struct, frozen=True):
    """What a move brings into the rows of all choices that are played by it.

    plain : the columns up to ``run_notes``, for the move without ornaments.
    top : highest pitch that sounds.
    stiff : 1 where the note can't be worked by this player, though the harp has it where it could be.
    flow : litres a second into the lungs.
    """

    plain: tuple[float, ...]
    top: float
    stiff: float
    flow: float


class _Measured(Struct, frozen=True):
    """Turns a choice of one tuning into a row of numbers."""

    tuning: Tuning
    player: Player
    weights: Weights
    _of_moves: dict[Move, _MoveNumbers] = field(default_factory=dict)

    def bend(self, move: Move, depth: float) -> float:
        return self.player.move_factor * bend_points(self.tuning, self.weights, move.holes[0], move.breath, depth)

    def run(self, moves: tuple[Move, ...]) -> float:
        """Points of running through moves at a run's own speed."""
        table, slow = self.weights.ornament, self.player.time_factor
        have = table.run_note_seconds
        points = 0.0
        for one, next_one in pairwise(moves):
            if one.breath is not next_one.breath:
                points += self.weights.breath.points * self.weights.breath.seconds * slow / have
            bits = log2(abs(one.centre - next_one.centre) + 1)
            travel = self.weights.travel
            points += travel.points * travel.seconds_per_bit * slow * bits / have
        return points

    def ornament(self, choice: Choice, move: Move) -> float:
        table = self.weights.ornament
        depth = _depth(move)
        points = self.run((*choice.lead_in, move)) + self.run((move, *choice.lead_out))
        points += table.run_note * (len(choice.lead_in) + len(choice.lead_out)) * self.player.move_factor
        for one in (*choice.lead_in, *choice.lead_out):
            points += sum(move_points(self.tuning, self.weights, self.player, one))
        for bent in (choice.attack_semitones, choice.fall_semitones):
            if bent:
                points += table.press * self.bend(move, max(depth, depth - bent))
        return float(points)

    def _stiff(self, move: Move) -> bool:
        if len(move.holes) > 1 or bend_room(self.tuning, self.player, move) > 0:
            return False
        others = reach_of(self.tuning).moves_for(*pitches_of(self.tuning, move))
        return any(bend_room(self.tuning, self.player, other) > 0 for other in others if not other.semitones)

    def _of_move(self, move: Move) -> _MoveNumbers:
        known = self._of_moves.get(move)
        if known is None:
            top, stiff = float(max(pitches_of(self.tuning, move))), float(self._stiff(move))
            air = self.weights.air
            flow = air.flow_litres_per_second * (1 + air.hole_share * (len(move.holes) - 1))
            known = _MoveNumbers(self._played(Choice(move), move), top, stiff, flow if _draws(move) else -flow)
            self._of_moves[move] = known
        return known

    def _played(self, choice: Choice, move: Move) -> tuple[float, ...]:
        """The columns up to ``run_notes``."""
        first = choice.lead_in[0] if choice.lead_in else move
        last = choice.lead_out[-1] if choice.lead_out else move
        steady, settle = move_points(self.tuning, self.weights, self.player, move)
        attack = _depth(first) - (0.0 if choice.lead_in else choice.attack_semitones)
        return (
            1.0,
            first.centre,
            last.centre,
            _draws(first),
            _draws(last),
            _key(first, -1),
            _key(last, -2),
            float(first.alteration.is_overbend),
            float(move.embouchure is Embouchure.TONGUE),
            steady,
            settle,
            self.weights.cold_bend.share * self.bend(first, attack) if attack > 0 else 0.0,
            self.ornament(choice, move),
            float(len(choice.lead_in) + len(choice.lead_out)),
        )

    def row(self, choice: Choice, ask: Ask) -> tuple[float, ...]:
        """The numbers of a choice for an ask, by `COLUMNS`."""
        move = choice.move
        if move is None:
            return (*SILENT_ROW[:-2], loss_of(choice), 0.0)
        own, asked = self._of_move(move), float(ask.pitches[-1])
        same_line = any(change.kind in SAME_LINE for change in choice.changes)
        return (
            *(own.plain if choice.is_plain else self._played(choice, move)),
            asked,
            asked if same_line else own.top,
            own.stiff,
            loss_of(choice),
            own.flow,
        )


class ChoiceTable:
    """Choices and their numbers, for one player and one set of weights.

    Row 0 is silence, used before the first event.
    """

    def __init__(self, player: Player, weights: Weights) -> None:
        self.player = player
        self.weights = weights
        self._choices: list[Choice] = []
        self._rows: list[tuple[float, ...]] = []
        self._tuned: dict[tuple[Tuning, bool], TunedTable] = {}
        self._columns: dict[str, NDArray[np.float64]] = {}
        self.add(Choice(None), SILENT_ROW)

    def add(self, choice: Choice, row: tuple[float, ...]) -> int:
        """Add a choice with its numbers and return its row."""
        self._choices.append(choice)
        self._rows.append(row)
        return len(self._rows) - 1

    def kept(self, tuning: Tuning, choice: Choice, ask: Ask) -> int:
        """The row of a choice that is there already; its pitches and the ask in semitones above the key note."""
        return self.add(choice, _Measured(tuning, self.player, self.weights).row(choice, ask))

    def tuned(self, tuning: Tuning, *, tongue: bool) -> TunedTable:
        """The part of the table that belongs to one tuning."""
        key = (tuning, tongue)
        if key not in self._tuned:
            self._tuned[key] = TunedTable(self, tuning, tongue=tongue)
        return self._tuned[key]

    def choice(self, row: int) -> Choice:
        """The choice of a row, its pitches in semitones above the key note."""
        return self._choices[row]

    @property
    def columns(self) -> dict[str, NDArray[np.float64]]:
        """Every column as an array over all rows, by the names in `COLUMNS`."""
        if not self._columns or len(self._columns["loss"]) != len(self._rows):
            table = np.array(self._rows, dtype=np.float64)
            self._columns = {name: np.ascontiguousarray(table[:, i]) for i, name in enumerate(COLUMNS)}
        return self._columns


class TunedTable:
    """The choices of one tuning, found by what is asked."""

    def __init__(self, table: ChoiceTable, tuning: Tuning, *, tongue: bool) -> None:
        self._table = table
        self._tongue = tongue
        self._measured = _Measured(tuning, table.player, table.weights)
        self._found: dict[Hashable, Rows] = {}
        self._with_octaves: dict[Hashable, Rows] = {}
        self._stood_in: set[int] = set()

    def rows_for(self, ask: Ask, offset: int, scale: frozenset[int]) -> Rows:
        """Rows of every choice for an ask in MIDI numbers, ``offset`` semitones higher from the key note."""
        key = (ask, offset, scale)
        found = self._found.get(key)
        if found is None:
            found = self._found[key] = self._find(ask.moved(offset), scale)
        return found

    def stands_in(self, rows: Rows) -> bool:
        """Whether the fitting offers stand-ins among the choices of an ask, as `rows_for` gives them."""
        return int(rows[-1]) in self._stood_in

    def rows_with_octaves(self, ask: Ask, offset: int, scale: frozenset[int]) -> Rows:
        """The same, and an octave away from it, so that a whole part can move with a note that has to."""
        rows = self.rows_for(ask, offset, scale)
        if self.stands_in(rows):
            return rows
        moved = ask.moved(offset)
        found = self._with_octaves.get((moved, scale))
        if found is None:
            one = self._measured
            choices = octaves_of(one.tuning, one.player, one.weights, moved, tongue=self._tongue)
            found = self._with_octaves[moved, scale] = np.concatenate((rows, self._added(choices, moved)))
        return found

    def _added(self, choices: Iterable[Choice], ask: Ask) -> Rows:
        return np.array([self._table.add(one, self._measured.row(one, ask)) for one in choices], dtype=np.intp)

    def _find(self, ask: Ask, scale: frozenset[int]) -> Rows:
        known = self._found.get((ask, scale))
        if known is not None:
            return known
        one = self._measured
        choices = choices_for(one.tuning, one.player, one.weights, ask, scale=scale, tongue=self._tongue)
        rows = self._found[ask, scale] = self._added(choices, ask)
        kinds = {change.kind for choice in choices for change in choice.changes}
        if self.stands_in(self._find(ask._replace(also=()), scale)) if ask.also else kinds - OF_ORNAMENTS:
            self._stood_in.add(int(rows[-1]))
        return rows
