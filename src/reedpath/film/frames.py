"""Frames: what a film shows at a moment. Only what has changed since the last frame is drawn."""

from __future__ import annotations

from bisect import bisect_left
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import TYPE_CHECKING

from msgspec.structs import replace

from reedpath.film.captions import (
    about_words,
    caption_text,
    round_words,
    scene_words,
    spot_time_words,
    turn_call_words,
)
from reedpath.film.comb import comb_column
from reedpath.film.ink import painted
from reedpath.film.planes import BT709, Bytes, Coding, Frame, Planes, plain_planes, planes_of
from reedpath.film.publishing import headed_picture
from reedpath.film.screens import Screen, Zone
from reedpath.film.strips import RibbonStrip, StripLook, ribbon_strip
from reedpath.film.tab_pages import TabPage, tab_page_at, tab_pages
from reedpath.film.timeline import Highlight, Scene, SceneKind, Timeline
from reedpath.film.zones import (
    Badge,
    HeadText,
    Look,
    NowText,
    TurnSign,
    caption_picture,
    harp_picture,
    head_picture,
    now_picture,
    tab_picture,
    tab_row_px,
    tab_width,
)
from reedpath.harp import Move, format_move, load_notation
from reedpath.lesson import Lesson, steps_of, taught_route
from reedpath.page import event_words, load_palette, parts_in_beats, ribbon_of
from reedpath.wording import Catalogue

if TYPE_CHECKING:
    from PIL import Image

# pictures of zones that are kept to be put again
PICTURES_KEPT = 200
# seconds for which a move stays bright after it has ended, so that gaps between notes do not flicker
BRIGHT_SECONDS = 0.15
# rows; width of the comb beside the ribbon
COMB_ROWS = 1.16


