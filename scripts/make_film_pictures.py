"""Draw the frames that docs/film.md shows.

    .venv/bin/python scripts/make_film_pictures.py

The phrase is our own invention. The pictures are only for looking at: the frames themselves are held by the tests of
the room.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from reedpath.film import lay_out_film, lay_out_takes  # noqa: E402
from reedpath.film.frames import FramePainter  # noqa: E402
from reedpath.film.planes import BT709, Frame, Plate  # noqa: E402
from reedpath.film.screens import load_screen  # noqa: E402
from reedpath.lesson import Lesson, make_lesson  # noqa: E402
from reedpath.pitch import Key  # noqa: E402
from reedpath.sound import Backing, Turns  # noqa: E402
from reedpath.wording import load_catalogue  # noqa: E402
from support.built_routes import built_route  # noqa: E402
from support.play_throughs import play_through  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
PHRASE = (
    "2d'':1/2! 2d 3d' 4b 4d:1 r:1/2 4d:1/2^1 4d 4b 3d' 2d 2d:2~ 2d'':1/2! 2d 3d' 4b 4d:1 r:1/2 5d "
    "6b 6bo 6b 5d (4 5)d:1 [1 4]b:1 4d:1_1 3d'':1/2 2d 2d'' 1d 2d:1~"
)


def _picture(frame: Frame) -> Image.Image:
    """A frame as red, green and blue, by the inverse of BT.709."""
    light = (frame.light.astype(np.float32) - 16) / 219
    blue, red = (
        (plane.repeat(2, 0).repeat(2, 1).astype(np.float32) - 128) / 224 for plane in (frame.blue, frame.red)
    )
    r, b = light + 1.5748 * red, light + 1.8556 * blue
    g = (light - 0.2126 * r - 0.0722 * b) / 0.7152
    return Image.fromarray((np.clip(np.stack([r, g, b], -1), 0, 1) * 255).astype(np.uint8))


def _save(frame: Frame, name: str) -> None:
    picture = _picture(frame).quantize(96, dither=Image.Dither.NONE)
    picture.save(PICTURES / f"{name}.png", optimize=True)


def _lesson_frames(lesson: Lesson) -> None:
    timeline = lay_out_film(lesson)
    steps, slow = timeline.scenes[0], timeline.scenes[1]
    for name, screen, language, palette, moment in (
        ("film-steps", "landscape", "en", "night", steps.highlights[5].start_seconds + 0.2),
        ("film-coming", "landscape", "en", "night", steps.highlights[5].start_seconds - 0.4),
        ("film-upright", "upright", "fr", "night", slow.highlights[22].start_seconds + 0.3),
        ("film-paper", "landscape", "en", "paper", slow.highlights[16].start_seconds + 0.3),
        ("film-count", "upright", "en", "ink", slow.counts[2].start_seconds + 0.1),
    ):
        painter = FramePainter(lesson, timeline, load_screen(screen), load_catalogue(language), palette=palette)
        painter.draw(moment)
        _save(painter.frame, name)


def _band_frame(lesson: Lesson) -> None:
    """The second round of a band, which is the student's, and the bar before it."""
    backing = Backing(form="twelve-bar", turns=Turns.CALL)
    timeline = lay_out_film(lesson, with_steps=False, play=backing)
    painter = FramePainter(lesson, timeline, load_screen("landscape"), load_catalogue("en"))
    painter.draw(timeline.scenes[0].turn_calls[0].counts[2].start_seconds + 0.3)
    _save(painter.frame, "film-turn")
    painter.draw(timeline.scenes[0].turn_calls[0].end_seconds + 3.4)
    _save(painter.frame, "film-band")


def _title_card(lesson: Lesson) -> None:
    """The card with which a film begins that does not go through the phrase step by step."""
    timeline = lay_out_film(lesson, with_steps=False, with_title=True)
    painter = FramePainter(lesson, timeline, load_screen("landscape"), load_catalogue("en"))
    painter.draw(1.0)
    _save(painter.frame, "film-card")


def _over_a_film(lesson: Lesson) -> None:
    """The strip over a picture that stands for the teacher's film."""
    slow = lay_out_film(lesson, with_steps=False).scenes[0].highlights
    heard = [(one.event, one.start_seconds, one.end_seconds) for one in slow]
    play = play_through(heard, factor=lesson.ladder[0].factor)
    timeline = lay_out_takes(lesson, [play], film_seconds=slow[-1].end_seconds + 1)
    screen = load_screen("over-landscape")
    painter = FramePainter(lesson, timeline, screen, load_catalogue("en"))
    painter.draw(slow[12].start_seconds + 0.3)
    picture = Frame(screen.width, screen.height)
    y, x = np.mgrid[0 : screen.height, 0 : screen.width]
    picture.light[:] = 120 + 50 * np.sin(x / 160) * np.cos(y / 120)
    picture.blue[:], picture.red[:] = 118, 140
    if screen.plate is not None:
        Plate(screen.plate, painter.look.palette.inks["ground"], BT709).lay(painter.frame, picture)
    _save(picture, "film-over")


def main() -> None:
    """Write all pictures."""
    lesson = make_lesson(built_route(PHRASE, key="A", bpm=92.0, music_key=Key(4)), title="Two questions, invented")
    _lesson_frames(lesson)
    _band_frame(lesson)
    _title_card(lesson)
    _over_a_film(lesson)


if __name__ == "__main__":
    main()
