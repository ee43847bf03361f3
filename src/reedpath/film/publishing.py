"""What is published beside a film: a text with its chapters' times, and a title picture."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from reedpath.film.captions import Cue, about_words, chapter_cues, scene_words, split_words, title_lines
from reedpath.film.cards import FACTS, SIDE, TITLE, facts_joined, text_picture
from reedpath.film.ink import Ink, painted
from reedpath.film.screens import Screen, load_screen
from reedpath.film.timeline import Scene, SceneKind, Timeline
from reedpath.lesson import Lesson, by_line, steps_of, taught_route
from reedpath.page import Palette, facts_of, load_palette, parts_in_beats, ribbon_of, title_words
from reedpath.wording import CAUTIONS, Catalogue

if TYPE_CHECKING:
    from PIL import Image

# seconds that a chapter of a list lasts at least, and characters of its title: what places that show films ask for
LEAST_CHAPTER_SECONDS, CHAPTER_CHARACTERS = 10.0, 50
# parts of the picture's height: where the text begins, and the ribbon under it
TOP, TEXT_ROOM = 0.06, 0.55


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

    Where the parts of a scene are too short to be chapters, the scene is one. A part that is played again in the
    teacher's film, at another tempo, belongs to its chapter where it is too short for one.
    """
    chapters: list[Cue] = []
    cues = chapter_cues(lesson, timeline, words)
    starts = [scene.chapter_seconds for scene in timeline.scenes]
    if timeline.title_seconds:
        starts[0] = 0.0
    chapters += [cue for cue in cues if starts and cue.start_seconds < starts[0]]
    before: frozenset[int] = frozenset()
    for scene, start, until in zip(timeline.scenes, starts, [*starts[1:], timeline.seconds], strict=True):
        inside = [cue for cue in cues if start <= cue.start_seconds < until]
        parts = _parts_of(lesson, scene)
        if min(map(_length, inside), default=0.0) < LEAST_CHAPTER_SECONDS:
            inside = [Cue(start, until, (_scene_title(lesson, scene, words),))]
            if parts and parts == before and _length(inside[0]) < LEAST_CHAPTER_SECONDS:
                chapters[-1] = Cue(chapters[-1].start_seconds, until, chapters[-1].lines)
                continue
        chapters += inside
        before = parts
    return as_list(chapters)


def _parts_of(lesson: Lesson, scene: Scene) -> frozenset[int]:
    """The parts that are played in a scene of the teacher's film; those that are alike are one."""
    if scene.kind is not SceneKind.TAKE:
        return frozenset()
    parts = ((one.part, lesson.parts[one.part].same_as) for one in scene.headings if one.part is not None)
    return frozenset(part if same is None else same for part, same in parts)


def _scene_title(lesson: Lesson, scene: Scene, words: Catalogue) -> str:
    """What a scene is called as one chapter: the teacher's own by the parts that are played, where there is room."""
    tempo = scene_words(scene, words)
    if scene.kind is not SceneKind.TAKE or not scene.headings:
        return tempo
    if len(scene.headings) == 1:
        about = about_words(lesson, scene.headings[0], steps_of(lesson, words), words)
    else:
        labels = [lesson.parts[one.part].label for one in scene.headings if one.part is not None]
        about = words.say("tab.parts", labels=words.join(labels))
    title = words.say("film.chapter", about=about, tempo=tempo)
    return title if len(title) <= CHAPTER_CHARACTERS else tempo


def as_list(chapters: Sequence[Cue]) -> tuple[tuple[float, str], ...]:
    """Chapters as places that show films take them: start in seconds and title, the first at 0, none too short."""
    return tuple(
        (cue.start_seconds if place else 0.0, _shortened(cue.lines[0]))
        for place, cue in enumerate(_long_enough(chapters))
    )


def chapter_lines(chapters: Iterable[tuple[float, str]], seconds: float) -> Iterator[str]:
    """A line for each chapter of a list: when it begins, and its title.

    seconds : length of the film.
    """
    for start, title in chapters:
        yield f"{_clock(start, hours=seconds >= 3600)} {title}"


def caution_lines(words: Catalogue) -> Iterator[str]:
    """The usual cautions under their heading."""
    yield words.say("caution.heading")
    for name in CAUTIONS:
        yield words.say(f"caution.{name}")


def _clock(seconds: float, *, hours: bool) -> str:
    """A moment as people write it.

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
    yield from chapter_lines(listed_chapters(lesson, timeline, words), timeline.seconds)
    yield ""
    yield from caution_lines(words)


def film_text(lesson: Lesson, timeline: Timeline, words: Catalogue) -> str:
    """The text to publish with a film, as plain lines: title, what it is for, chapters with their times, cautions."""
    return "\n".join(_text_lines(lesson, timeline, words)) + "\n"


def headed_picture(
    lesson: Lesson, screen: Screen, palette: Palette, words: Catalogue, *, until: float = TEXT_ROOM
) -> Image.Image:
    """The ground with the title and the facts on it, one under the other in the middle of their room.

    until : part of the picture's height where the room ends.
    """
    title, *facts = title_lines(lesson, words)
    return text_picture([(title, TITLE), (facts_joined(facts), FACTS)], screen, palette, room=(TOP, until))


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
    """The title picture of a lesson's film as PNG: its title, what it is for, and how its ribbon begins.

    screen : "landscape" or "upright"; the picture has its size.
    palette : "night", "paper" or "ink".
    """
    shown, inks = load_screen(screen), load_palette(palette)
    return with_ribbon(headed_picture(lesson, shown, inks, words), lesson, shown, inks, words)


def with_ribbon(image: Image.Image, lesson: Lesson, screen: Screen, palette: Palette, words: Catalogue) -> bytes:
    """A headed picture with the beginning of a lesson's ribbon under its text, as PNG."""
    left, top = round(SIDE * screen.width), round(TEXT_ROOM * screen.height)
    if lesson.route.events:
        for place, system in enumerate(
            _ribbon_systems(lesson, screen, palette, words.name, width=screen.width - 2 * left)
        ):
            if place and top + system.height > screen.height:
                break
            image.paste(system, (left, top))
            top += system.height
    file = BytesIO()
    image.save(file, format="png", optimize=True)
    return file.getvalue()
