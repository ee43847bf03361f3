"""Zones: the parts of a frame that stand still until something changes, each as a picture of its own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from reedpath.arrange import Choice
from reedpath.film.comb import badge_shapes, comb_row, corners
from reedpath.film.ink import Ink, painted
from reedpath.film.letters import draw_text, fitting_size, text_px, wrapped
from reedpath.film.screens import Screen, Zone
from reedpath.harp import Move
from reedpath.page import Box, Curve, Label, Palette, badge_width, bounds_of, load_palette

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

# drawn so many times larger and then made small
FINER = 2
# parts of a badge's height: each next move is drawn so much smaller than the one that sounds
NEXT_SIZE = 0.5
# how much of its contrast a move keeps when it is over; rows between it and the next ones
FAINT, BETWEEN = 0.45, 0.3
# a move that is spoken of and does not sound yet: its size, a part of the sounding one's; how much of its contrast
COMING_SIZE, COMING_CONTRAST = 0.7, 0.8
# rows; air over and under a badge's outlines, half the width of their ink included
BADGE_AIR = 0.08
# the sign that says whose turn it is: its part of a zone in which there is text too; its letters, its rounding and
# the air at its sides, parts of its height
TURN_OVER_TEXT, TURN_TEXT, TURN_ROUND, TURN_SIDE = 0.56, 0.66, 0.16, 0.34
# rows of tab: pixels to a row of their badges and thickness of the line under the one that sounds, parts of a row's
# height and of its pixels; rows between two badges
TAB_SIZE, TAB_MARK, TAB_BETWEEN = 0.6, 0.09, 0.04
# sizes of a text from the middle of its first line to its upper end, and from line to line
WORDS_HALF, WORDS_STEP = 0.66, 1.15
# rows of the sounding move that the room for badges is high
BADGE_ROWS = 0.96


@dataclass(frozen=True, slots=True)
class Look:
    """What all zones share."""

    screen: Screen
    palette: Palette


@dataclass(frozen=True, slots=True)
class HeadText:
    """What stands at the top: what this is about, the tempo, and a band's round where one plays."""

    about: str
    tempo: str
    turn: str = ""


@dataclass(frozen=True, slots=True)
class Badge:
    """A move to be shown large, its tab and its words."""

    choice: Choice
    tab: str
    words: str


@dataclass(frozen=True, slots=True)
class NowText:
    """What sounds and what comes.

    now : None where nothing has sounded yet.
    faint : whether ``now`` is over, or does not sound yet.
    coming : the next moves in order.
    count : number of a counted beat, shown in place of ``now``.
    awaited : whether ``now`` is spoken of and does not sound yet.
    """

    now: Badge | None
    faint: bool
    coming: tuple[Badge, ...]
    count: int | None = None
    awaited: bool = False


def _canvas(zone: Zone, palette: Palette) -> tuple[Image.Image, ImageDraw.ImageDraw]:
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (zone.width * FINER, zone.height * FINER), palette.inks["ground"])
    return image, ImageDraw.Draw(image)


def head_picture(text: HeadText, look: Look) -> Image.Image:
    """The heading at the left, the tempo at the right; on a narrow screen one under the other."""
    zone, inks = look.screen.head, look.palette.inks
    image, draw = _canvas(zone, look.palette)
    size = look.screen.head_text * FINER
    width, height = zone.width * FINER, zone.height * FINER
    stacked = zone.height > 1.9 * look.screen.head_text
    beside = " · ".join(part for part in (text.tempo, text.turn) if part)
    small = fitting_size(beside, size * 0.78, width if stacked else 0.6 * width, bold=False)
    room = width if stacked else width - text_px(beside, small, bold=False) - size
    place, anchor = ((0.0, height - WORDS_HALF * small), "start") if stacked else ((width, height / 2), "end")
    draw_text(draw, place, beside, size_px=small, fill=inks["faint_text"], anchor=anchor, bold=False)
    high = height - 2 * WORDS_HALF * small if stacked else height
    lines, size = _largest(text.about, size, room, high, bold=True)
    for index, line in enumerate(lines):
        y = high / 2 + (index - (len(lines) - 1) / 2) * WORDS_STEP * size
        draw_text(draw, (0, y), line, size_px=size, fill=inks["text"], anchor="start")
    return image.reduce(FINER)


def harp_picture(holes: int, move: Move | None, zone: Zone, look: Look) -> Image.Image:
    """The harp with its sounding holes lit."""
    row_px = min(zone.height / 1.9, zone.width / (holes + 0.6))
    shapes = comb_row(holes, move, width=zone.width / row_px, height=zone.height / row_px)
    return painted(shapes, Ink(look.palette, row_px), width=zone.width, height=zone.height)


