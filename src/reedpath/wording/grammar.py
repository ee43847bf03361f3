"""The grammar of a language, as data: its plurals, ordinals, numbers, lists, note names and typography."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from reedpath.errors import SettingsError
from reedpath.wording.plurals import PluralRules, parse_plural_rules

__all__ = ["GRAMMAR_TABLES", "Grammar", "NoteNames", "parse_grammar"]

# tables of a catalogue that hold its grammar; all others hold messages
GRAMMAR_TABLES = ("language", "plural", "ordinals", "numbers", "lists", "notes", "typography")

# space that does not break a line and is narrower than a word space; Unicode U+202F
NARROW_SPACE = "\u202f"


@dataclass(frozen=True, slots=True)
class NoteNames:
    """One way to name notes in a language.

    major : twelve names, from C; also the names of major keys and of single notes.
    minor : twelve names in the names of minor keys, where they differ ("a-Moll").
    spoken : twelve names as they are said ("B flat"), where they differ.
    harp : twelve names of harps, where they differ: a harp is stamped with a letter.
    octave_shift : what to add to the octave number of middle C = C4.
    octave_mark : how note and octave are put together, with the gaps {note} and {octave}.
    """

    major: tuple[str, ...]
    minor: tuple[str, ...]
    spoken: tuple[str, ...]
    harp: tuple[str, ...]
    octave_shift: int = 0
    octave_mark: str = "{note}{octave}"


@dataclass(frozen=True, slots=True)
class Grammar:
    """What a language needs beside its messages.

    title : the language's name in itself.
    plural, ordinal : rules for the forms beside a number, and beside a number in a row.
    ordinal_marks : text of an ordinal by its form, with the gap {n} ("{n}th").
    ordinal_words : for a kind of thing, first to n-th in words ("the second part").
    ordinal_beyond : for a kind of thing, the text after those, with the gap {ordinal} or {n}.
    decimal : decimal sign.
    number_words : zero, one, two, ... as said.
    lists : for "and" and "or", texts with the gaps {a} and {b}: two things, the middle ones, the last ones.
    notes : ways to name notes, the customary one first.
    narrow_before, narrow_after : signs that take a narrow space in place of a space before, or after, them.
    apostrophe, quotes : the language's own signs.
    """

    title: str
    plural: PluralRules
    ordinal: PluralRules
    ordinal_marks: Mapping[str, str]
    ordinal_words: Mapping[str, tuple[str, ...]]
    ordinal_beyond: Mapping[str, str]
    decimal: str
    number_words: tuple[str, ...]
    lists: Mapping[str, Mapping[str, str]]
    notes: Mapping[str, NoteNames]
    narrow_before: str = ""
    narrow_after: str = ""
    apostrophe: str = "’"

    def typeset(self, text: str) -> str:
        """The text with the language's own apostrophes and spaces."""
        text = text.replace("'", self.apostrophe)
        if self.narrow_before:
            text = re.sub(rf"[ \u00a0](?=[{re.escape(self.narrow_before)}])", NARROW_SPACE, text)
        if self.narrow_after:
            text = re.sub(rf"(?<=[{re.escape(self.narrow_after)}])[ \u00a0]", NARROW_SPACE, text)
        return text


class _Table:
    """A table of a catalogue that gives its entries or an error that names key and value."""

    def __init__(self, data: object, key: str) -> None:
        if not isinstance(data, dict):
            raise SettingsError(f"{data!r} is not a table", where=f"key '{key}'")
        self.data: dict[str, Any] = data
        self.key = key

    def refuse_others(self, *allowed: str) -> None:
        for name in self.data:
            if name not in allowed:
                raise SettingsError(
                    f"unknown key {name!r}", where=f"key '{self.key}'", hint=f"use {', '.join(allowed)}"
                )

    def text(self, name: str, default: str | None = None) -> str:
        value = self.data.get(name, default)
        if not isinstance(value, str):
            raise SettingsError(f"{value!r} is not a text", where=f"key '{self.key}.{name}'")
        return value

    def texts(self, name: str, *, count: int | None = None, default: tuple[str, ...] = ()) -> tuple[str, ...]:
        value = self.data.get(name, list(default))
        if not isinstance(value, list) or not value or not all(isinstance(one, str) for one in value):
            raise SettingsError(f"{value!r} is not a list of texts", where=f"key '{self.key}.{name}'")
        if count is not None and len(value) != count:
            raise SettingsError(f"{len(value)} names, not {count}", where=f"key '{self.key}.{name}'")
        return tuple(value)

    def table(self, name: str) -> _Table:
        return _Table(self.data.get(name), f"{self.key}.{name}")


def _notes(data: _Table) -> dict[str, NoteNames]:
    notes = {}
    for name in data.data:
        table = data.table(name)
        table.refuse_others("major", "minor", "spoken", "harp", "octave_shift", "octave_mark")
        major = table.texts("major", count=12)
        shift = table.data.get("octave_shift", 0)
        if not isinstance(shift, int):
            raise SettingsError(f"{shift!r} is not a whole number", where=f"key '{table.key}.octave_shift'")
        notes[name] = NoteNames(
            major,
            table.texts("minor", count=12, default=major),
            table.texts("spoken", count=12, default=major),
            table.texts("harp", count=12, default=major),
            shift,
            table.text("octave_mark", "{note}{octave}"),
        )
    if not notes:
        raise SettingsError("no way to name notes is given", where="key 'notes'")
    return notes


def _ordinal_marks(ordinals: _Table, rules: PluralRules) -> dict[str, str]:
    marks = ordinals.table("marks")
    marks.refuse_others(*rules.forms)
    return {form: marks.text(form) for form in rules.forms}


def parse_grammar(data: dict[str, Any]) -> Grammar:
    """Read a catalogue's grammar from its tables; errors name the key and the value."""
    top = {name: _Table(data.get(name, {} if name == "typography" else None), name) for name in GRAMMAR_TABLES}
    top["language"].refuse_others("title")
    top["numbers"].refuse_others("decimal", "words")
    top["lists"].refuse_others("and", "or")
    top["typography"].refuse_others("narrow_before", "narrow_after", "apostrophe")
    ordinals = top["ordinals"]
    ordinals.refuse_others("rules", "marks", "words", "beyond")
    words = ordinals.table("words")
    rules = parse_plural_rules(ordinals.table("rules").data, where="ordinals.rules")
    lists = {kind: top["lists"].table(kind) for kind in ("and", "or")}
    typography = top["typography"]
    grammar = Grammar(
        title=top["language"].text("title"),
        plural=parse_plural_rules(top["plural"].data),
        ordinal=rules,
        ordinal_marks=_ordinal_marks(ordinals, rules),
        ordinal_words={kind: words.texts(kind) for kind in words.data},
        ordinal_beyond={kind: ordinals.table("beyond").text(kind) for kind in words.data},
        decimal=top["numbers"].text("decimal"),
        number_words=top["numbers"].texts("words"),
        lists={kind: {name: table.text(name) for name in ("two", "middle", "last")} for kind, table in lists.items()},
        notes=_notes(top["notes"]),
        narrow_before=typography.text("narrow_before", ""),
        narrow_after=typography.text("narrow_after", ""),
        apostrophe=typography.text("apostrophe", "’"),
    )
    return grammar
