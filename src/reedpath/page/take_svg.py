"""The picture of a take: what was heard, drawn over the ribbon of what was asked.

The ribbon stays as it is, so that each note is found where the lesson has it. Over it the measured pitch runs as a
line: thin where it is as asked, thick where not, with what is off beside it in figures (cents, or milliseconds). A
sound that belongs to no note is a dashed line; a note that is missing is crossed out. Nothing is told by colour.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from reedpath.data import replace
from reedpath.harp import format_move, load_notation
from reedpath.hear import PitchCurve
from reedpath.listen import (
    Answer,
    EventAnswer,
    FaultKind,
    PlayAnswer,
    TakeCurve,
    TakeStroke,
    Verdict,
    answer_curve,
    holes_heard,
)
from reedpath.page.drawing.drawing_data import box_of, text_width
from reedpath.page.drawing.legend import SAMPLE, Entry, heading_of, laid_out
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.shapes import Box, Curve, Label, Shape, line, rounded_box
from reedpath.page.drawing.svg import SvgWriter
from reedpath.page.ribbon.grid import SystemFrame
from reedpath.page.ribbon.notes import EventShapes
from reedpath.page.ribbon.svg import RibbonLook
from reedpath.page.ribbon.systems import RibbonShapes, System, ribbon_of
from reedpath.phrase import Metre, metre_at
from reedpath.wording import Catalogue, load_catalogue, tempo_words

# rows; the room that the heading takes, and the air above the legend
HEADING, LEGEND_AIR = 2.1, 0.7
# rows; size of the tab and figures over a note, how far they stand over its cord, and the air round them
FIGURE, FIGURE_OVER, FIGURE_AIR = 0.42, 0.56, 0.05
# rows; half the size of the cross on a missing note
CROSS = 0.3
# beats by which neighbouring points of the line may lie apart before it is broken
BREAK_BEATS = 0.25
# user units between the pictures of several pieces
APART = 24
# points of a line under which it is not drawn
FEWEST_POINTS = 3


def _runs(stroke: TakeStroke, frame: SystemFrame) -> Iterator[list[tuple[float, float]]]:
    """The points of a stroke that lie in a frame, broken where nothing is heard."""
    run: list[tuple[float, float]] = []
    before = -np.inf
    for beats, semitones in zip(stroke.beats, stroke.semitones, strict=True):
        inside = float(frame.onset) <= beats < float(frame.end) and not np.isnan(semitones)
        if run and (not inside or beats - before > BREAK_BEATS):
            yield run
            run = []
        if inside:
            run.append((frame.x_of(float(beats)), frame.y_of(stroke.hole, float(semitones))))
            before = beats
    if run:
        yield run


def _role(stroke: TakeStroke) -> str:
    if stroke.event is None:
        return "take_extra"
    return "take_heard" if stroke.is_right else "take_off"


def _lines(curve: TakeCurve, frame: SystemFrame) -> Iterator[Shape]:
    for stroke in curve.strokes:
        for points in _runs(stroke, frame):
            if len(points) >= FEWEST_POINTS:
                yield line("take_ground", *points)
                yield line(_role(stroke), *points)


def _cross(box: Box) -> list[Shape]:
    x, y = box.middle
    half = min(CROSS, max(0.14, (box.right - box.left) / 2))
    strokes = [((x - half, y - CROSS), (x + half, y + CROSS)), ((x - half, y + CROSS), (x + half, y - CROSS))]
    return [line(role, *ends) for role in ("take_ground", "take_missed") for ends in strokes]


def _figure(one: EventAnswer, words: Catalogue, notation: str) -> str:
    """What is off about an event, as short as can be."""
    if one.verdict is Verdict.ANOTHER and one.heard is not None:
        return f"→ {format_move(one.heard, load_notation(notation))}"
    holes = _holes(one, words)
    if holes:
        return holes
    kinds = [fault.kind for fault in one.faults]
    if (FaultKind.FLAT in kinds or FaultKind.SHARP in kinds) and one.cents is not None:
        return _signed(one.cents, words)
    if (FaultKind.LATE in kinds or FaultKind.EARLY in kinds) and one.late_seconds is not None:
        return f"{_signed(1000.0 * one.late_seconds, words)} ms"
    return ""


def _holes(one: EventAnswer, words: Catalogue) -> str:
    """The holes that are wrong: another in the place of one, those that are silent, those that sound along."""
    heard = holes_heard(one.reeds)
    told = [f"{asked} → {other}" for asked, other in heard.wrong]
    if heard.missing:
        told.append(words.say("take.without", holes=words.join(heard.missing)))
    if heard.too_many:
        told.append(words.say("take.along", holes=words.join(heard.too_many)))
    return ", ".join(told)


def _signed(amount: float, words: Catalogue) -> str:
    return ("+" if amount > 0 else "") + words.number(round(amount))


def _boxed(label: Label) -> Box:
    box = box_of(label)
    return Box(box.left - FIGURE_AIR, box.top - FIGURE_AIR, box.right + FIGURE_AIR, box.bottom + FIGURE_AIR)


def _text_over(piece: EventShapes, figure: str, system: System) -> list[Shape]:
    """The tab of an event and what is off about it, over its strip on a small ground of its own; under it where a
    bar's number stands over it.
    """
    strip = piece.strips[-1]
    text = f"{piece.tab} {figure}" if figure else piece.tab
    half = text_width(text, FIGURE) / 2
    x = max((strip.left + strip.right) / 2, system.frame.left + half)
    y = min(strip.cord, strip.y_at(strip.hold)) - FIGURE_OVER
    label = Label("take_text" if figure else "legend_text", x, y, FIGURE, text)
    numbers = [shape for shape in system.under if isinstance(shape, Label)]
    if any(_boxed(label).overlaps(box_of(number)) for number in numbers):
        label = replace(label, y=strip.y_at(strip.hold) + FIGURE_OVER)
    return [rounded_box("take_note", _boxed(label), 0.1), label]


def _over(
    system: System, curve: TakeCurve, told: Mapping[int, EventAnswer], words: Catalogue, notation: str
) -> list[Shape]:
    """All that a take draws over a system."""
    shapes = list(_lines(curve, system.frame))
    labels: tuple[list[Shape], list[Shape]] = ([], [])  # those that tell a fault lie over the others
    for piece in system.events:
        if not piece.first or not piece.strips:
            continue
        strip = piece.strips[0]
        if piece.index in curve.missed:
            shapes += _cross(Box(strip.left, strip.cord - CROSS, strip.right, strip.cord + CROSS))
        for cord in [system.frame.y_of(hole) for event, hole in curve.silent if event == piece.index]:
            shapes += _cross(Box(strip.left, cord - CROSS, strip.right, cord + CROSS))
        figure = _figure(told[piece.index], words, notation) if piece.index in told else ""
        labels[bool(figure)].extend(_text_over(piece, figure, system))
    return [*shapes, *labels[0], *labels[1]]


def _wave(role: str) -> tuple[Shape, ...]:
    points = [(SAMPLE * step / 12, 0.05 * np.sin(step)) for step in range(13)]
    return (line("take_ground", *points), line(role, *points))


def _legend_entries(words: Catalogue) -> list[Entry]:
    cross = tuple(_cross(Box(0.4, -CROSS, 1.1, CROSS)))
    return [
        Entry(_wave("take_heard"), words.say("take.heard")),
        Entry(_wave("take_off"), words.say("take.off")),
        Entry(_wave("take_extra"), words.say("take.extra")),
        Entry(cross, words.say("take.missed")),
    ]


def _systems(
    ribbon: RibbonShapes, writer: SvgWriter, over: Sequence[Sequence[Shape]], *, top: float
) -> Iterator[str]:
    for system, heard in zip(ribbon.systems, over, strict=True):
        yield f'<g class="system" transform="translate(0 {writer.length(top + system.top)})">'
        yield writer.shapes(system.under)
        for hole in system.comb:
            yield writer.shapes((hole.box, hole.number))
        yield writer.shapes(system.links)
        for piece in system.events:
            # the tab stands over the strips here, where the line does not hide it
            strips = [shape for shape in piece.shapes if isinstance(shape, Curve)]
            yield f'<g class="event" data-event="{piece.index}">{writer.shapes(strips)}</g>'
        yield writer.shapes(system.over)
        yield f'<g class="take">{writer.shapes(heard)}</g>'
        yield "</g>"


def _heading(title: str, play: PlayAnswer, number: int, metre: Metre, words: Catalogue, width: float) -> list[Shape]:
    about = [
        words.say("take.by_parts") if play.is_by_parts else words.say("take.play_through", number=number + 1),
        tempo_words(play.tempo.bpm, metre, words, decimals=0),
        words.say("listen.share", count=play.right, notes=len(play.heard_events)).rstrip("."),
    ]
    return heading_of(title, " · ".join(about), width=width)


def format_take_svg(
    answer: Answer,
    curve: PitchCurve,
    *,
    play: int | None = None,
    look: RibbonLook | None = None,
    catalogue: Catalogue | None = None,
) -> str:
    """
    One play-through of a take over the ribbon of its route, as an SVG file's text.

    curve : of the take, as `reedpath.listen.LinedUp.hearing` has it.
    play : index of the play-through, the best one, or those of the parts, for None; where there is none, the ribbon
        stands alone.
    """
    look = look or RibbonLook()
    words = catalogue or load_catalogue("en")
    one = answer.best_play if play is None else answer.plays[play]
    route = answer.heard_route
    if one is not None:
        # the spots that failed, numbered as the drills made of them
        route = replace(route, spots=one.spots)
    ribbon = ribbon_of(route, layout=look.layout, notation=look.notation, all_holes=look.all_holes)
    writer = SvgWriter(load_palette(look.palette), ribbon.row_px)
    title = words.say("take.title", title=route.phrase.title or words.say("sheet.ribbon"))
    over: list[Sequence[Shape]] = [()] * len(ribbon.systems)
    heading: list[Shape] = []
    if one is not None:
        drawn = answer_curve(answer, one, curve)
        told = {event.event: event for event in one.events}
        over = [_over(system, drawn, told, words, look.notation) for system in ribbon.systems]
        metre = metre_at(route.phrase, route.phrase.pickup)
        number = answer.best if play is None else play
        heading = _heading(title, one, number or 0, metre, words, ribbon.width)
    top = HEADING if look.heading else 0.0
    sections = [writer.shapes(heading)] if look.heading else []
    sections += list(_systems(ribbon, writer, over, top=top))
    height = top + ribbon.height
    if look.legend:
        legend = laid_out(_legend_entries(words), width=ribbon.width, measures=ribbon.measures)
        sections.append(writer.group("legend", height + LEGEND_AIR, legend.shapes))
        height += LEGEND_AIR + legend.height
    return writer.picture(
        "\n".join(section for section in sections if section),
        width=ribbon.width,
        height=height + 0.3,
        title=title,
        description=words.say("take.describes", count=len(route.events)),
    )


_SIZE = re.compile(r'<svg [^>]*?width="(\d+)" height="(\d+)"')


def stacked_pictures(pictures: Sequence[str]) -> str:
    """Pictures of takes as one, each under the one before; a single one as it is."""
    if len(pictures) == 1:
        return pictures[0]
    sizes = [tuple(map(int, found.groups())) for one in pictures if (found := _SIZE.match(one))]
    width, height = max(one[0] for one in sizes), sum(one[1] for one in sizes) + APART * (len(sizes) - 1)
    parts, top = [], 0
    for picture, (_, rows) in zip(pictures, sizes, strict=True):
        parts.append(picture.replace("<svg ", f'<svg y="{top}" ', 1))
        top += rows + APART
    body = "".join(parts)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">\n'
        f"{body}</svg>\n"
    )
