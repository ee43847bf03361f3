"""Cues: what captions and chapters say, and when, read from the timeline in any language."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reedpath.film.timeline import Scene, Timeline
from reedpath.film.titles import about_words, round_words, said_words, scene_words
from reedpath.film.words import words_of
from reedpath.harp import Move, format_move, load_notation
from reedpath.lesson import Lesson, steps_of
from reedpath.page import event_words
from reedpath.wording import Catalogue

__all__ = ["Cue", "caption_cues", "chapter_cues"]

# characters of a caption's line; common practice, no source
LINE_CHARACTERS = 42
# seconds; a cue shorter than this cannot be seen, and is left to the one before
LEAST_SECONDS = 0.02
# seconds before the first scene that are worth a chapter; our choice
LEAST_OPENING_SECONDS = 0.5


@dataclass(frozen=True, slots=True)
class Cue:
    """Some lines of text, shown from one moment to another.

    start_seconds, end_seconds : film time.
    lines : at least one, none empty.
    """

    start_seconds: float
    end_seconds: float
    lines: tuple[str, ...]


def _broken(text: str) -> tuple[str, ...]:
    """A text in two lines of about one length where it is too long for one, in more where it must be.

    >>> _broken("Begin on 4 draw, attack it bent a half step, then let it go.")
    ('Begin on 4 draw, attack it bent', 'a half step, then let it go.')
    """
    words = words_of(text)
    count = max(1, -(-len(" ".join(words)) // LINE_CHARACTERS))
    width = -(-len(" ".join(words)) // count)
    while True:
        lines: list[str] = []
        for word in words:
            if lines and len(lines[-1]) + 1 + len(word) <= width:
                lines[-1] += f" {word}"
            else:
                lines.append(word)
        if len(lines) <= count or width >= LINE_CHARACTERS:
            return tuple(lines)
        width += 1


def _tab_line(move: Move, words_of_move: str, notation: str) -> str:
    return f"{format_move(move, load_notation(notation))} · {words_of_move}"


def _scene_cues(lesson: Lesson, scene: Scene, words: Catalogue) -> Iterator[Cue]:
    """Cues without overlap: what sounds in the first line, steps under it."""
    blocks = steps_of(lesson, words)
    edges = {scene.start_seconds, scene.end_seconds}
    edges |= {edge for one in scene.soundings for edge in (one.start_seconds, one.end_seconds)}
    edges |= {edge for one in scene.sayings for edge in (one.start_seconds, one.end_seconds)}
    for start, end in pairwise(sorted(edges)):
        middle = (start + end) / 2
        sounding, saying = scene.sounding_at(middle), scene.saying_at(middle)
        lines: list[str] = []
        if sounding is not None:
            one = lesson.route.events[sounding.event]
            if one.choice.move is not None:
                lines.append(_tab_line(one.choice.move, event_words(one, words), lesson.notation))
        if saying is not None:
            lines += _broken(said_words(saying, blocks))
        if lines:
            yield Cue(start, end, tuple(lines))


def _joined(cues: Sequence[Cue]) -> Iterator[Cue]:
    """Cues that follow on with one text made one, and those too short to be seen given to their neighbour."""
    held: Cue | None = None
    for cue in cues:
        if held is None:
            held = cue
            continue
        follows = cue.lines == held.lines and cue.start_seconds - held.end_seconds < 1e-6
        if follows or cue.end_seconds - cue.start_seconds < LEAST_SECONDS:
            held = Cue(held.start_seconds, cue.end_seconds, held.lines)
        else:
            yield held
            held = cue
    if held is not None:
        yield held


def caption_cues(lesson: Lesson, timeline: Timeline, words: Catalogue) -> tuple[Cue, ...]:
    """The captions in a language: the tab of every note with its words, and the steps under it.

    In order of time and without overlap, so that every format and player can show them.
    """
    return tuple(_joined([cue for scene in timeline.scenes for cue in _scene_cues(lesson, scene, words)]))


def chapter_cues(lesson: Lesson, timeline: Timeline, words: Catalogue) -> tuple[Cue, ...]:
    """The chapters in a language, each up to the next one's start: one for each part of each scene.

    Where a band plays there is one for each round.

    What comes before the first scene is a chapter of the lesson's title.
    """
    blocks = steps_of(lesson, words)
    begins: list[tuple[float, str]] = []
    if timeline.scenes and timeline.scenes[0].start_seconds > LEAST_OPENING_SECONDS:
        begins.append((0.0, lesson.title))
    for scene in timeline.scenes:
        tempo = scene_words(scene, words)
        for one in scene.rounds:
            about = round_words(one, words)
            begins.append((one.start_seconds, words.say("film.chapter", about=about, tempo=tempo)))
        if not scene.headings:
            begins.append((scene.start_seconds, tempo))
        for heading in scene.headings if not scene.rounds else ():
            about = about_words(lesson, heading, blocks, words)
            begins.append((heading.start_seconds, words.say("film.chapter", about=about, tempo=tempo)))
    ends = [start for start, _ in begins[1:]] + [timeline.seconds]
    return tuple(Cue(start, end, (title,)) for (start, title), end in zip(begins, ends, strict=True) if end > start)
