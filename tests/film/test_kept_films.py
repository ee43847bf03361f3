"""Films before they are filmed: when what is shown and said, captions, chapters, texts, and pictures in blocks.

Each is compared whole with a file of `kept`; see `support.kept_texts`. Pictures are told by the light of blocks.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import chain
from pathlib import Path

import numpy as np
import pytest

from reedpath.errors import ReedpathError
from reedpath.film import (
    Timeline,
    caption_cues,
    chapter_cues,
    film_text,
    format_srt,
    format_webvtt,
    lay_out_film,
    lay_out_pieces,
    lay_out_takes,
    listed_chapters,
    pieces_caption_cues,
    pieces_chapter_cues,
    pieces_film_text,
)
from reedpath.film.frames import FramePainter
from reedpath.film.screens import load_screen
from reedpath.lesson import Lesson, make_lesson, with_tempos
from reedpath.pitch import Key
from reedpath.sound import Backing, PlayAlong, Turns
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.drawn_routes import alphabet_route, metres_route
from support.kept_texts import assert_kept, close_json
from support.pieces import lesson_of_pieces, porch
from support.play_throughs import play_through
from support.told_values import told_lines

KEPT = Path(__file__).parent / "kept"
# by how much of 255 the light of a block may lie beside what was kept: letters are drawn a little otherwise elsewhere
NEAR = 4
BLOCKS = (12, 16)


def lick() -> Lesson:
    route = built_route(
        "2d 3d' 4b 4d' 4d:1! r:1 5d 4d 4b 3d'~ 2d:1 r:1", key="A", bpm=96.0, swing=Fraction(2), music_key=Key(4)
    )
    return with_tempos(make_lesson(route, title="Lick (invented)"), (48.0,))


def timelines() -> dict[str, tuple[Lesson, Timeline]]:
    lesson, lane = porch(), lick()
    heard = [(index, 2.0 + 0.61 * index, 2.55 + 0.61 * index) for index in range(15)]
    later = [(index, 20.0 + 0.8 * index, 20.7 + 0.8 * index) for index in range(3, 9)]
    plays = [play_through(heard, missed=[4]), play_through(later, factor=0.76)]
    call = Backing(form="twelve-bar", turns=Turns.CALL, rounds=2, intro=1)
    every, metres = (make_lesson(route, title=route.phrase.title) for route in (alphabet_route(), metres_route()))
    return {
        "porch": (lesson, lay_out_film(lesson, rungs=lesson.ladder[:1], with_title=True)),
        "lick under a band": (lane, lay_out_film(lane, with_steps=False, play=call)),
        "yours": (
            lane,
            lay_out_film(lane, rungs=lane.ladder[:1], play=PlayAlong(turns=Turns.YOURS, count_in_bars=2)),
        ),
        "every sign": (every, lay_out_film(every, rungs=every.ladder[-1:])),
        "metres": (metres, lay_out_film(metres, rungs=metres.ladder[-1:], start_seconds=5.0)),
        "takes": (lesson, lay_out_takes(lesson, plays, film_seconds=40.0)),
    }


def test_when_what_is_shown() -> None:
    told = []
    for name, (_, timeline) in timelines().items():
        told += [f"# {name} {timeline.seconds:.3f}"]
        for scene in timeline.scenes:
            told += [f"scene {scene.kind.value}", *told_lines(replace(scene, backing=None, layout=None), " ")]
    assert_kept(KEPT / "timelines.txt", "\n".join(told) + "\n")


@pytest.mark.slow
def test_what_is_said_and_published() -> None:
    told = []
    for at, (name, (lesson, timeline)) in enumerate(timelines().items()):
        language = ("fr", "en", "de", "es", "it")[at % 5]
        words = load_catalogue(language)
        told += [f"# {name} {language}"]
        cues = caption_cues(lesson, timeline, words)
        file = format_webvtt(cues, title=lesson.title, language=language) if at < 1 else ""
        told += [*file.splitlines(), *(f"{one.start_seconds:.2f}-{one.end_seconds:.2f} {one.lines}" for one in cues)]
        told += format_srt(chapter_cues(lesson, timeline, words)).splitlines()
        told += [f"{start:.3f} {title}" for start, title in listed_chapters(lesson, timeline, words)]
        told += film_text(lesson, timeline, words).splitlines()
    whole = lesson_of_pieces()
    timeline = lay_out_pieces(whole)
    for language in ("en", "es"):
        words = load_catalogue(language)
        told += [f"# pieces {language} {timeline.seconds:.3f}"]
        cues = pieces_caption_cues(whole, timeline, words)
        told += [f"{one.start_seconds:.2f}-{one.end_seconds:.2f} {one.lines}" for one in cues]
        told += format_srt(pieces_chapter_cues(whole, timeline, words)).splitlines()
        told += pieces_film_text(whole, timeline, words).splitlines()
    assert_kept(KEPT / "said.txt", "\n".join(told) + "\n")


def test_what_cannot_be_filmed() -> None:
    lesson, told = porch(), []
    heard = [(index, 2.0 + index, 2.5 + index) for index in range(3)]
    cases = (
        ([], 40.0), ([play_through(heard), play_through(heard)], 40.0), ([play_through(heard)], 3.0),
        ([play_through([(99, 1.0, 2.0)])], 40.0), ([play_through(heard, missed=[0, 1, 2])], 40.0),
    )  # fmt: skip
    for plays, seconds in cases:
        with pytest.raises(ReedpathError) as error:
            lay_out_takes(lesson, plays, film_seconds=seconds)
        told.append(str(error.value))
    with pytest.raises(ReedpathError) as error:
        lay_out_film(lesson, rungs=())
    told.append(str(error.value))
    assert_kept(KEPT / "refused.txt", "\n".join(told) + "\n")


def blocks_of(picture: np.ndarray) -> list[list[int]]:
    """The mean light of blocks of a picture."""
    rows = np.array_split(picture.astype(float), BLOCKS[0], axis=0)
    return [[round(float(block.mean())) for block in np.array_split(row, BLOCKS[1], axis=1)] for row in rows]


def seen(of: Iterable[tuple[str, FramePainter, float]]) -> dict[str, list[list[int]]]:
    return {f"{name} {moment:g}": blocks_of(painter.draw(moment)) for name, painter, moment in of}


@pytest.mark.slow
def test_pictures_by_the_light_of_their_blocks() -> None:
    found = timelines()
    asked = (
        ("porch", "landscape", "night", "en", (1.0, 12.0, 40.0)),
        ("lick under a band", "upright", "paper", "fr", (3.0, 30.0)),
        ("every sign", "landscape", "ink", "de", (8.0, 60.0)), ("takes", "landscape", "night", "es", (3.0, 21.0)),
    )  # fmt: skip
    told: dict[str, list[list[int]]] = {}
    for name, screen, palette, language, moments in asked:
        lesson, timeline = found[name]
        painter = FramePainter(lesson, timeline, load_screen(screen), load_catalogue(language), palette=palette)
        told |= seen((name, painter, moment) for moment in moments)
    path = KEPT / "pictures.json"
    if os.environ.get("KEEP_TEXTS"):
        assert_kept(path, close_json(told) + "\n")
    kept = json_of(path)
    assert told.keys() == kept.keys()
    for name, blocks in told.items():
        apart = np.abs(np.array(list(chain.from_iterable(blocks))) - np.array(list(chain.from_iterable(kept[name]))))
        assert apart.max() <= NEAR, f"{name}: {apart.max()} at block {int(apart.argmax())}"


def json_of(path: Path) -> dict[str, list[list[int]]]:
    found: dict[str, list[list[int]]] = json.loads(path.read_text(encoding="utf-8"))
    return found
