"""Every language as it is set, message by message and in all that ten lessons say.

What a language's own typography asks for, and what it shares with English, is in ``languages/<name>.toml``.
"""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from reedpath.errors.english import parse_messages
from reedpath.wording import catalogue_names, load_catalogue, load_studio_catalogue
from support.ten_lessons import TEN, said_in

# in every language
NEVER = {
    "straight apostrophe": r"'",
    "straight quotation mark": r'"',
    "three stops for an ellipsis": r"\.\.\.",
    "two spaces, or one at an end": r"  |^ | $",
    "a stop or comma twice, or after a space": r"[.,]{2}| [.,](?!\d)",
}
OTHERS = [name for name in catalogue_names() if name != "en"]


@cache
def own(language: str) -> dict[str, Any]:
    """What is said of a language's typography."""
    path = Path(__file__).parent / "languages" / f"{language}.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


@cache
def texts(language: str) -> list[tuple[str, str]]:
    """Every text of a language by its key, the studio's too; a gap stands as {}."""
    return sorted(
        (key, re.sub(r"\{[^}]*\}", "{}", text))
        for key, message in load_studio_catalogue(language).messages.items()
        for forms in message.variants
        for text in forms.values()
    )


@cache
def error_texts(language: str) -> list[tuple[str, str]]:
    """What an error says and advises, by room and key; a gap stands as {}, examples to type are left out."""
    typeset = load_catalogue(language).grammar.typeset
    told: list[tuple[str, str]] = []
    for path in sorted((files("reedpath.wording") / "errors" / language).iterdir(), key=lambda one: one.name):
        for key, message in parse_messages(path.read_text(encoding="utf-8")).items():
            told += [
                (f"{path.name}: {key}", typeset(re.sub(r"\{[^}]*\}", "{}", text)))
                for text in (message.says, message.hint)
            ]
    return told


@cache
def said(language: str) -> list[tuple[str, str]]:
    """All that ten lessons say, by the kind of lesson."""
    return [(name, text) for name, told in said_in(language).items() for text in told]


def never(language: str) -> dict[str, str]:
    """The rules of a language; a decimal sign is that of its grammar (addresses of machines have points)."""
    wrong = {".": r"(?<![\d,])\d+,\d{1,2}(?![\d,])", ",": r"(?<![\d.])\d+\.\d+(?![\d.])"}
    decimal = {"another decimal sign": wrong[load_catalogue(language).grammar.decimal]}
    return NEVER | decimal | (own(language)["never"] if language != "en" else {})


CASES = [(language, rule) for language in catalogue_names() for rule in never(language)]


@pytest.mark.parametrize(("language", "rule"), CASES)
def test_every_text_and_all_that_is_said_hold_to_the_rule(language: str, rule: str) -> None:
    pattern = never(language)[rule]
    assert [(key, text) for key, text in texts(language) if re.search(pattern, text)] == []
    assert [(name, text) for name, text in said(language) if re.search(pattern, text)] == []


@pytest.mark.parametrize("language", OTHERS)
def test_the_studio_and_the_errors_address_nobody_otherwise_than_they_should(language: str) -> None:
    spoken = load_catalogue("en").messages
    listed = own(language)
    rules = {rule: listed["never"][rule] for rule in listed.get("everywhere", ())} | listed.get("never_in_studio", {})
    heard = [(key, text) for key, text in texts(language) if key not in spoken] + error_texts(language)
    for rule, pattern in rules.items():
        assert [(key, text) for key, text in heard if re.search(pattern, text)] == [], rule


@pytest.mark.parametrize("language", OTHERS)
def test_quotation_marks_are_the_languages_own_and_stand_in_pairs(language: str) -> None:
    opening, closing = own(language)["quotes"]
    foreign = set("«»“”„‚‘‹›") - {opening, closing}
    for key, text in texts(language) + said(language):
        assert text.count(opening) == text.count(closing), key
        assert not foreign & set(text), (key, text)


@pytest.mark.parametrize("language", OTHERS)
def test_no_message_was_left_in_english(language: str) -> None:
    catalogue, english = load_studio_catalogue(language), load_studio_catalogue("en")
    spoken = load_catalogue("en").messages
    same = [key for key, one in catalogue.messages.items() if one.variants == english.messages[key].variants]
    alike = own(language)["alike"]
    of_lessons = {
        text for key in same if key in spoken for forms in catalogue.messages[key].variants for text in forms.values()
    }
    assert of_lessons <= set(alike["texts"])
    assert {key for key in same if key not in spoken} <= set(alike["studio"])


@pytest.mark.parametrize("language", OTHERS)
def test_no_sentence_of_ten_lessons_was_left_in_english(language: str) -> None:
    pairs = zip(said(language), said("en"), strict=True)
    same = {text for (_, text), (_, english) in pairs if text == english}
    # titles that a person gave stand as they are
    assert {text for text in same if re.search(r"[a-z]{3}.* ", text) and text.endswith(".")} == set()


@pytest.mark.parametrize("language", catalogue_names())
def test_a_sentence_of_a_lesson_begins_with_a_capital_and_no_gap_is_left(language: str) -> None:
    assert set(said_in(language)) == set(TEN)
    for name, text in said(language):
        assert "{" not in text, name
        assert text[0] == text[0].upper() or not text[0].isalpha(), (name, text)
