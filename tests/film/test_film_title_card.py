"""The card with which a film begins that does not go through the phrase step by step."""

from __future__ import annotations

from itertools import islice, pairwise

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.film import Timeline, caption_cues, chapter_cues, lay_out_film, listed_chapters
from reedpath.film.frames import FramePainter
from reedpath.film.lesson_film import sound_of
from reedpath.film.screens import load_screen
from reedpath.lesson import make_lesson
from reedpath.wording import load_catalogue
from support.built_routes import built_route

EN, FR = load_catalogue("en"), load_catalogue("fr")
LESSON = replace(
    make_lesson(built_route("2d:1 3d':1 4b:1 4d:1", key="A", bpm=120.0)), title="Small (invented)", author="A teacher"
)
PLAIN = lay_out_film(LESSON, with_steps=False)
TITLED = lay_out_film(LESSON, with_steps=False, with_title=True)


def test_the_same_film_comes_after_the_card() -> None:
    assert PLAIN.title_seconds == 0.0
    assert 2.5 <= TITLED.title_seconds <= 14.0
    later = [one.start_seconds - TITLED.title_seconds for one in TITLED.scenes]
    assert later == pytest.approx([one.start_seconds for one in PLAIN.scenes])
    assert TITLED.seconds == pytest.approx(PLAIN.seconds + TITLED.title_seconds)
    assert [one.layout for one in TITLED.scenes] == [one.layout for one in PLAIN.scenes]


def test_it_stands_as_long_as_the_slowest_language_needs() -> None:
    long = replace(LESSON, title="A title that takes some time, since it goes on for longer than a title should")

    def seconds(*languages: str) -> float:
        lesson = replace(long, languages=languages)
        return lay_out_film(lesson, with_steps=False, with_title=True).title_seconds

    assert seconds("en", "fr") == max(seconds("en"), seconds("fr"))
    assert seconds("en") > TITLED.title_seconds


@pytest.mark.parametrize("screen", ["landscape", "upright"])
def test_the_card_stands_over_the_dark_harp_and_leaves_nothing_behind(screen: str) -> None:
    shown = load_screen(screen)
    painter = FramePainter(LESSON, TITLED, shown, EN)
    card = painter.draw(1.0).copy()
    assert np.array_equal(painter.draw(TITLED.title_seconds - 0.01), card)
    first = painter.draw(TITLED.title_seconds + 0.01).copy()
    alone = FramePainter(LESSON, PLAIN, shown, EN).draw(0.01)
    assert np.array_equal(first, alone)
    harp = shown.harp
    assert harp is not None
    rows, columns = slice(harp.top, harp.bottom), slice(harp.left, harp.right)
    assert np.array_equal(card[rows, columns], first[rows, columns])
    assert np.count_nonzero(card[: harp.top] > 150) > 5000  # words over it
    assert np.array_equal(painter.draw(0.5), card)


@pytest.mark.parametrize(("words", "harp"), [(EN, "A harp"), (FR, "Harmonica en la")])
def test_captions_say_title_and_harp(words, harp: str) -> None:
    first, *others = caption_cues(LESSON, TITLED, words)
    assert (first.start_seconds, first.end_seconds) == (0.0, TITLED.title_seconds)
    assert first.lines[0] == "Small (invented)"
    assert first.lines[1].startswith("A teacher, ")
    assert harp in " ".join(first.lines)
    assert len(others) == len(caption_cues(LESSON, PLAIN, words))
    assert caption_cues(LESSON, PLAIN, words)[0].lines[0] != "Small (invented)"


def test_the_card_belongs_to_the_first_chapter() -> None:
    titled, plain = chapter_cues(LESSON, TITLED, EN), chapter_cues(LESSON, PLAIN, EN)
    assert [cue.lines for cue in titled] == [cue.lines for cue in plain]
    assert titled[0].start_seconds == 0.0
    assert titled[1].start_seconds == pytest.approx(plain[1].start_seconds + TITLED.title_seconds)
    listed = listed_chapters(LESSON, TITLED, EN)
    assert listed[0][0] == 0.0
    assert all(after[0] - before[0] >= 10.0 for before, after in pairwise(listed))


def test_it_is_silent() -> None:
    rate = 8000
    first, second = islice(sound_of(Timeline(TITLED.scenes[:1], 0.0, TITLED.title_seconds), rate=rate), 2)
    assert first.frames == round(TITLED.title_seconds * rate)
    assert not first.array.any()
    assert first.channels == second.channels
