"""Reading catalogues: from TOML text, checked by themselves and against the first one.

The English catalogue is the measure: every other has its keys and its gaps, no more and no fewer. So a new
language is a new file and no code.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

from msgspec.structs import replace

from reedpath.additions import added_names, added_text
from reedpath.data import read_toml, shipped_names, shipped_text
from reedpath.errors import Place, SettingsError, Term
from reedpath.wording.catalogue import Catalogue
from reedpath.wording.grammar import GRAMMAR_TABLES, Grammar, parse_grammar
from reedpath.wording.template import Message, is_message, parse_message

# the catalogue that all others are held against, and where they are
REFERENCE, PACKAGE = "en", "reedpath.wording"
# the head of a table, or of one inside it
_HEAD = re.compile(r"^\[+([a-z_]+)", re.MULTILINE)


def _flat(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in table.items():
        key = f"{prefix}{name}"
        if is_message(value):
            yield key, value
        else:
            yield from _flat(value, f"{key}.")


class _ReadWhenAsked(Mapping[str, Any]):
    """Values of messages of a file that ships, by dotted key; a table is read when a key of it is asked for."""

    def __init__(self, tables: Mapping[str, str], file: str) -> None:
        self._tables, self._file = tables, file
        self._read: dict[str, dict[str, Any]] = {}

    def _of_table(self, name: str) -> dict[str, Any]:
        if name not in self._read:
            data = read_toml(self._tables.get(name, ""), dict[str, Any], file=self._file)
            self._read[name] = dict(_flat(data))
        return self._read[name]

    def __getitem__(self, key: str) -> Any:
        return self._of_table(key.partition(".")[0])[key]

    def __iter__(self) -> Iterator[str]:
        for name in self._tables:
            yield from self._of_table(name)

    def __len__(self) -> int:
        return sum(len(self._of_table(name)) for name in self._tables)


class _MadeWhenAsked(Mapping[str, Message]):
    """Messages that are made when they are first asked for: a command says some twenty of a catalogue's 1,200."""

    def __init__(self, keys: Mapping[str, Any], make: Callable[[str], Message]) -> None:
        self._keys, self._make = keys, make
        self._made: dict[str, Message] = {}

    def __getitem__(self, key: str) -> Message:
        made = self._made.get(key)
        if made is None:
            made = self._made[key] = self._make(key)
        return made

    def __contains__(self, key: object) -> bool:
        return key in self._keys

    def __iter__(self) -> Iterator[str]:
        return iter(self._keys)

    def __len__(self) -> int:
        return len(self._keys)

    def __reduce__(self) -> tuple[type[dict[str, Message]], tuple[dict[str, Message]]]:
        return dict, (dict(self),)


def _messages(values: Mapping[str, Any], grammar: Grammar) -> Mapping[str, Message]:
    def make(key: str) -> Message:
        return parse_message(values[key], key=key, plural=grammar.plural, typeset=grammar.typeset)

    return _MadeWhenAsked(values, make)


def _named(gaps: frozenset[str]) -> list[str]:
    return [f"{{{gap}}}" for gap in sorted(gaps)] or [Term("no-gaps")]


def _hold_message(key: str, message: Message, wanted: Message) -> Message:
    """The message with the gaps of the reference; it must use those that every variant there uses."""
    text, place = message.variants[0]["other"], Place(field=key)
    if message.gaps - wanted.gaps:
        odd, known = _named(message.gaps - wanted.gaps), _named(wanted.gaps)
        raise SettingsError("wording.unknown_gaps", where=place, text=text, gaps=odd, known=known)
    lacking = wanted.needed - message.needed
    if lacking:
        raise SettingsError("wording.gaps_missing", where=place, text=text, gaps=_named(lacking))
    return replace(message, gaps=wanted.gaps)


def _check_keys(catalogue: Catalogue, reference: Catalogue) -> None:
    own, wanted = catalogue.messages, reference.messages
    for key in wanted:
        if key not in own:
            text = wanted[key].variants[0]["other"]
            raise SettingsError("wording.message_missing", where=Place(field=key), text=text)
    for key in own:
        if key not in wanted:
            text = own[key].variants[0]["other"]
            raise SettingsError("wording.message_unknown", where=Place(field=key), text=text)
    for kind in reference.grammar.ordinal_words:
        if kind not in catalogue.grammar.ordinal_words:
            raise SettingsError("wording.ordinals_missing", where=Place(field=f"ordinals.words.{kind}"))


def _held(catalogue: Catalogue, reference: Catalogue) -> Catalogue:
    """The catalogue, each of its messages held against that of the reference when it is asked for."""
    own, wanted = catalogue.messages, reference.messages
    return replace(catalogue, messages=_MadeWhenAsked(own, lambda key: _hold_message(key, own[key], wanted[key])))


