"""Every error that is raised has a message, with the gaps that it fills, in every language that ships."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from reedpath import errors
from reedpath.errors import Clause, Place, ReadError, ReedpathError, Term, TuningError
from reedpath.errors.english import ErrorMessage, parse_messages
from reedpath.wording import catalogue_names, error_hint, error_words, load_catalogue
from support.source_trees import MODULES, SOURCE, nodes_of

FAMILY = {name for name, one in vars(errors).items() if isinstance(one, type) and issubclass(one, ReedpathError)}
# a message in the gap of another one has a key and values likewise
FAMILY.add("Clause")
# arguments of an error that close no gap
NO_GAPS = {"where", None}


def messages_in(folder: Path) -> dict[str, dict[str, ErrorMessage]]:
    return {path.stem: parse_messages(path.read_text(encoding="utf-8")) for path in sorted(folder.glob("*.toml"))}


ENGLISH = messages_in(SOURCE / "errors" / "messages")
OTHERS = {folder.name: messages_in(folder) for folder in sorted((SOURCE / "wording" / "errors").iterdir())}
ALL = {f"{room}.{name}": message for room, messages in ENGLISH.items() for name, message in messages.items()}


def pieces_of(key: ast.JoinedStr) -> str | None:
    """What is constant in a text put together, where it is a sentence; None for a key whose end is a variable."""
    text = "".join(one.value if isinstance(one, ast.Constant) else " " for one in key.values)
    return None if re.fullmatch(r"[a-z_]+\. ", text) else text


def raised() -> Iterator[tuple[str, ast.Call, Any]]:
    """Where an error is made, how, and its key: a text, or None where it is no constant; one for each of two keys."""
    for path in MODULES:
        for node in nodes_of(path):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in FAMILY):
                continue
            for key in node.args[:1]:
                for one in (key.body, key.orelse) if isinstance(key, ast.IfExp) else (key,):
                    text = one.value if isinstance(one, ast.Constant) else None
                    place = f"{path.relative_to(SOURCE)}:{node.lineno}"
                    yield place, node, pieces_of(one) if isinstance(one, ast.JoinedStr) else text


def sentences() -> list[str]:
    return [place for place, _, key in raised() if key is not None and (" " in key or "." not in key)]


def test_every_key_has_a_message_and_values_for_its_gaps():
    wrong, unkeyed = [], sentences()
    for place, call, key in raised():
        if key is None or place in unkeyed:
            continue
        given = {one.arg for one in call.keywords}
        if key not in ALL:
            wrong.append(f"{place}: no message {key}")
        elif None not in given and given - NO_GAPS != ALL[key].gaps:
            wrong.append(f"{place}: {key} has the gaps {sorted(ALL[key].gaps)}, not {sorted(given - NO_GAPS)}")
    assert wrong == []


def test_every_message_is_used():
    texts = {
        node.value
        for path in MODULES
        for node in nodes_of(path)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    places = {*Place.__struct_fields__, "tunes", "pickup", "before"} - {"last_tune"}
    assert set(ENGLISH["place"]) == places
    assert [name for name in ENGLISH["word"] if name not in texts] == []
    unchecked = {"place", "word"}
    # some rooms put keys together from the name
    told = texts | {f"{room}.{name}" for room in ("data", "lesson") for name in texts}
    assert [key for key in ALL if key.partition(".")[0] not in unchecked and key not in told] == []


@pytest.mark.parametrize("language", OTHERS)
def test_other_languages_have_the_same_keys_and_gaps(language: str):
    for room, messages in OTHERS[language].items():
        assert messages.keys() == ENGLISH[room].keys(), room
        for name, message in messages.items():
            english = ENGLISH[room][name]
            assert message.gaps == english.gaps, f"{room}.{name}"
            assert bool(message.hint) == bool(english.hint), f"{room}.{name}"


def test_no_error_is_a_sentence():
    assert sentences() == []
    others = [name for name in catalogue_names() if name != "en"]
    assert [(name, room) for name in others for room in sorted(set(ENGLISH) - set(OTHERS.get(name, ())))] == []


@pytest.mark.parametrize(
    ("error", "english", "french"),
    [
        (ReadError("readers.empty"), "the source is empty", None),
        (ReadError("data.no_json", where=Place(byte=7), problem="x"), None, "octet 7 : ce n’est pas du JSON : x"),
        (ReadError("data.no_json", problem=2500), "not JSON: 2,500", "ce n’est pas du JSON : 2\u202f500"),
        (ReadError("data.no_json", problem=-1.5), "not JSON: -1.5", "ce n’est pas du JSON : −1,5"),
        (ReadError("data.no_json", problem=Fraction(-3, 2)), "not JSON: -3/2", "ce n’est pas du JSON : −3/2"),
        (ReadError("data.no_json", problem=["it's", "so"]), "not JSON: it's, so", "ce n’est pas du JSON : it's, so"),
        (ReadError("data.no_json", problem=[]), "not JSON: none", "ce n’est pas du JSON : rien"),
        (
            ReadError("data.no_json", problem=[Term("draw"), Clause("harp.bent", breath=Term("draw"), semitones=2)]),
            "not JSON: draw, draw bent 2 semitones",
            "ce n’est pas du JSON : aspiré, aspiré altéré de 2 demi-tons",
        ),
        (ReadError("data.no_json", problem=Place(bar=0)), "not JSON: pickup", "ce n’est pas du JSON : levée"),
    ],
)  # fmt: skip
def test_errors_are_told_in_a_language(error: ReadError, english: str | None, french: str | None):
    assert error_words(error, load_catalogue("en")) == str(error)
    assert english is None or str(error) == english
    assert french is None or error_words(error, load_catalogue("fr")).replace("\u202f:", " :") == french
    assert error_hint(error, load_catalogue("fr")) is None


def test_a_language_without_its_own_sentences_tells_the_english_ones():
    other = replace(load_catalogue("fr"), name="other")
    error = TuningError("harp.unknown_tuning", where=Place(file="mine.toml"), name="x", known=["a", "b"])
    assert error_words(error, other) == str(error) == "mine.toml: there is no tuning named 'x'"
    assert error_hint(error, other) == error.hint == "the tunings are a, b"
    assert error_hint(error, load_catalogue("fr")) == "les accordages sont a, b"
