"""Strips: the ribbon of one scene as a picture without end, drawn tile by tile when it is needed.

A tile is drawn once and kept while the ribbon passes over it, so a frame costs no more than copying. The strip's
x is in pixels from the ribbon's second 0.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from msgspec import structs

from reedpath.arrange import Route, RouteEvent
from reedpath.film.ink import Ink, painted
from reedpath.film.part_names import PartNames, names_of
from reedpath.film.planes import BT709, Coding, Frame, Planes, faded, plain_planes, planes_of_both
from reedpath.page import Label, Palette, Shape, System, flattened, line, ribbon_of, text_width
from reedpath.phrase import BeatTimes, Part, Timing, bars, metre_at, printed_bars
from reedpath.sound import BackingLayout


def in_a_row(route: Route, parts: Sequence[Part], layout: BackingLayout) -> tuple[Route, tuple[Part, ...]]:
    """A route and its parts, once for each round or turn, with the swing that the band has.

    Spots are left out: they are practised apart.
    """
    first = min((one.event.onset for one in route.events), default=Fraction(0))
    events: list[RouteEvent] = []
    for place, turn in enumerate(layout.rounds):
        shift = turn.onset
        until = shift + turn.beats + first if place + 1 < len(layout.rounds) else None
        for one in route.events:
            onset = one.event.onset + shift
            if until is None or onset < until:
                duration = one.event.duration if until is None else min(one.event.duration, until - onset)
                events.append(structs.replace(one, event=structs.replace(one.event, onset=onset, duration=duration)))
    phrase = structs.replace(
        route.phrase,
        events=tuple(one.event for one in events),
        metres=route.phrase.metres[:1],
        swing=layout.route.phrase.swing,
        parts=(),
        repeats=(),
    )
    shifted = [
        Part(part.label, part.onset + turn.onset, part.end + turn.onset) for turn in layout.rounds for part in parts
    ]
    return structs.replace(route, phrase=phrase, events=tuple(events), spots=(), worst=None), tuple(shifted)


@dataclass(frozen=True, slots=True)
class GridBeat:
    """A counted beat; ``bar`` is the bar's number from 1 where it is the bar's first, else 0."""

    onset: Fraction
    bar: int


def remaining_beats(route: Route, layout: BackingLayout) -> Iterator[GridBeat]:
    """The counted beats from the bar after a row of rounds to the end of the last round, its end line included."""
    phrase = route.phrase
    end = phrase.pickup + layout.beats
    for bar in bars(phrase, until=end):
        if bar.onset >= phrase.end and bar.number > 0:
            for beat in bar.beats:
                yield GridBeat(beat, 0 if beat > bar.onset else bar.number)
    yield GridBeat(end, 0)


def bar_in_round(number: int, layout: BackingLayout) -> int:
    """The number in its round, from 1, of a bar counted from 1 through all rounds."""
    return (number - 1) % int(layout.round_beats / metre_at(layout.route.phrase, Fraction(0)).bar) + 1


# pixels of a tile, and tiles kept: a frame touches three at most, and another scene's may be asked for in between
TILE_PX, TILES_KEPT = 1024, 8
# how much of its contrast what is past keeps
PAST_CONTRAST = 0.42
# rows; how far above the topmost cord the numbers of a count-in stand, and how large, where the strip has no number
# of its own
COUNT_ABOVE, COUNT_SIZE = 1.0, 0.44
# rows; nearer to where the first event shown begins or the last one ends lies what leads to another one
EDGE = 0.02
# pixels added before a place is rounded down
STEADY = 0.25
# shapes of a system that do not move with it: the comb, and the names of parts, which stop at it
STILL_ROLES = frozenset({"comb", "part_text"})


@dataclass(frozen=True, slots=True)
class StripLook:
    """How a strip is drawn.

    palette : its inks.
    notation : how the tab in it is written.
    height_px : height of the strip; even.
    row_px : pixels between two cords, at most.
    px_per_second : how fast it runs.
    coding : of its planes.
    """

    palette: Palette
    notation: str
    height_px: int
    row_px: float
    px_per_second: float
    coding: Coding = BT709


# a tile twice, bright and past, each with its colours for even and for odd starts
_Tile = tuple[tuple[Planes, Planes], tuple[Planes, Planes]]


class RibbonStrip:
    """The ribbon of one scene.

    system : its geometry, rows.
    ink : with its rows in pixels.
    top_px : y of the system's upper edge in the strip.
    """

    def __init__(
        self,
        system: System,
        look: StripLook,
        row_px: float,
        counts: Sequence[tuple[int, float]],
        end: float | None = None,
    ) -> None:
        self.system = system
        self.ink = Ink(look.palette, row_px)
        self.look = look
        self.top_px = (look.height_px - system.height * row_px) / 2
        self._names = PartNames(names_of(system), system.frame.left, self.ink, look.coding, self.top_px)
        self._shapes = [*_shapes_of(system), *_count_shapes(system, counts, look.px_per_second / row_px)]
        self._end = system.frame.right if end is None else end
        spans = np.array([_span(shape) for shape in self._shapes]).reshape(-1, 2)
        self._lefts, self._rights = spans[:, 0], spans[:, 1]
        self._tiles: OrderedDict[int, _Tile] = OrderedDict()

    def x_of(self, seconds: float) -> int:
        """Pixels from the strip's start to a moment of the ribbon.

        Always down, from a little above, so that steps of half a pixel do not fall now this way and now that.
        """
        return math.floor(seconds * self.look.px_per_second + STEADY)

    def put(self, frame: Frame, x: int, *, left: int, top: int, width: int, past: bool = False) -> None:
        """Copy ``width`` pixels of the strip from x on to an even place of a frame; ``width`` is even."""
        done = 0
        while done < width:
            tile, inside = divmod(x + done, TILE_PX)
            count = min(width - done, TILE_PX - inside)
            count -= (count % 2) if count > 1 else 0
            if count == 1:  # an odd start leaves one pixel at a tile's end: its pair is drawn across the border
                count = 2
            self._put_piece(frame, tile, inside, count, (left + done, top), past=past)
            done += count

    def put_names(self, frame: Frame, x: int, *, left: int, top: int, width: int) -> None:
        """Put the names of the parts over what was put from x on, which is now."""
        self._names.put(frame, x, left=left, top=top, width=width)

    def _put_piece(
        self, frame: Frame, tile: int, inside: int, count: int, place: tuple[int, int], *, past: bool
    ) -> None:
        planes = self._tile(tile)[past][inside % 2]
        start = inside // 2 * 2
        left, top = place
        bottom = top + self.look.height_px
        frame.light[top:bottom, left : left + count] = planes.light[:, start : start + count]
        rows, columns = slice(top // 2, bottom // 2), slice(left // 2, (left + count) // 2)
        half = slice(start // 2, (start + count) // 2)
        frame.blue[rows, columns] = planes.blue[:, half]
        frame.red[rows, columns] = planes.red[:, half]

    def _tile(self, index: int) -> _Tile:
        if index in self._tiles:
            self._tiles.move_to_end(index)
            return self._tiles[index]
        tile = self._drawn(index)
        self._tiles[index] = tile
        while len(self._tiles) > TILES_KEPT:
            self._tiles.popitem(last=False)
        return tile

    def _drawn(self, index: int) -> _Tile:
        row, frame = self.ink.row_px, self.system.frame
        left_px = index * TILE_PX + frame.left * row
        from_rows, to_rows = left_px / row, (left_px + TILE_PX + 2) / row
        near = np.flatnonzero((self._rights >= from_rows) & (self._lefts <= to_rows))
        shapes = [*self._more_cords(from_rows, to_rows), *(self._shapes[place] for place in near)]
        picture = painted(
            shapes,
            self.ink,
            width=TILE_PX + 2,
            height=self.look.height_px,
            left_px=left_px,
            top_px=-self.top_px,
        )
        even, odd = planes_of_both(picture, self.look.coding)
        ground = plain_planes(self.ink.ground, self.look.coding)
        past = (faded(even, ground, PAST_CONTRAST), faded(odd, ground, PAST_CONTRAST))
        return (even, odd), past

    def _more_cords(self, from_rows: float, to_rows: float) -> Iterator[Shape]:
        """The cords before the first beat and after the last, where the system has none."""
        frame = self.system.frame
        for left, right in (
            (from_rows - 1, min(to_rows + 1, frame.left)),
            (max(from_rows - 1, frame.right), min(to_rows + 1, self._end)),
        ):
            if left < right:
                for hole in range(frame.lowest, frame.highest + 1):
                    y = frame.y_of(hole)
                    yield line("cord", (left, y), (right, y))


def _shapes_of(system: System) -> Iterator[Shape]:
    """What moves, from back to front."""
    yield from (shape for shape in system.under if shape.role not in STILL_ROLES)
    yield from system.links
    for piece in system.events:
        yield from piece.shapes
    yield from system.over


def _with_events(system: System, shown: range) -> System:
    """A system with some of its events alone, and with what stands between them and over them."""
    events = tuple(piece for piece in system.events if piece.index in shown)
    if not events:
        return system
    left, right = system.frame.x_of(events[0].onset), system.frame.x_of(events[-1].end)

    def is_there(shape: Shape) -> bool:
        # the path to an event that follows at once stands where the last one ends
        start, end = _span(shape)
        return left < (start + end) / 2 - EDGE and (start + end) / 2 + EDGE < right

    links, over = (tuple(filter(is_there, shapes)) for shapes in (system.links, system.over))
    return replace(system, events=events, links=links, over=over)


def _span(shape: Shape) -> tuple[float, float]:
    """Left and right end of a shape, rows."""
    if isinstance(shape, Label):
        width = text_width(shape.text, shape.size)
        left = shape.x - {"start": 0.0, "middle": width / 2, "end": width}[shape.anchor]
        return left, left + width
    xs = [x for x, _ in flattened(shape, 2)]
    return min(xs) - 0.2, max(xs) + 0.2


def _number_row(system: System) -> tuple[float, float]:
    """How high the numbers of bars stand in a system, and how large, or would where it has none."""
    for shape in system.under:
        if isinstance(shape, Label) and shape.role == "number_text":
            return shape.y, shape.size
    return system.frame.top - COUNT_ABOVE, COUNT_SIZE


def _count_shapes(system: System, counts: Sequence[tuple[int, float]], rows_per_second: float) -> Iterator[Shape]:
    """The beats counted before the phrase, as (number, ribbon's seconds)."""
    frame = system.frame
    y, size = _number_row(system)
    for number, seconds in counts:
        x = frame.left + seconds * rows_per_second
        yield line("bar" if number == 1 else "beat", (x, frame.top - 0.5), (x, frame.bottom + 0.5))
        yield Label("metre_text", x + 0.1, y, size, str(number), "start")


def _marks_of(backing: BackingLayout) -> dict[int, str]:
    """What each bar of a round, counted from 1, is marked with."""
    phrase = backing.route.phrase
    length = int(backing.round_beats / metre_at(phrase, Fraction(0)).bar)
    of_form = {number: str(number) for number in range(1, length + 1)}
    if backing.is_placed:
        return of_form
    found = bars(phrase)
    marks = {bar.number: printed.mark for bar, printed in zip(found, printed_bars(phrase, found), strict=True)}
    if any(mark != str(number) for number, mark in marks.items() if number):
        return marks
    return of_form


def _with_rounds(system: System, route: Route, backing: BackingLayout) -> System:
    """The system with the bars that are left of the last round, all bars numbered anew in each.

    Those of the phrase have their numbers in the source; those that the form has beyond it are counted on where the
    phrase's are counted from 1, and have none otherwise.
    """
    frame = system.frame
    top, bottom = frame.top - 0.5, frame.bottom + 0.5
    y, size = _number_row(system)
    *beats, last = remaining_beats(route, backing)
    xs = [(one, frame.x_of(one.onset)) for one in beats]
    rest: list[Shape] = [line("bar" if one.bar else "beat", (x, top), (x, bottom)) for one, x in xs]
    marks = _marks_of(backing)
    for bar in bars(route.phrase, until=last.onset):
        mark = marks.get(bar_in_round(bar.number, backing), "") if bar.number else ""
        if mark:
            rest.append(Label("number_text", frame.x_of(bar.onset) + 0.08, y, size, mark, "start"))
    x = frame.x_of(last.onset)
    kept = [shape for shape in system.under if shape.role not in ("end_bar", "number_text")]
    return replace(system, under=(*kept, *rest), over=(*system.over, line("end_bar", (x, top), (x, bottom))))


def ribbon_strip(
    route: Route,
    parts: Sequence[Part],
    beat_times: Timing | BeatTimes,
    look: StripLook,
    *,
    counts: Sequence[tuple[int, float]] = (),
    backing: BackingLayout | None = None,
    shown: range | None = None,
) -> RibbonStrip:
    """The strip of a route whose beats fall when ``beat_times`` says, in the ribbon's seconds.

    counts : numbers of the beats counted before the phrase, and when, ribbon's seconds.
    backing : of the band that goes round with it; its rounds stand one after the other, their bars counted anew.
    shown : indexes of the events that are drawn, where the others are not played; holes and bars stay as they are.
    """
    if backing is not None:
        route, parts = in_a_row(route, parts, backing)
    if shown is not None:
        first, last = route.events[shown[0]].event, route.events[shown[-1]].event
        parts = [part for part in parts if part.onset < last.end and part.end > first.onset]

    def system_at(row_px: float) -> System:
        rows_per_second = look.px_per_second / row_px
        shapes = ribbon_of(
            route,
            layout="strip",
            notation=look.notation,
            parts=parts,
            course=lambda beats: beat_times.seconds_at(beats) * rows_per_second,
        )
        system = shapes.systems[0]
        if shown is not None:
            system = _with_events(system, shown)
        return system if backing is None else _with_rounds(system, route, backing)

    row_px = look.row_px
    system = system_at(row_px)
    while system.height * row_px > look.height_px:
        row_px = min(row_px - 0.5, look.height_px / system.height)
        system = system_at(row_px)
    end = None if backing is None else max(_span(shape)[1] for shape in system.over if shape.role == "end_bar")
    return RibbonStrip(system, look, row_px, counts, end)
