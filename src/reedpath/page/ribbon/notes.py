"""One event of a route as shapes: strips, their text and the marks on them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

from reedpath.arrange import RouteEvent
from reedpath.harp import Breath, Move
from reedpath.page.drawing.drawing_data import Measures, text_width
from reedpath.page.drawing.marks import (
    accent_post,
    changed_lozenge,
    covering_tongue,
    lifting_wedge,
    silent_slot,
    weights_below,
)
from reedpath.page.drawing.shapes import Box, Curve, Label, Shape, line, rounded_box
from reedpath.page.drawing.strip import Strip, flat_before, level_of, outline_of
from reedpath.page.ribbon.grid import SystemFrame

# rows; a strip is never drawn narrower
NARROWEST = 0.14
# rows; a move that is run through is never drawn wider
WIDEST_LEAD = 0.7
# rows; how far a halo stands off its strip
HALO = 0.14
# parts of the depth of a hollowed and a bulging end that text keeps clear of, with the generous widths of
# `text_width`; and the part of a narrow strip that is then left for text
HOLLOW_KEPT, BULGE_KEPT, STRAIGHT_SHARE = 0.5, 0.15, 0.84
# rows; width of the post that ties the strips of a chord together
YOKE = 0.16


@dataclass(frozen=True, slots=True)
class Pen:
    """What is needed to draw any event: the measures, and how a move is written."""

    measures: Measures
    write: Callable[[Move], str]


@dataclass(frozen=True, slots=True)
class EventShapes:
    """One event, or the piece of it that lies in one system.

    index : of the route's event.
    onset, end : beats that this piece spans.
    first, last : whether the event begins, and ends, in this piece.
    breath : blow or draw; None where nothing is played.
    holes : sounding holes.
    tab : the move in the notation, empty where nothing is played.
    shapes : outlines and labels, from back to front.
    halo : outlines around its strips, drawn when the event is lit.
    strips : the strips themselves, in order of time, then of holes.
    """

    index: int
    onset: Fraction
    end: Fraction
    first: bool
    last: bool
    breath: Breath | None
    holes: tuple[int, ...]
    tab: str
    shapes: tuple[Shape, ...]
    halo: tuple[Curve, ...] = ()
    strips: tuple[Strip, ...] = field(default=(), repr=False)
    asides: tuple[Label, ...] = field(default=(), repr=False)


def least_rows(one: RouteEvent, pen: Pen) -> float:
    """The width that an event needs so that its tab stands in its strip, rows."""
    m, choice = pen.measures, one.choice
    if choice.move is None or one.event.grace:
        return m.strip * 0.5
    widest = max(text_width(text, m.tight_text) for text in _texts(choice.move, pen))
    shares = [m.attack_share for glide in (choice.attack_semitones, choice.fall_semitones) if glide]
    shares += [m.lead_share for lead in (choice.lead_in, choice.lead_out) if lead]
    still = max(0.3, 1.0 - sum(shares))
    return (widest + 2 * m.tight_pad) / (still * STRAIGHT_SHARE) + m.gap


def _texts(move: Move, pen: Pen) -> list[str]:
    """The tab of each sounding hole."""
    if len(move.holes) == 1:
        return [pen.write(move)]
    return [pen.write(Move((hole,), move.breath)) for hole in move.holes]


def draw_event(one: RouteEvent, index: int, frame: SystemFrame, pen: Pen) -> EventShapes:
    """The piece of an event that lies in the frame."""
    onset, end = max(one.event.onset, frame.onset), min(one.event.end, frame.end)
    left, right = frame.x_of(onset), frame.x_of(end)
    air = min(pen.measures.gap / 2, 0.08 * (right - left))
    right = max(right - air, left + air + NARROWEST)
    piece = EventShapes(
        index=index,
        onset=onset,
        end=end,
        first=onset == one.event.onset,
        last=end == one.event.end,
        breath=None,
        holes=(),
        tab="",
        shapes=(),
    )
    span = (left + air, right)
    if one.choice.move is None:
        return _silence(piece, span, frame, pen)
    return _sounding(piece, one, one.choice.move, span, frame, pen)


def _silence(piece: EventShapes, span: tuple[float, float], frame: SystemFrame, pen: Pen) -> EventShapes:
    half = pen.measures.strip * 0.42
    box = Box(span[0], frame.silent_y - half, span[1], frame.silent_y + half)
    return replace(piece, shapes=tuple(silent_slot(box)))


def _sounding(
    piece: EventShapes,
    one: RouteEvent,
    move: Move,
    span: tuple[float, float],
    frame: SystemFrame,
    pen: Pen,
) -> EventShapes:
    m, choice = pen.measures, one.choice
    lead_in = choice.lead_in if piece.first else ()
    lead_out = choice.lead_out if piece.last else ()
    before, main_span, after = _shared(span, len(lead_in), len(lead_out), m)
    mains = _main_strips(piece, one, move, main_span, frame, m)
    leads_in = [_slim(lead, place, frame, m) for lead, place in zip(lead_in, before, strict=True)]
    leads_out = [_slim(lead, place, frame, m) for lead, place in zip(lead_out, after, strict=True)]
    texts = [("…" if not piece.first else "") + text for text in _texts(move, pen)]
    inside, asides = _place_texts(mains, texts, m)
    if not piece.first:  # a note that goes on from another system has its tab there
        inside, asides = [label for label in inside if label.size == m.text], []
    shapes: list[Shape] = [
        *bonds_of(move, mains, m),
        *(shape for strip in (*leads_in, *leads_out) for shape in strip_shapes(strip, m)),
        *(shape for strip in mains for shape in strip_shapes(strip, m)),
        *inside,
        *_marks(piece, one, move, mains, m),
    ]
    return replace(
        piece,
        breath=move.breath,
        holes=move.holes,
        tab=pen.write(move),
        shapes=tuple(shapes),
        halo=tuple(outline_of(strip, "halo", grow=HALO) for strip in mains),
        strips=(*leads_in, *mains, *leads_out),
        asides=tuple(asides),
    )


def _shared(
    span: tuple[float, float], before: int, after: int, m: Measures
) -> tuple[list[tuple[float, float]], tuple[float, float], list[tuple[float, float]]]:
    """The span of an event shared out to the moves before it, itself and those after."""
    width = span[1] - span[0]
    share = m.lead_share * (0.7 if before and after else 1.0)
    left = span[0] + min(share * width, before * WIDEST_LEAD)
    right = span[1] - min(share * width, after * WIDEST_LEAD)

    def cut(start: float, until: float, count: int) -> list[tuple[float, float]]:
        length = (until - start) / count if count else 0.0
        air = min(m.gap / 2, 0.15 * length)
        return [(start + i * length, start + (i + 1) * length - air) for i in range(count)]

    return (
        cut(span[0], left, before),
        (left, right),
        [(a + m.gap / 2, b) for a, b in cut(right, span[1], after)],
    )


def _main_strips(
    piece: EventShapes,
    one: RouteEvent,
    move: Move,
    span: tuple[float, float],
    frame: SystemFrame,
    m: Measures,
) -> list[Strip]:
    hold = level_of(move, m)
    return [
        Strip(
            left=span[0] if piece.first else frame.left,
            right=span[1] if piece.last else frame.right,
            cord=frame.y_of(hole),
            breath=move.breath,
            start=hold + (one.choice.attack_semitones if piece.first else 0.0),
            hold=hold,
            end=hold + (one.choice.fall_semitones if piece.last else 0.0),
            height=m.slim if one.event.grace else m.strip,
            measures=m,
            vibrato=one.event.ornaments.vibrato,
            open_left=not piece.first,
            open_right=not piece.last,
        )
        for hole in move.holes
    ]


def _slim(move: Move, span: tuple[float, float], frame: SystemFrame, m: Measures) -> Strip:
    """A move run through, as a slim strip; of several holes the lowest stands for all."""
    level = level_of(move, m)
    return Strip(span[0], span[1], frame.y_of(move.holes[0]), move.breath, level, level, level, m.slim, m)


def strip_shapes(strip: Strip, m: Measures) -> list[Shape]:
    """Outline, ropes or props, weights and wedge of a strip."""
    half = strip.height / 2
    shapes: list[Shape] = []
    inset = min(0.16, 0.25 * strip.width)
    for x, level in ((strip.left + inset, strip.start), (strip.right - inset, strip.end)):
        edge = strip.y_at(level) + (half if level > 0 else -half)
        if abs(edge - strip.cord) > 0.02 and (edge < strip.cord) == (level > 0):
            shapes.append(line("rope", (x, strip.cord), (x, edge)))
    shapes.append(outline_of(strip, strip.breath.value))
    for x, level in _weighed(strip):
        if level < 0:
            shapes += weights_below(x, strip.y_at(level) + half, level, strip.width, m)
    if strip.hold > 0:
        x = strip.left + min(0.34, strip.width / 2)
        shapes.append(lifting_wedge(x, strip.y_at(strip.hold) - half, m))
    return shapes


def _weighed(strip: Strip) -> list[tuple[float, float]]:
    """Where weights hang: (x, level) at the attack, in the middle and at the end, each level once."""
    still = strip.still
    places = [((still[0] + still[1]) / 2, strip.hold)]
    if strip.start != strip.hold:
        places.append((strip.left + 0.4 * strip.attack_width, strip.start))
    if strip.end != strip.hold:
        places.append((strip.right - 0.4 * strip.fall_width, strip.end))
    return places


def bonds_of(move: Move, mains: Sequence[Strip], m: Measures) -> list[Shape]:
    """What ties the strips of a chord or a split together: posts, or the tongue over the holes between."""
    shapes: list[Shape] = []
    for (hole, lower), (next_hole, upper) in pairwise(zip(move.holes, mains, strict=True)):
        left = lower.left + min(0.22, 0.2 * lower.width)
        if next_hole - hole > 1:
            top, bottom = upper.cord + m.strip / 2, lower.cord - m.strip / 2
            shapes += covering_tongue(left, lower.right - 0.1 * lower.width, top, bottom)
        else:
            box = Box(left, upper.cord, left + min(YOKE, 0.3 * lower.width), lower.cord)
            shapes.append(rounded_box(f"bond_{move.breath.value}", box))
    return shapes


def _place_texts(mains: Sequence[Strip], texts: Sequence[str], m: Measures) -> tuple[list[Label], list[Label]]:
    """Labels inside the strips that are wide enough, and those to be put beside the others."""
    inside, asides = [], []
    for strip, text in zip(mains, texts, strict=True):
        left, right = strip.still
        ends = strip.cap * (HOLLOW_KEPT if strip.breath is Breath.DRAW else BULGE_KEPT)
        left += ends if left == strip.left else 0.0
        right -= ends if right == strip.right else 0.0
        y = strip.y_at(strip.hold)
        flat = strip.left + flat_before(strip.width) if strip.vibrato else right
        if text_width(text, m.tight_text) <= flat - left - 2 * m.tight_pad:
            right = flat
        room = right - left
        sizes = ((m.text, m.pad), (m.tight_text, m.tight_pad))
        size = next((size for size, pad in sizes if text_width(text, size) + 2 * pad <= room), None)
        if size is None or strip.height < m.strip:
            asides.append(Label("aside_text", (strip.left + strip.right) / 2, y, m.small_text, text))
        else:
            role = f"{strip.breath.value}_text"
            inside.append(Label(role, (left + right) / 2, y, size, text))
    return inside, asides


def _marks(piece: EventShapes, one: RouteEvent, move: Move, mains: Sequence[Strip], m: Measures) -> list[Shape]:
    top, bottom = mains[-1], mains[0]
    half = top.height / 2
    shapes: list[Shape] = []
    if one.event.ornaments.accent and piece.first:
        post_top, post_bottom = top.y_at(top.start) - half, bottom.y_at(bottom.start) + half
        shapes.append(accent_post(top.left + 0.03, post_top, post_bottom))
    if one.choice.changes and piece.last:
        x = max(top.right - 0.2, (top.left + top.right) / 2)
        shapes.append(changed_lozenge(x, top.y_at(top.end) - half - 0.02))
    return shapes
