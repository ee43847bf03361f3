"""Words before a gap that grow together with what fills it, as Italian "dal" and "8 soffiato"."""

from __future__ import annotations

from importlib.resources import files

import pytest

from reedpath.errors import SettingsError
from reedpath.wording import Catalogue, load_catalogue, parse_catalogue

CONTRACTIONS = """
[[contractions]]
starts = '(1|8|11)\\b'
before = { "dal " = "dall'", "il " = "l'" }

[[contractions]]
starts = 'la (?=prima)'
merged = { "a " = "alla ", "da " = "dalla " }

[[contractions]]
starts = "l'(?=ottava)"
merged = { "a " = "all'" }
"""
MESSAGES = {
    'again = ["{place} again", "again {place}"]': 'again = ["dal {place} in poi", "andata, il {place}"]',
    'title = "Lesson: {title}"': 'title = "torna a {title}"',
    'two = "{a} and {b}"': 'two = "{a} da {b}"',
}


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    text = (files("reedpath.wording") / "en.toml").read_text(encoding="utf-8")
    for english, changed in MESSAGES.items():
        text = text.replace(english, changed)
    return parse_catalogue(text + CONTRACTIONS, name="it", reference=load_catalogue("en"))


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ("8 soffiato", "dall’8 soffiato in poi"),
        ("11 soffiato", "dall’11 soffiato in poi"),
        ("1", "dall’1 in poi"),
        ("10 soffiato", "dal 10 soffiato in poi"),
        ("81", "dal 81 in poi"),
        ("8,5", "dall’8,5 in poi"),
    ],
)
def test_a_word_before_a_gap_is_contracted_with_certain_words(catalogue: Catalogue, place: str, said: str) -> None:
    assert catalogue.say("lead.again", place=place) == said


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("la prima parte", "torna alla prima parte"),
        ("l’ottava parte", "torna all’ottava parte"),
        ("largo", "torna a largo"),
        ("la maggiore", "torna a la maggiore"),
        ("", "torna a "),
    ],
)
def test_a_word_before_a_gap_and_the_first_one_in_it_become_one(catalogue: Catalogue, title: str, said: str) -> None:
    assert catalogue.say("sheet.title", title=title) == said


def test_the_end_of_a_longer_word_is_not_contracted(catalogue: Catalogue) -> None:
    assert catalogue.say("lead.again", variant=1, place="8 soffiato") == "andata, l’8 soffiato"
    assert catalogue.join(["x", "la prima"]) == "x dalla prima"


def test_other_languages_have_none() -> None:
    assert load_catalogue("en").say("sheet.title", title="la prima") == "Lesson: la prima"


def test_a_contraction_that_cannot_be_read_is_refused() -> None:
    text = (files("reedpath.wording") / "en.toml").read_text(encoding="utf-8")
    with pytest.raises(SettingsError, match=r"contractions\.starts"):
        parse_catalogue(text + "\n[[contractions]]\nstarts = '('\n", name="it")
    with pytest.raises(SettingsError, match=r"contractions"):
        parse_catalogue(text + "\n[[contractions]]\nbefore = {}\n", name="it")