def parse_catalogue(text: str, *, name: str, reference: Catalogue | None = None) -> Catalogue:
    """Read a catalogue from the text of its file, and check all that it says.

    text : TOML.
    name : short name of the language, as the file is called.
    reference : the catalogue whose keys and gaps it must have; None for none.

    Raises `SettingsError`, naming the file, the key and the value at fault.
    """
    data = read_toml(text, dict[str, Any], file=f"{name}.toml")
    try:
        grammar = parse_grammar(data)
        spoken = dict(_flat({name: value for name, value in data.items() if name not in GRAMMAR_TABLES}))
        catalogue = Catalogue(name, grammar, _messages(spoken, grammar), next(iter(grammar.notes)))
        if reference is not None:
            _check_keys(catalogue, reference)
            catalogue = _held(catalogue, reference)
        return replace(catalogue, messages=dict(catalogue.messages))
    except SettingsError as error:
        raise error.inside(Place(file=f"{name}.toml")) from None


def catalogue_names() -> tuple[str, ...]:
    """Names of the languages that ship, English first."""
    return tuple(sorted(shipped_names(PACKAGE, "."), key=lambda name: name != REFERENCE))


def _tables_of(text: str) -> dict[str, str]:
    """Text of each table of a file that ships, with those inside it; a line that begins with "[" begins a table."""
    heads = [*_HEAD.finditer(text)]
    ends = [*(head.start() for head in heads[1:]), len(text)]
    tables: dict[str, str] = {}
    for head, end in zip(heads, ends, strict=True):
        tables[head[1]] = tables.get(head[1], "") + text[head.start() : end]
    return tables


@cache
def _load_shipped(name: str) -> Catalogue:
    """A catalogue that ships: the tests check all of it, so that here only what is asked for is read."""
    file = f"{name}.toml"
    tables = _tables_of(shipped_text(PACKAGE, file))
    of_grammar = "".join(tables.pop(one, "") for one in GRAMMAR_TABLES)
    grammar = parse_grammar(read_toml(of_grammar, dict[str, Any], file=file))
    messages = _messages(_ReadWhenAsked(tables, file), grammar)
    catalogue = Catalogue(name, grammar, messages, next(iter(grammar.notes)))
    return catalogue if name == REFERENCE else _held(catalogue, _load_shipped(REFERENCE))


def load_catalogue(name: str, *, notes: str | None = None) -> Catalogue:
    """
    The catalogue of a language.

    name : short name of the language ("en", "fr").
    notes : how to name notes, one of the language's ways (French: "letters" or "solfege"); None for its custom.

    Raises `SettingsError`: no such language, no such way to name notes, or an added catalogue that does not hold.

    >>> load_catalogue("en").say("breath.blow")
    'blow'
    """
    if name in catalogue_names():
        catalogue = _load_shipped(name)
    elif (added := added_text("languages", name)) is not None:
        catalogue = parse_catalogue(added, name=name, reference=_load_shipped(REFERENCE))
    else:
        known = sorted({*catalogue_names(), *added_names("languages")})
        raise SettingsError("wording.unknown_language", name=name, known=known)
    return catalogue if notes is None else catalogue.with_notes(notes)


# what the studio says: a folder for each language, a file for each screen
STUDIO = "studio"


@cache
def _studio_messages(name: str) -> Mapping[str, Message]:
    """The studio's messages in a shipped language, by ``screen.key``."""
    grammar, folder = _load_shipped(name).grammar, f"{STUDIO}/{name}"
    said: dict[str, Message] = {}
    for screen in shipped_names(PACKAGE, folder):
        file = f"{folder}/{screen}.toml"
        table = read_toml(shipped_text(PACKAGE, file), dict[str, Any], file=file)
        said |= _messages(dict(_flat(table, f"{screen}.")), grammar)
    if name == REFERENCE:
        return said
    wanted = _studio_messages(REFERENCE)
    own = {key: _hold_message(key, said[key], message) for key, message in wanted.items() if key in said}
    return {**wanted, **own}


@cache
def _all_messages(name: str) -> Mapping[str, Message]:
    return {**_load_shipped(name).messages, **_studio_messages(name)}


def load_studio_catalogue(name: str, *, notes: str | None = None) -> Catalogue:
    """
    The catalogue of a language with what the studio says too; in English where a language has no words for that.

    >>> load_studio_catalogue("fr").say("studio.undo")
    'Défaire'
    """
    catalogue = load_catalogue(name, notes=notes)
    if name in catalogue_names():
        return replace(catalogue, messages=_all_messages(name))
    return replace(catalogue, messages={**catalogue.messages, **_studio_messages(REFERENCE)})
