"""The tempo of a compound metre is told in dotted quarters everywhere (teoria.com, "Compound meters")."""

from __future__ import annotations

from fractions import Fraction

import pytest

from reedpath.arrange import find_route
from reedpath.film import lay_out_film
from reedpath.film.captions import tempo_words
from reedpath.harp import make_harp
from reedpath.lesson import make_lesson
from reedpath.page import format_tab
from reedpath.page.handout.contents import facts_of
from reedpath.phrase import Event, Metre, Phrase, Tempo
from reedpath.sound.practice import tempo_title
from reedpath.wording import load_catalogue


@pytest.fixture(scope="module")
def jig():
    """Four bars of 6/8 at 60 dotted quarters, which are 90 quarters; invented."""
    pitches = [67, 69, 71, 74, 74, 71] * 4
    events = tuple(Event(Fraction(i, 2), Fraction(1, 2), (midi,)) for i, midi in enumerate(pitches))
    metre, tempo = Metre(Fraction(0), 6, 8), Tempo(Fraction(0), 90.0)
    return find_route(Phrase(events, metres=(metre,), tempos=(tempo,)), make_harp("G"))


@pytest.mark.parametrize("language", ["en", "fr"])
def test_tab_and_sheet(jig, language):
    words = load_catalogue(language)
    assert "♩. = 60" in format_tab(jig, catalogue=words)
    assert any("♩. = 60" in fact["value"] for fact in facts_of(jig, words))


def test_chapters_of_sounds(jig):
    lesson = make_lesson(jig)
    assert tempo_title(lesson.ladder[-1], jig.phrase.metres[0]) == "♩. = 60"


@pytest.mark.parametrize("language", ["en", "fr"])
def test_scenes_of_a_film(jig, language):
    lesson = make_lesson(jig)
    scene = next(one for one in lay_out_film(lesson).scenes[::-1] if one.rung == lesson.ladder[-1])
    assert tempo_words(scene, load_catalogue(language)).endswith("♩. = 60")
