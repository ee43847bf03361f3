"""Strips: the outline of one sounding hole over time, as ribbon and chart draw it.

Blown, a strip is full and its ends bulge; drawn, it is hollow and its ends are sucked in. It lies on its
hole's cord; a bend makes it sag below the cord, an overblow or overdraw lifts it above. Where a note is
attacked bent and let go, or pressed down before it ends, the strip takes that course.
"""

from __future__ import annotations

from dataclasses import dataclass

from reedpath.harp import Breath, Move
from reedpath.page.drawing.drawing_data import Measures
from reedpath.page.drawing.shapes import Curve, Point, Segment

# part of the depth of a cubic's control points that its middle reaches (mathematics: 3/4)
BULGE = 4 / 3
# part of an attack or a fall in which the strip lies still before or after it glides
STILL_SHARE = 0.35
# part of a wave's half length at which its control points stand
WAVE_HANDLE = 0.36
# part of a strip's width that one end may take, hollowed or bulging
MOST_HOLLOW_SHARE, MOST_BULGE_SHARE = 0.13, 0.22
# rows; how much of a rippling strip is straight at its end, and before it ripples, at most; the latter is also
# limited to a share of the strip
FLAT_END, FLAT_BEFORE, FLAT_SHARE = 0.3, 1.5, 0.42


def level_of(move: Move, measures: Measures) -> float:
    """How far above its cord a move's strip lies, in semitones of sag; below is negative.

    A bend sags by its semitones and a shallow one by half of one; every overbend is lifted alike, since it
    is another reed that speaks.
    """
    if move.alteration.is_overbend:
        return measures.lift / measures.step
    return -measures.dip if move.is_dip else float(move.semitones)


@dataclass(frozen=True, slots=True)
class Strip:
    """One sounding hole over time.

    left, right : rows, the strip's ends.
    cord : rows, y of the hole's cord.
    breath : blow or draw.
    start, hold, end : levels in semitones above the cord at the attack, in between and at the end.
    height : rows.
    measures : the drawing's measures.
    vibrato : whether it ripples.
    open_left, open_right : whether the note goes on beyond that end, in another system.
    """

    left: float
    right: float
    cord: float
    breath: Breath
    start: float
    hold: float
    end: float
    height: float
    measures: Measures
    vibrato: bool = False
    open_left: bool = False
    open_right: bool = False

    @property
    def width(self) -> float:
        """Rows from end to end."""
        return self.right - self.left

    @property
    def cap(self) -> float:
        """Depth of the rounded or hollowed ends, rows."""
        bulges = self.breath is Breath.BLOW
        depth = self.measures.bulge if bulges else self.measures.hollow
        share = MOST_BULGE_SHARE if bulges else MOST_HOLLOW_SHARE
        return min(depth * self.height / self.measures.strip, share * self.width)

    def y_at(self, level: float) -> float:
        """Rows, y of the strip's middle at a level."""
        return self.cord - level * self.measures.step

    def _glide_width(self, *, glides: bool, shared: bool) -> float:
        share = self.measures.attack_share * (0.8 if shared else 1.0)
        return min(self.width * share, self.measures.attack_rows) if glides else 0.0

    @property
    def attack_width(self) -> float:
        """Rows over which a bent attack is let go."""
        return self._glide_width(glides=self.start != self.hold, shared=self.end != self.hold)

    @property
    def fall_width(self) -> float:
        """Rows over which the note is pressed down before it ends."""
        return self._glide_width(glides=self.end != self.hold, shared=self.start != self.hold)

    @property
    def still(self) -> tuple[float, float]:
        """Rows, x between which the strip lies at its held level: the room for its text."""
        return self.left + self.attack_width, self.right - self.fall_width


def flat_before(width: float) -> float:
    """How much of a rippling course of that width is straight before it ripples: room for its tab."""
    return min(FLAT_BEFORE, FLAT_SHARE * width)


def _wave(x: float, until: float, y: float, measures: Measures) -> list[Segment]:
    """A level course that begins to ripple once it has begun, and is straight at its end."""
    end = until
    until -= min(FLAT_END, (until - x) * 0.15)
    x += flat_before(end - x)
    halves = max(2, 2 * round((until - x) / measures.ripple_apart))
    length = (until - x) / halves
    pieces: list[Segment] = [((x, y),)]
    for half in range(halves):
        peak = y + (-1 if half % 2 else 1) * measures.ripple * BULGE
        begin, stop = x + half * length, x + (half + 1) * length
        pieces.append(
            ((begin + WAVE_HANDLE * length, peak), (stop - WAVE_HANDLE * length, peak), (stop, y)),
        )
    return [*pieces, ((end, y),)]


def _glide(x: float, y: float, until: float, to: float) -> Segment:
    middle = (x + until) / 2
    return ((middle, y), (middle, to), (until, to))


def _course(strip: Strip, left: float, right: float) -> tuple[Point, list[Segment]]:
    """The strip's middle from left to right."""
    start_y, hold_y, end_y = (strip.y_at(level) for level in (strip.start, strip.hold, strip.end))
    pieces: list[Segment] = []
    x = left
    if attack := strip.attack_width:
        x = max(left, strip.left + attack)
        still = left + STILL_SHARE * (x - left)
        pieces += [((still, start_y),), _glide(still, start_y, x, hold_y)]
    until = min(right, strip.right - strip.fall_width)
    if strip.vibrato:
        pieces += _wave(x, until, hold_y, strip.measures)
    else:
        pieces.append(((until, hold_y),))
    if strip.fall_width:
        still = right - STILL_SHARE * (right - until)
        pieces += [_glide(until, hold_y, still, end_y), ((right, end_y),)]
    return (left, start_y), pieces


def _shifted(piece: Segment, y: float) -> Segment:
    if len(piece) == 1:
        return ((piece[0][0], piece[0][1] + y),)
    first, second, end = piece
    return ((first[0], first[1] + y), (second[0], second[1] + y), (end[0], end[1] + y))


def _backwards(start: Point, pieces: list[Segment]) -> list[Segment]:
    starts = [start, *(piece[-1] for piece in pieces[:-1])]
    turned: list[Segment] = []
    for begin, piece in zip(reversed(starts), reversed(pieces), strict=True):
        turned.append((begin,) if len(piece) == 1 else (piece[1], piece[0], begin))
    return turned


def _cap(x: float, y: float, to: float, depth: float) -> Segment:
    """An end, from (x, y) to (x, to); depth is how far its middle stands to the right of x."""
    if depth == 0:
        return ((x, to),)
    return ((x + BULGE * depth, y), (x + BULGE * depth, to), (x, to))


def outline_of(strip: Strip, role: str, *, grow: float = 0.0) -> Curve:
    """The strip's outline.

    grow : rows by which it is widened on all sides (for the halo of a lit note).
    """
    half = strip.height / 2 + grow
    bulges = strip.breath is Breath.BLOW
    cap = strip.cap
    left_cap, right_cap = (0.0 if strip.open_left else cap), (0.0 if strip.open_right else cap)
    left = strip.left + (left_cap if bulges else 0.0) - grow
    right = strip.right - (right_cap if bulges else 0.0) + grow
    (x, y), course = _course(strip, left, right)
    end_y = course[-1][-1][1]
    top = [_shifted(piece, -half) for piece in course]
    bottom = [_shifted(piece, half) for piece in _backwards((x, y), course)]
    right_end = _cap(right, end_y - half, end_y + half, right_cap if bulges else -right_cap)
    left_end = _cap(left, y + half, y - half, -left_cap if bulges else left_cap)
    return Curve(role, (x, y - half), (*top, right_end, *bottom, left_end), closed=True)