@dataclass(frozen=True, slots=True)
class TurnSign:
    """Whose turn it is or will be, large; ``count`` is the beat that counts the student in."""

    text: str
    count: int | None = None


def caption_picture(text: str, zone: Zone, look: Look, turn: TurnSign | None = None) -> Image.Image:
    """Steps, in as few lines as they need, in the middle of their zone; under a sign that says whose turn it is."""
    screen = look.screen
    image, draw = _canvas(zone, look.palette)
    width, size = zone.width * FINER, screen.caption_text * FINER
    above = 0.0
    if turn is not None:
        above = zone.height * FINER * (TURN_OVER_TEXT if text else 1.0)
        _draw_turn(draw, turn, width, above, look.palette)
    lines = wrapped(text, size, width, most_lines=screen.caption_lines)
    size = min(fitting_size(line, size, width, bold=False) for line in lines) if lines else size
    low = zone.height * FINER - above
    step = min(size * 1.22, low / max(1, len(lines) if above else screen.caption_lines))
    size = min(size, step / 1.1) if above else size
    top = above + low / 2 - step * (len(lines) - 1) / 2
    for index, line in enumerate(lines):
        draw_text(
            draw, (width / 2, top + index * step), line, size_px=size, fill=look.palette.inks["text"], bold=False
        )
    return image.reduce(FINER)


def tab_width(badge: Badge) -> float:
    """Width of a move in a row of tab, parts of the row's pixels (`tab_row_px`)."""
    return badge_width(badge.tab) + 0.2 + TAB_BETWEEN


def tab_row_px(look: Look) -> float:
    """Pixels to a row of the badges in rows of tab."""
    zone, rows = look.screen.caption, look.screen.tab_rows
    return TAB_SIZE * zone.height / rows if zone is not None and rows else 0.0


def tab_picture(rows: Sequence[Sequence[Badge]], current: int | None, zone: Zone, look: Look) -> Image.Image:
    """Moves in rows: what is past is faint, what sounds has a line under it.

    current : the how-manieth of all of them sounds or has sounded last, from 0.
    """
    from PIL import Image

    inks, row_px = look.palette.inks, tab_row_px(look)
    image = Image.new("RGB", (zone.width, zone.height), inks["ground"])
    tall, place = zone.height // look.screen.tab_rows, 0
    mark = max(2, round(TAB_MARK * row_px))
    for number, row in enumerate(rows):
        x, top = 0.0, number * tall
        for badge in row:
            picture = _badge_picture(badge.choice, badge.tab, row_px, tall - 2 * mark, look.palette.name)
            if current is not None and place < current:
                picture = Image.blend(Image.new("RGB", picture.size, inks["ground"]), picture, FAINT)
            image.paste(picture, (round(x), top))
            if place == current:
                line = (round(x), top + tall - 2 * mark, round(x) + picture.width, top + tall - mark)
                image.paste(inks["text"], line)
            x += tab_width(badge) * row_px
            place += 1
    return image


def _draw_turn(draw: ImageDraw.ImageDraw, turn: TurnSign, width: float, height: float, palette: Palette) -> None:
    """A full plate with letters cut out of it, so that it is seen from afar; the counted beat at its end."""
    inks = palette.inks
    draw.rounded_rectangle((0, 0, width - 1, height - 1), radius=height * TURN_ROUND, fill=inks["text"])
    count = "" if turn.count is None else str(turn.count)
    side = height * TURN_SIDE
    room = width - 2 * side - (text_px("0", height * TURN_TEXT) + side if count else 0.0)
    size = fitting_size(turn.text, height * TURN_TEXT, room)
    draw_text(draw, (side + room / 2, height / 2), turn.text, size_px=size, fill=inks["ground"])
    if count:
        place = (width - side, height / 2)
        draw_text(draw, place, count, size_px=height * TURN_TEXT, fill=inks["ground"], anchor="end")


def _badge_sizes(text: NowText, look: Look) -> tuple[float, float]:
    """Pixels to a row of the badge that sounds and of those that come, so that all fit side by side."""
    zone, row = look.screen.now, look.screen.now_row
    first = badge_width(text.now.tab) if text.now is not None else badge_width("")
    rows = first + sum(badge_width(badge.tab) * NEXT_SIZE for badge in text.coming) + 0.3 * (1 + len(text.coming))
    row = min(row, zone.width / rows)
    return row, row * NEXT_SIZE


