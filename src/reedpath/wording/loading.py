"""Reading catalogues: from TOML text, checked by themselves and against the first one.

The English catalogue is the measure: every other has its keys and its gaps, no more and no fewer. So a new
language is a new file and no code.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
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


def _flat(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in table.items():
        key = f"{prefix}{name}"
        if is_message(value):
            yield key, value
        else:
            yield from _flat(value, f"{key}.")


class _MadeWhenAsked(Mapping[str, Message]):
    """Messages that are made when they are first asked for: a command says some twenty of a catalogue's 1,200."""

    def __init__(self, keys: Iterable[str], make: Callable[[str], Message]) -> None:
        self._made: dict[str, Message | None] = dict.fromkeys(keys)
        self._make = make

    def __getitem__(self, key: str) -> Message:
        made = self._made[key]
        if made is None:
            made = self._made[key] = self._make(key)
        return made

    def __contains__(self, key: object) -> bool:
        return key in self._made

    def __iter__(self) -> Iterator[str]:
        return iter(self._made)

    def __len__(self) -> int:
        return len(self._made)

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


def _hold_against(catalogue: Catalogue, reference: Catalogue) -> Catalogue:
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
    return replace(catalogue, messages=_MadeWhenAsked(own, lambda key: _hold_message(key, own[key], wanted[key])))


def _catalogue_of(data: Mapping[str, Any], name: str, reference: Catalogue | None) -> Catalogue:
    """The catalogue of a file's data, whose messages are checked one by one as they are asked for."""
    grammar = parse_grammar(data)
    spoken = dict(_flat({name: value for name, value in data.items() if name not in GRAMMAR_TABLES}))
    catalogue = Catalogue(name, grammar, _messages(spoken, grammar), next(iter(grammar.notes)))
    return catalogue if reference is None else _hold_against(catalogue, reference)


def parse_catalogue(text: str, *, name: str, reference: Catalogue | None = None) -> Catalogue:
    """Read a catalogue from the text of its file, and check all that it says.

    text : TOML.
    name : short name of the language, as the file is called.
    reference : the catalogue whose keys and gaps it must have; None for none.

    Raises `SettingsError`, naming the file, the key and the value at fault.
    """
    data = read_toml(text, dict[str, Any], file=f"{name}.toml")
    try:
        catalogue = _catalogue_of(data, name, reference)
        return replace(catalogue, messages=dict(catalogue.messages))
    except SettingsError as error:
        raise error.inside(Place(file=f"{name}.toml")) from None


def catalogue_names() -> tuple[str, ...]:
    """Names of the languages that ship, English first."""
    return tuple(sorted(shipped_names(PACKAGE, "."), key=lambda name: name != REFERENCE))


@cache
def _load_shipped(name: str) -> Catalogue:
    reference = None if name == REFERENCE else _load_shipped(REFERENCE)
    file = f"{name}.toml"
    return _catalogue_of(read_toml(shipped_text(PACKAGE, file), dict[str, Any], file=file), name, reference)


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
