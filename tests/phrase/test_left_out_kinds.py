"""The closed list of what a phrase may not hold: its file, its English texts, its values; the readers keep to it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest

from reedpath.data import as_plain
from reedpath.errors import NOWHERE, PhraseError, Place, SettingsError, plain_text
from reedpath.phrase import LeftOut, Phrase, left_out_kinds
from reedpath.phrase.left_out import parse_left_out_kinds
from reedpath.phrase.version_1 import left_out_of_text
from support.source_trees import SOURCE, tree_of

ROOMS = ("phrase", "readers", "hear")
# names of the callables that take a kind as their first argument
TAKE_A_KIND = ("note", "_note", "LeftOut", "add")
# kinds that no reader gives: what data of another version say, what a full list of omissions says, and what the
# score rounds
OF_NO_READER = {"unlisted", "further-things", "rounded-rhythm"}


def _constants(tree: ast.Module) -> dict[str, set[str]]:
    """Texts that each name of a module stands for; of a table, all its values."""
    found: dict[str, set[str]] = {}
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            name, value = node.targets[0].id, node.value
            if isinstance(value, ast.Constant) and isinstance(value.value, str):
                found[name] = {value.value}
            elif isinstance(value, ast.Dict):
                found[name] = set(_values_of(value))
    return found


def _imported(tree: ast.Module) -> dict[str, set[str]]:
    """The same of each name that a module imports from another one of the program."""
    found: dict[str, set[str]] = {}
    for node in tree.body:
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("reedpath."):
            path = SOURCE / Path(*str(node.module).split(".")[1:]).with_suffix(".py")
            there = _constants(tree_of(path)) if path.is_file() else {}
            found |= {one.asname or one.name: there[one.name] for one in node.names if one.name in there}
    return found


def _values_of(table: ast.Dict) -> Iterator[str]:
    for key, value in zip(table.keys, table.values, strict=True):
        if isinstance(value, ast.Constant) and isinstance(value.value, str):
            yield value.value
        elif key is None and isinstance(value, ast.Call):  # **dict.fromkeys(names, kind)
            yield ast.literal_eval(value.args[1])


def _kinds_of(call: ast.Call, names: dict[str, set[str]]) -> set[str]:
    function = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    if function not in TAKE_A_KIND or not call.args:
        return set()
    first = call.args[0]
    if isinstance(first, ast.Subscript):
        first = first.value
    if isinstance(first, ast.Constant) and isinstance(first.value, str):
        return {first.value}
    return names.get(first.id, set()) if isinstance(first, ast.Name) else set()


def _kinds_in_sources() -> set[str]:
    found: set[str] = set()
    for room in ROOMS:
        for path in sorted(Path(str(files(f"reedpath.{room}"))).rglob("*.py")):
            text = path.read_text(encoding="utf-8")
            if not any(f"{name}(" in text for name in TAKE_A_KIND):
                continue
            tree = ast.parse(text)
            names = _imported(tree) | _constants(tree)
            calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
            found |= {kind for call in calls for kind in _kinds_of(call, names)}
    return found


def test_the_sources_give_every_kind_of_the_list_and_no_other() -> None:
    assert _kinds_in_sources() | OF_NO_READER == set(left_out_kinds())


def test_a_kind_that_is_not_listed_is_refused_and_so_are_other_values() -> None:
    with pytest.raises(PhraseError, match="of the kind 'confetti'"):
        LeftOut("confetti")
    with pytest.raises(PhraseError, match=r"takes the values \(name\)"):
        LeftOut("voice")
    with pytest.raises(PhraseError, match=r"takes the values \(none\)"):
        LeftOut("lyrics", values=(("name", "Ann"),))


def test_every_english_text_leads_back_to_its_kind() -> None:
    for kind, entry in left_out_kinds().items():
        values = tuple((gap, f"7{gap}") for gap in sorted(entry.gaps))
        one = LeftOut(kind, Place(bar=3), 2, values)
        assert left_out_of_text(one.what, Place(bar=3), 2) == one


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("left_out = 3", r"left_out\.toml, 'left_out': 3 is not an object"),
        ("[further]\na = 'x'", r"left_out\.toml, 'further'"),
        ("[left_out]\na = 3", r"left_out\.toml, 'left_out\.a': '3' is not a text"),
        ("[left_out]\na = '{Name}'", "not a text with gaps"),
        ("[left_out]\na = 'x'\n[doubtful]\na = 'y'", "twice"),
        ("[left_out]\na = 'x'", "'unlisted'"),
        ("[left_out", "not TOML"),
    ],
)
def test_a_list_that_does_not_hold_is_refused_by_name(text: str, says: str) -> None:
    with pytest.raises(SettingsError, match=says):
        parse_left_out_kinds(text)


def test_foreign_words_are_bounded_and_print_nothing_unseen() -> None:
    assert plain_text("a\x07b\u202ec\r\n\u2028d\x9b31m") == "a b c d 31m"
    assert len(plain_text("x" * 5000)) == 60
    assert plain_text("\x00" * 10) == ""


def test_data_hold_kind_values_and_the_english_text() -> None:
    one = LeftOut("voice", NOWHERE, 3, (("name", "alto"),))
    assert as_plain(Phrase((), left_out=(one,)))["left_out"] == [
        {"kind": "voice", "values": [["name", "alto"]], "what": "voice alto", "place": {}, "count": 3}
    ]