class FramePainter:
    """Draws the frames of a timeline, in any order of time, fastest forwards.

    lesson, timeline : what is filmed.
    screen : what stands where.
    words : the language of headings and captions.
    palette : "night", "paper" or "ink".
    frames_per_second : at which the ribbon glides by whole pixels.
    """

    def __init__(
        self,
        lesson: Lesson,
        timeline: Timeline,
        screen: Screen,
        words: Catalogue,
        *,
        palette: str = "night",
        frames_per_second: int = 30,
        coding: Coding = BT709,
    ) -> None:
        self.lesson, self.timeline, self.screen, self.words = lesson, timeline, screen, words
        self.look = Look(screen, load_palette(palette))
        self.frames_per_second = frames_per_second
        self.coding = coding
        self.frame = Frame(screen.width, screen.height)
        self._blocks = steps_of(lesson, words)
        self._badges: dict[int, Badge] = {}
        self._notation = load_notation(lesson.notation)
        # over a film there is no room to spare, and the heading names the part
        over = screen.plate is not None
        self._parts = () if over else parts_in_beats(lesson, words.name)
        self._route = replace(lesson.route, spots=()) if over else taught_route(lesson)
        self._rows_per_beat = ribbon_of(lesson.route, layout="strip").systems[0].frame.rows_per_beat
        self._shown: dict[str, Hashable] = {}
        self._pictures: OrderedDict[Hashable, Planes] = OrderedDict()
        self._strip: tuple[Scene, RibbonStrip] | None = None
        self._tab: tuple[Scene, tuple[TabPage, ...]] | None = None
        self.frame.fill(plain_planes(self.look.palette.inks["ground"], coding))

    def draw(self, seconds: float) -> Bytes:
        """The frame of a moment as `Frame.array`; it is drawn over by the next call.

        Between scenes the next one waits at its start; after the last it stands at its end.
        """
        if seconds < self.timeline.title_seconds:
            self._draw_title()
            return self.frame.array
        if "title" in self._shown:
            self._shown.clear()
            self.frame.fill(plain_planes(self.look.palette.inks["ground"], self.coding))
        scene = self.timeline.scene_at(seconds)
        if scene is None:
            later = [one for one in self.timeline.scenes if one.start_seconds > seconds]
            scene = later[0] if later else self.timeline.scenes[-1]
            seconds = scene.start_seconds if later else scene.end_seconds - 1e-6
        self._draw_scene(scene, seconds)
        return self.frame.array

    def _draw_title(self) -> None:
        """The title and what a player must know first, over the harp that it is played on."""
        if "title" in self._shown:
            return
        harp, screen, look = self.screen.harp, self.screen, self.look
        self._shown.clear()
        until = 1.0 if harp is None else harp.top / screen.height
        picture = headed_picture(self.lesson, screen, look.palette, self.words, until=until)
        self.frame.put(planes_of(picture, self.coding), 0, 0)
        if harp is not None:
            holes = self.lesson.route.harp.tuning.holes
            self._put("harp", harp, None, lambda: harp_picture(holes, None, harp, look))
        self._shown["title"] = None

    def _draw_scene(self, scene: Scene, seconds: float) -> None:
        screen, look = self.screen, self.look
        sounding, heading = scene.highlight_at(seconds), scene.heading_at(seconds)
        move = self._move_of(sounding)
        about = about_words(self.lesson, heading, self._blocks, self.words)
        turn = round_words(scene.round_at(seconds), self.words)
        turn = turn or spot_time_words(scene.spot_time_at(seconds), scene, self.words)
        head = HeadText(about, scene_words(scene, self.words), turn)
        self._put("head", screen.head, head, lambda: head_picture(head, look))
        now = self._now_text(scene, scene.last_highlight(seconds), seconds)
        self._put("now", screen.now, now, lambda: now_picture(now, look))
        if (harp := screen.harp) is not None:
            holes = self.lesson.route.harp.tuning.holes
            self._put("harp", harp, move, lambda: harp_picture(holes, move, harp, look))
        if (under := screen.caption) is not None:
            caption = scene.caption_at(seconds)
            text = caption_text(self.lesson, caption, self._blocks, self.words) if caption else ""
            self._draw_caption(scene, text, under, seconds)
        awaited = scene.coming_at(seconds)
        self._draw_ribbon(scene, move, self._move_of(awaited), seconds)

    def _draw_caption(self, scene: Scene, text: str, zone: Zone, seconds: float) -> None:
        """What is said, or while nothing is, the tab of what is played."""
        turn, look = self._turn_sign(scene, seconds), self.look
        if text or turn or not self.screen.tab_rows or scene.kind is SceneKind.STEPS:
            self._put("caption", zone, (text, turn), lambda: caption_picture(text, zone, look, turn))
            return
        place = scene.last_highlight(seconds)
        page = tab_page_at(self._tab_pages_of(scene, zone), place)
        events = [tuple(one.event for one in scene.highlights[first:stop]) for first, stop in page]
        current = place - page[0][0] if page and place >= 0 else None

        def tab() -> Image.Image:
            return tab_picture([[self._badge(event) for event in row] for row in events], current, zone, look)

        self._put("caption", zone, (*events, current), tab)

    def _tab_pages_of(self, scene: Scene, zone: Zone) -> tuple[TabPage, ...]:
        """The tab of a scene on pages."""
        if self._tab is None or self._tab[0] is not scene:
            widths = [tab_width(self._badge(one.event)) for one in scene.highlights]
            begins = {
                bisect_left(scene.highlights, heading.start_seconds - 1e-6, key=lambda one: one.start_seconds)
                for heading in scene.headings
            }
            room = zone.width / tab_row_px(self.look)
            self._tab = (scene, tab_pages(widths, begins, room=room, rows=self.screen.tab_rows))
        return self._tab[1]

    def _turn_sign(self, scene: Scene, seconds: float) -> TurnSign | None:
        """What is said, large, of the student's turn."""
        call = scene.turn_call_at(seconds)
        if call is None:
            return None
        counted = [one.number for one in call.counts if one.start_seconds <= seconds < call.turn_seconds]
        return TurnSign(turn_call_words(call, seconds, self.words), counted[-1] if counted else None)

    def _put(self, name: str, zone: Zone, key: Hashable, draw: Callable[[], Image.Image]) -> None:
        """Put a zone's picture where it is not there already."""
        if self._shown.get(name, self) == key:
            return
        self.frame.put(self._picture((name, key), draw), zone.left, zone.top)
        self._shown[name] = key

    def _picture(self, key: Hashable, draw: Callable[[], Image.Image]) -> Planes:
        if key in self._pictures:
            self._pictures.move_to_end(key)
        else:
            self._pictures[key] = planes_of(draw(), self.coding)
            if len(self._pictures) > PICTURES_KEPT:
                self._pictures.popitem(last=False)
        return self._pictures[key]

    def _badge(self, index: int) -> Badge:
        if index not in self._badges:
            one = self.lesson.route.events[index]
            tab = format_move(one.choice.move, self._notation) if one.choice.move is not None else ""
            self._badges[index] = Badge(one.choice, tab, event_words(one, self.words))
        return self._badges[index]

    def _move_of(self, one: Highlight | None) -> Move | None:
        return self.lesson.route.events[one.event].choice.move if one else None

    def _now_text(self, scene: Scene, place: int, seconds: float) -> NowText:
        highlights, awaited = scene.highlights, scene.coming_at(seconds)
        after = place + (1 if awaited is None else 2)
        coming = tuple(self._badge(one.event) for one in highlights[after : after + self.screen.next_moves])
        if awaited is not None:
            return NowText(self._badge(awaited.event), faint=True, coming=coming, awaited=True)
        count = scene.count_at(seconds)
        if place < 0:
            return NowText(None, faint=False, coming=coming, count=count.number if count else None)
        faint = seconds >= highlights[place].end_seconds + BRIGHT_SECONDS
        return NowText(self._badge(highlights[place].event), faint=faint, coming=coming)

    def _strip_of(self, scene: Scene) -> RibbonStrip:
        if self._strip is None or self._strip[0] is not scene:
            counts = [(count.number, scene.glide.at(count.start_seconds)) for count in scene.counts]
            look = self._strip_look(scene)
            strip = ribbon_strip(
                self._route, self._parts, scene.beat_times, look, counts=counts, backing=scene.backing,
                shown=scene.shown,
            )  # fmt: skip
            self._strip = (scene, strip)
            self._shown.pop("comb", None)
        return self._strip[1]

    def _strip_look(self, scene: Scene) -> StripLook:
        """How fast the ribbon runs: as its densest notes ask, but so that enough of what comes is seen."""
        screen = self.screen
        wanted = self._rows_per_beat * screen.row * scene.bpm / 60.0
        most = (screen.ribbon.width - screen.comb_at) / screen.ahead_seconds
        per_frame = max(1, round(min(wanted, most) / self.frames_per_second))
        return StripLook(
            self.look.palette,
            self.lesson.notation,
            screen.ribbon.height,
            screen.row,
            float(per_frame * self.frames_per_second),
            self.coding,
        )

    def _draw_ribbon(self, scene: Scene, move: Move | None, awaited: Move | None, seconds: float) -> None:
        strip, zone, screen = self._strip_of(scene), self.screen.ribbon, self.screen
        x = strip.x_of(scene.glide.at(seconds))
        comb_px = round(COMB_ROWS * strip.ink.row_px / 2) * 2
        past_px = screen.comb_at - comb_px
        strip.put(self.frame, x - past_px, left=zone.left, top=zone.top, width=past_px, past=True)
        now = zone.left + screen.comb_at
        strip.put(self.frame, x, left=now, top=zone.top, width=zone.right - now)
        strip.put_names(self.frame, x, left=now, top=zone.top, width=zone.right - now)

        def comb() -> Image.Image:
            holes, width = self.lesson.route.harp.tuning.holes, comb_px / strip.ink.row_px
            shapes = comb_column(strip.system, holes, width, move, awaited)
            return painted(shapes, strip.ink, width=comb_px, height=zone.height, top_px=-strip.top_px)

        key = (strip.ink.row_px, move, awaited)
        self.frame.put(self._picture(("comb", key), comb), now - comb_px, zone.top)
