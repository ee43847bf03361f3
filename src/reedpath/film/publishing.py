"""What is published beside a film: a text with its chapters' times, and a title picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from reedpath.film.captions import Cue, chapter_cues, scene_words, split_words
from reedpath.film.ink import FINER, Ink, painted
from reedpath.film.letters import draw_text, fitting_size, wrapped
from reedpath.film.screens import Screen, load_screen
from reedpath.film.timeline import Timeline
from reedpath.lesson import Lesson, by_line, taught_route
from reedpath.page import Palette, facts_of, load_palette, parts_in_beats, ribbon_of, title_words
from reedpath.wording import CAUTIONS, Catalogue

if TYPE_CHECKING:
    from PIL import Image

__all__ = ["encode_title_picture", "film_text", "listed_chapters"]

# seconds that a chapter of a list lasts at least, and characters of its title: what places that show films ask for
LEAST_CHAPTER_SECONDS, CHAPTER_CHARACTERS = 10.0, 50
# parts of the picture's width: air at the sides; parts of its height: where the text begins, and the ribbon under it
SIDE, TOP, TEXT_ROOM = 0.055, 0.06, 0.55
# sizes of letters, parts of the picture's shorter side
TITLE_SIZE, FACTS_SIZE = 0.125, 0.062
TITLE_LINES, FACTS_LINES = 3, 2
# line to line, parts of the letters' size
STEP = 1.2


def _shortened(title: str) -> str:
    title = " ".join(split_words(title))
    return title if len(title) <= CHAPTER_CHARACTERS else title[: CHAPTER_CHARACTERS - 1].rstrip() + "…"


def _length(cue: Cue) -> float:
    return cue.end_seconds - cue.start_seconds


def _long_enough(chapters: Sequence[Cue]) -> list[Cue]:
    """Chapters of which none is too short: neighbours are joined, and bear the name of the longest."""
    groups: list[list[Cue]] = []
    for cue in chapters:
        if groups and groups[-1][-1].end_seconds - groups[-1][0].start_seconds < LEAST_CHAPTER_SECONDS:
            groups[-1].append(cue)
        else:
            groups.append([cue])
    if len(groups) > 1 and groups[-1][-1].end_seconds - groups[-1][0].start_seconds < LEAST_CHAPTER_SECONDS:
        last = groups.pop()
        groups[-1] += last
    return [Cue(group[0].start_seconds, group[-1].end_seconds, max(group, key=_length).lines) for group in groups]


def listed_chapters(lesson: Lesson, timeline: Timeline, words: Catalogue) -> tuple[tuple[float, str], ...]:
    """The chapters for a film's text: start in seconds and title, the first at 0, each at least ten seconds long.

    Where the parts of a scene are too short to be chapters, the scene is one.
    """
    chapters: list[Cue] = []
    cues = chapter_cues(lesson, timeline, words)
    starts = [scene.start_seconds for scene in timeline.scenes]
    chapters += [cue for cue in cues if starts and cue.start_seconds < starts[0]]
    for scene, until in zip(timeline.scenes, [*starts[1:], timeline.seconds], strict=True):
        inside = [cue for cue in cues if scene.start_seconds <= cue.start_seconds < until]
        if min(map(_length, inside), default=0.0) < LEAST_CHAPTER_SECONDS:
            inside = [Cue(scene.start_seconds, until, (scene_words(scene, words),))]
        chapters += inside
    return tuple(
        (cue.start_seconds if place else 0.0, _shortened(cue.lines[0]))
        for place, cue in enumerate(_long_enough(chapters))
    )


def _clock(seconds: float, *, hours: bool) -> str:
    """
    A moment as people write it.

    >>> _clock(62.9, hours=False), _clock(62.9, hours=True)
    ('1:02', '0:01:02')
    """
    whole = int(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}" if hours else f"{whole // 60}:{whole % 60:02d}"


def _text_lines(lesson: Lesson, timeline: Timeline, words: Catalogue) -> Iterator[str]:
    yield title_words(lesson, words)
    if by_line(lesson):
        yield by_line(lesson)
    yield ""
    for fact in facts_of(lesson.route, words):
        yield words.say("film.fact", name=fact["label"], value=fact["value"])
    yield ""
    for start, title in listed_chapters(lesson, timeline, words):
        yield f"{_clock(start, hours=timeline.seconds >= 3600)} {title}"
    yield ""
    yield words.say("caution.heading")
    for name in CAUTIONS:
        yield words.say(f"caution.{name}")


def film_text(lesson: Lesson, timeline: Timeline, words: Catalogue) -> str:
    """The text to publish with a film, as plain lines: title, what it is for, chapters with their times, cautions."""
    return "\n".join(_text_lines(lesson, timeline, words)) + "\n"


def _unbroken(text: str) -> str:
    return text.replace(" ", "\u00a0")


def _headed(lesson: Lesson, screen: Screen, palette: Palette, words: Catalogue) -> Image.Image:
    """The ground with the title and the facts on it, one under the other in the middle of their room."""
    from PIL import Image, ImageDraw

    width, height = screen.width * FINER, screen.height * FINER
    image = Image.new("RGB", (width, height), palette.inks["ground"])
    draw = ImageDraw.Draw(image)
    told = [*filter(None, [by_line(lesson)]), *(fact["value"] for fact in facts_of(lesson.route, words))]
    facts = " ".join(f"{_unbroken(one)}\u00a0·" for one in told)
    rows: list[tuple[str, float, bool]] = []
    for text, share, most_lines, bold in (
        (title_words(lesson, words), TITLE_SIZE, TITLE_LINES, True),
        (facts, FACTS_SIZE, FACTS_LINES, False),
    ):
        size, room = share * min(width, height), (1 - 2 * SIDE) * width
        lines = wrapped(text, size, room, most_lines=most_lines, bold=bold)
        size = min((fitting_size(line, size, room, bold=bold) for line in lines), default=size)
        rows += [(line.removesuffix("\u00a0·"), size, bold) for line in lines]
    tall = sum(STEP * size for _, size, _ in rows)
    smaller = min(1.0, (TEXT_ROOM - TOP) * height / tall)
    y = (TOP + TEXT_ROOM) * height / 2 - smaller * tall / 2
    for line, size, bold in rows:
        step = STEP * size * smaller
        ink = palette.inks["text" if bold else "faint_text"]
        place = (SIDE * width, y + step / 2)
        draw_text(draw, place, line, size_px=size * smaller, fill=ink, anchor="start", bold=bold)
        y += step
    return image.reduce(FINER)


def _ribbon_systems(
    lesson: Lesson, screen: Screen, palette: Palette, language: str, *, width: int
) -> Iterator[Image.Image]:
    """The lines of the ribbon, each as a picture."""
    layout = "upright" if screen.height > screen.width else "wide"
    route = taught_route(lesson)
    ribbon = ribbon_of(route, layout=layout, notation=lesson.notation, parts=parts_in_beats(lesson, language))
    ink = Ink(palette, width / ribbon.width)
    for system in ribbon.systems:
        shapes = (
            *system.under,
            *(shape for hole in system.comb for shape in (hole.box, hole.number)),
            *system.links,
            *(shape for event in system.events for shape in event.shapes),
            *system.over,
        )
        yield painted(shapes, ink, width=width, height=round(system.height * ink.row_px))


def encode_title_picture(
    lesson: Lesson, words: Catalogue, *, screen: str = "landscape", palette: str = "night"
) -> bytes:
    """
    The title picture of a lesson's film as PNG: its title, what it is for, and how its ribbon begins.

    Parameters
    ----------
    screen : "landscape" or "upright"; the picture has its size.
    palette : "night", "paper" or "ink".
    """
    shown, inks = load_screen(screen), load_palette(palette)
    image = _headed(lesson, shown, inks, words)
    left, top = round(SIDE * shown.width), round(TEXT_ROOM * shown.height)
    if lesson.route.events:
        for place, system in enumerate(
            _ribbon_systems(lesson, shown, inks, words.name, width=shown.width - 2 * left)
        ):
            if place and top + system.height > shown.height:
                break
            image.paste(system, (left, top))
            top += system.height
    file = BytesIO()
    image.save(file, format="png", optimize=True)
    return file.getvalue()
