"""Catalogues are data: a language is a file, and a wrong file names itself, the key and the value."""

from __future__ import annotations

import pickle
import re
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from reedpath.errors import SettingsError
from reedpath.harp import load_tuning, reach_of
from reedpath.lesson import make_lesson, steps_of
from reedpath.wording import (
    Catalogue,
    catalogue_names,
    load_catalogue,
    load_studio_catalogue,
    move_words,
    parse_catalogue,
)
from support.built_routes import built_route

GRAMMAR = """
[language]
title = "Toy"
[plural]
one = "n = 1"
few = "n = 2..4"
[ordinals.rules]
[ordinals.marks]
other = "{n}-th"
[ordinals.words]
part = ["part the first"]
part_heading = ["First"]
position = ["place one"]
[ordinals.beyond]
part = "part the {ordinal}"
part_heading = "{ordinal}"
position = "place {n}"
[numbers]
decimal = ","
words = ["nil", "ane", "twa", "three"]
[lists.and]
two = "{a} an {b}"
middle = "{a}; {b}"
last = "{a} an {b}"
[lists.or]
two = "{a} or {b}"
middle = "{a}; {b}"
last = "{a} or {b}"
[notes.letters]
major = ["c", "cis", "d", "dis", "e", "f", "fis", "g", "gis", "a", "ais", "b"]
[typography]
narrow_before = "!"
"""
GRAMMAR_TABLES = {
    "language",
    "plural",
    "ordinals",
    "numbers",
    "lists",
    "notes",
    "typography",
    "captions",
    "contractions",
    "dates",
}
ENGLISH = tomllib.loads((files("reedpath.wording") / "en.toml").read_text(encoding="utf-8"))


def toy_text(value: object) -> str:
    """An English text in the toy language: all letters but those of gaps turned to capitals, and a mark."""
    parts = re.split(r"(\{[^}]*\})", str(value))
    return "".join(part if part.startswith("{") else part.upper() for part in parts) + " !"


def toml_of(table: dict[str, Any], prefix: str = "") -> str:
    """TOML for nested tables of texts, lists and number tables; the toy has three forms where English has two."""
    lines, deeper = [], []
    for key, value in table.items():
        if isinstance(value, dict) and "other" not in value:
            deeper.append(toml_of(value, f"{prefix}{key}."))
        elif isinstance(value, dict):
            forms = {form: toy_text(text) for form, text in value.items()}
            forms.setdefault("one", forms["other"])
            forms.setdefault("few", forms["other"])
            lines.append(
                f"{key} = {{ " + ", ".join(f"{form} = {quoted(text)}" for form, text in forms.items()) + " }"
            )
        elif isinstance(value, list):
            lines.append(f"{key} = [{', '.join(quoted(toy_text(text)) for text in value)}]")
        else:
            lines.append(f"{key} = {quoted(toy_text(value))}")
    head = f"[{prefix[:-1]}]\n" if lines else ""
    return head + "\n".join(lines) + "\n" + "".join(deeper)


def quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


TOY = GRAMMAR + toml_of({key: value for key, value in ENGLISH.items() if key not in GRAMMAR_TABLES})


@pytest.fixture
def toy() -> Catalogue:
    return parse_catalogue(TOY, name="toy", reference=load_catalogue("en"))


def test_a_new_language_needs_a_file_and_no_code(toy: Catalogue) -> None:
    assert toy.title == "Toy"
    for move in (*reach_of(load_tuning("standard")).single, *reach_of(load_tuning("standard")).multiple):
        assert move_words(move, toy).replace(" an ", " AN ").isupper()
    lesson = make_lesson(built_route("2d 3d' 4b 4d 4d 3d' 2d:2 r:1 (1 2 3)d [1 4]b 6bo 5d^1 4d_1 2d:4"))
    said = [step.text for block in steps_of(lesson, toy) for step in block.steps]
    assert len(said) > 15
    assert all("\u202f!" in text for text in said)


def test_the_shipped_languages_are_english_first() -> None:
    assert catalogue_names()[0] == "en"
    assert "fr" in catalogue_names()


@pytest.mark.parametrize("name", catalogue_names())
def test_every_message_of_a_shipped_language_holds(name: str) -> None:
    # they are made when they are asked for, so that nothing else would find a fault in one before it is said
    text = (files("reedpath.wording") / f"{name}.toml").read_text(encoding="utf-8")
    whole = parse_catalogue(text, name=name, reference=None if name == "en" else load_catalogue("en"))
    assert dict(whole.messages) == dict(load_catalogue(name).messages)
    assert len(whole.messages) > 1000
    assert pickle.loads(pickle.dumps(load_catalogue(name))) == whole  # as it goes to another process