@lru_cache(maxsize=256)
def _badge_picture(
    choice: Choice, tab: str, row_px: float, height: int, palette: str, *, awaited: bool = False
) -> Image.Image:
    """A badge by itself, so that it is drawn once however often it comes.

    awaited : whether it does not sound yet: then it is smaller, fainter, and between corners.
    """
    from PIL import Image

    box = bounds_of(one for one in badge_shapes(choice, tab, 0.0, 0.0) if isinstance(one, Curve))
    # what hangs down or stands on top is not cut: the badge makes way for it, and is smaller where that is not enough
    row_px = min(row_px, height / (box.bottom - box.top + 2 * BADGE_AIR))
    size = COMING_SIZE if awaited else 1.0
    width = (badge_width(tab) + 0.2) / size
    row_px *= size
    width_px, rows = math.ceil(width * row_px), height / row_px
    middle = max(BADGE_AIR - box.top, min(rows / 2, rows - box.bottom - BADGE_AIR))
    shapes = list(badge_shapes(choice, tab, width / 2, middle))
    ink = Ink(load_palette(palette), row_px)
    if not awaited:
        return painted(shapes, ink, width=width_px, height=height)
    shapes += corners(Box(BADGE_AIR, BADGE_AIR, width - BADGE_AIR, rows - BADGE_AIR))
    image = painted(shapes, ink, width=width_px, height=height)
    return Image.blend(Image.new("RGB", image.size, ink.ground), image, COMING_CONTRAST)


def now_picture(text: NowText, look: Look) -> Image.Image:
    """The move that sounds in big type with its words, and the next ones smaller beside it."""
    from PIL import Image

    zone, ground = look.screen.now, look.palette.inks["ground"]
    row, small = _badge_sizes(text, look)
    high = round(look.screen.now_row * BADGE_ROWS)
    image = Image.new("RGB", (zone.width, zone.height), ground)
    x = badge_width("") * row
    if text.count is not None:
        count = Label("heading_text", badge_width("") / 2, high / row / 2, 0.7, str(text.count))
        image.paste(painted([count], Ink(look.palette, row), width=round(x), height=high), (0, 0))
    elif text.now is not None:
        badge = _badge_picture(text.now.choice, text.now.tab, row, high, look.palette.name, awaited=text.awaited)
        if text.faint and not text.awaited:
            badge = Image.blend(Image.new("RGB", badge.size, ground), badge, FAINT)
        image.paste(badge, (0, 0))
        x = badge.width
    x += BETWEEN * row
    for coming in text.coming:
        badge = _badge_picture(coming.choice, coming.tab, small, high, look.palette.name)
        image.paste(badge, (round(x), 0))
        x += badge.width + 0.2 * small
    _write_words(image, text, look, high)
    return image


def _largest(
    words: str, size: float, width: float, height: float, *, bold: bool = False, lines_at_most: int = 2
) -> tuple[list[str], float]:
    """Words in one line or in some, as large as they can be in that room; what hangs down under a line included."""
    found: list[tuple[float, list[str]]] = []
    for most_lines in range(1, lines_at_most + 1):
        tall = min(size, height / (2 * WORDS_HALF + (most_lines - 1) * WORDS_STEP))
        lines = wrapped(words, tall, width, most_lines=most_lines, bold=bold)
        found.append((min((fitting_size(line, tall, width, bold=bold) for line in lines), default=tall), lines))
    best = max(found, key=lambda pair: pair[0])
    return best[1], best[0]


def _write_words(image: Image.Image, text: NowText, look: Look, top: int) -> None:
    """The words of the move that sounds, under its badge; of the coming one before anything sounds."""
    zone, inks = look.screen.now, look.palette.inks
    badge = text.now if text.count is None else None
    if badge is None:
        return
    low = Zone(zone.left, zone.top + top, zone.right, zone.bottom)
    strip, draw = _canvas(low, look.palette)
    lines, size = _largest(
        badge.words,
        look.screen.words_text * FINER,
        low.width * FINER,
        low.height * FINER,
        lines_at_most=look.screen.words_lines,
    )
    step = size * WORDS_STEP
    for index, line in enumerate(lines):
        fill = inks["faint_text"] if text.faint else inks["text"]
        draw_text(
            draw, (0, size * WORDS_HALF + index * step), line, size_px=size, fill=fill, anchor="start", bold=False
        )
    image.paste(strip.reduce(FINER), (0, top))
