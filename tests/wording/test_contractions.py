"""Words before a gap that grow together with what fills it, as Italian "dal" and "8 soffiato"."""

from __future__ import annotations

from importlib.resources import files

import pytest

from reedpath.errors import SettingsError
from reedpath.harp import Breath, Move
from reedpath.wording import Catalogue, load_catalogue, move_in_sentence, parse_catalogue

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
    'again = ["{place} again", "{place} once more"]': 'again = ["dal {place} in poi", "andata, il {place}"]',
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


@pytest.mark.parametrize("hole", range(1, 13))
def test_italian_holes_have_the_article_that_is_said(hole: int) -> None:
    italian, move = load_catalogue("it"), Move((hole,), Breath.DRAW)
    elided = hole in (1, 8, 11)  # uno, otto, undici
    articles = ("l’", "dall’", "all’") if elided else ("il ", "dal ", "al ")
    said = [move_in_sentence(move, italian, place) for place in ("the", "from", "to")]
    assert said == [f"{article}{hole} aspirato" for article in articles]
    on = italian.say("seam.same", part="x", place=said[0])
    assert on.endswith(f"sull’{hole} aspirato" if elided else f"sul {hole} aspirato")


def test_italian_articles_of_several_holes_parts_and_shares() -> None:
    italian = load_catalogue("it")
    chord = move_in_sentence(Move((8, 9), Breath.BLOW), italian, "the")
    assert italian.say("seam.same", part="x", place=chord).endswith("resta sui fori 8 e 9 soffiati")
    assert italian.say("lead.again", place=chord) == "di nuovo i fori 8 e 9 soffiati"
    parts = [italian.ordinal_words("part", number) for number in (1, 8, 11, 13)]
    assert italian.say("part.again_run", first=parts[0], last=parts[1]).endswith(
        "dalla prima parte all’ottava parte."
    )
    assert italian.say("part.again_run", first=parts[2], last="«Finale»").endswith(
        "dall’undicesima parte a «Finale»."
    )
    assert italian.say("whole.row_faster", percent=85) == "Poi un po’ più veloce, all’85%."
    assert italian.say("whole.row_faster", percent=70) == "Poi un po’ più veloce, al 70%."
    # the note is no article
    assert italian.say("together.major", notes="la", root="la") == "la: l’accordo di la maggiore."
    assert italian.say("through.heading", part="A") == "Dall’inizio fino ad A"