def test_no_table_of_messages_is_never_said() -> None:
    shipped = files("reedpath.wording") / ".."
    code = "".join(
        path.read_text(encoding="utf-8")
        for ending in ("py", "html", "js")
        for path in Path(str(shipped)).rglob(f"*.{ending}")
    )
    tables = {key.partition(".")[0] for key in load_studio_catalogue("en").messages}
    assert [name for name in sorted(tables) if not re.search(rf"""["'`]{name}["'`.]""", code)] == []


def test_an_unknown_language_lists_the_known_ones() -> None:
    with pytest.raises(SettingsError, match="there is no language named 'klingon'") as caught:
        load_catalogue("klingon")
    assert caught.value.hint == f"the languages are {', '.join(sorted(catalogue_names()))}"


def replaced(old: str, new: str) -> str:
    assert TOY.count(old) == 1, old
    return TOY.replace(old, new)


WRONG = [
    ("[language", r"^toy\.toml: not TOML"),
    (TOY.replace("[breath]\nblow", "[breath]\nsuck"), r"^toy\.toml, 'breath\.blow': this message is missing"),
    (TOY + '\n[fish]\nsoup = "yum"\n', r"^toy\.toml, 'fish\.soup': 'yum' answers no message of the English"),
    (replaced('"{note} HARP !"', '"HARP"'), r"^toy\.toml, 'harp\.named': 'HARP' lacks \{note\}"),
    (
        replaced('"{note} HARP !"', '"{note} {size} HARP"'),
        r"^toy\.toml, 'harp\.named': .* has \{size\}, unknown here",
    ),
    (
        replaced('"{note} HARP !"', '"{note HARP"'),
        r"^toy\.toml, 'harp\.named': '\{note HARP' has a brace that opens no gap",
    ),
    (replaced('"{note} HARP !"', '" "'), r"^toy\.toml, 'harp\.named': '' is not a text"),
    (replaced('"{note} HARP !"', "7"), r"^toy\.toml, 'harp\.named': '7' is not a text"),
    (replaced('"{note} HARP !"', "[]"), r"^toy\.toml, 'harp\.named': an empty list says nothing"),
    (
        re.sub(
            r'count = \{ one = "\{count\} HOLE !", other = [^}]*\} HOLES !", few = "[^"]*" \}',
            'count = { one = "{count} HOLE", other = "{count} HOLES" }',
            TOY,
        ),
        r"^toy\.toml, 'hole\.count': the form 'few' is missing",
    ),
    (
        re.sub(r"(\[hole\][^\[]*count = \{) one", r"\1 dual", TOY),
        r"^toy\.toml, 'hole\.count': 'dual' is not a form by number",
    ),
    (replaced('title = "Toy"', "title = 3"), r"^toy\.toml, 'language\.title': 3 is not a text"),
    (replaced('decimal = ","', ""), r"^toy\.toml, 'numbers\.decimal': this is missing"),
    (replaced('"ais", "b"]', '"ais"]'), r"^toy\.toml, 'notes\.letters\.major': 11 entries, where there are 12"),
    (replaced('few = "n = 2..4"', 'few = "n = two"'), r"^toy\.toml, 'plural\.few': 'n = two' is not a plural rule"),
    (
        replaced('position = ["place one"]', ""),
        r"^toy\.toml, 'ordinals\.words\.position': these ordinals are missing",
    ),
    (replaced('other = "{n}-th"', ""), r"^toy\.toml, 'ordinals\.marks\.other': this is missing"),
    (
        replaced('narrow_before = "!"', 'wide_before = "!"'),
        r"^toy\.toml, 'typography\.wide_before': there is no such field",
    ),
]


@pytest.mark.parametrize(("text", "message"), WRONG, ids=[message[:60] for _, message in WRONG])
def test_a_wrong_catalogue_names_file_key_and_value(text: str, message: str) -> None:
    with pytest.raises(SettingsError, match=message):
        parse_catalogue(text, name="toy", reference=load_catalogue("en"))


def test_a_variant_may_leave_out_what_another_variant_of_english_leaves_out() -> None:
    english = 'same = ["same hole", "stay on {hole}"]'
    base = GRAMMAR + "[a]\n"
    reference = parse_catalogue(base + english, name="en")
    one = parse_catalogue(base + 'same = "gleicher Kanal"', name="de", reference=reference)
    assert one.say("a.same", hole="4") == "gleicher Kanal"
    with pytest.raises(SettingsError, match="unknown here"):
        parse_catalogue(base + 'same = "{hol}"', name="de", reference=reference)
