"""Reading catalogues: from TOML text, checked by themselves and against the first one.

The English catalogue is the measure: every other has its keys and its gaps, no more and no fewer. So a new
language is a new file and no code.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from msgspec.structs import replace

from reedpath.additions import added_names, added_text
from reedpath.data import read_toml
from reedpath.errors import Place, SettingsError, Term
from reedpath.wording.catalogue import Catalogue
from reedpath.wording.grammar import GRAMMAR_TABLES, Grammar, parse_grammar
from reedpath.wording.template import Message, is_message, parse_message

__all__ = ["catalogue_names", "load_catalogue", "load_studio_catalogue", "parse_catalogue", "studio_screens"]

# the catalogue that all others are held against
REFERENCE = "en"


def _flat(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in table.items():
        key = f"{prefix}{name}"
        if is_message(value):
            yield key, value
        else:
            yield from _flat(value, f"{key}.")


def _messages(data: dict[str, Any], grammar: Grammar) -> dict[str, Message]:
    spoken = {name: value for name, value in data.items() if name not in GRAMMAR_TABLES}
    return {
        key: parse_message(value, key=key, plural=grammar.plural, typeset=grammar.typeset)
        for key, value in _flat(spoken)
    }


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
    for key, message in reference.messages.items():
        if key not in catalogue.messages:
            text = message.variants[0]["other"]
            raise SettingsError("wording.message_missing", where=Place(field=key), text=text)
    for key, message in catalogue.messages.items():
        if key not in reference.messages:
            text = message.variants[0]["other"]
            raise SettingsError("wording.message_unknown", where=Place(field=key), text=text)
    for kind in reference.grammar.ordinal_words:
        if kind not in catalogue.grammar.ordinal_words:
            raise SettingsError("wording.ordinals_missing", where=Place(field=f"ordinals.words.{kind}"))
    held = {key: _hold_message(key, one, reference.messages[key]) for key, one in catalogue.messages.items()}
    return replace(catalogue, messages=held)


def parse_catalogue(text: str, *, name: str, reference: Catalogue | None = None) -> Catalogue:
    """Read a catalogue from the text of its file.

    text : TOML.
    name : short name of the language, as the file is called.
    reference : the catalogue whose keys and gaps it must have; None for none.

    Raises `SettingsError`, naming the file, the key and the value at fault.
    """
    file = f"{name}.toml"
    data = read_toml(text, dict[str, Any], file=file)
    try:
        grammar = parse_grammar(data)
        catalogue = Catalogue(name, grammar, _messages(data, grammar), next(iter(grammar.notes)))
        return catalogue if reference is None else _hold_against(catalogue, reference)
    except SettingsError as error:
        raise error.inside(Place(file=file)) from None


def _shipped_folder() -> Traversable:
    return files("reedpath.wording")


def _file_names(folder: Traversable) -> list[str]:
    """Names, without their ending, of the TOML files in a folder."""
    names = (entry.name for entry in folder.iterdir())
    return sorted(name.removesuffix(".toml") for name in names if name.endswith(".toml"))


def _catalogue_text(folder: Traversable, name: str) -> str:
    return (folder / f"{name}.toml").read_text(encoding="utf-8")


def catalogue_names(folder: Traversable | None = None) -> tuple[str, ...]:
    """Names of the languages in a folder of catalogues (the shipped ones by default), English first."""
    return tuple(sorted(_file_names(folder or _shipped_folder()), key=lambda name: name != REFERENCE))


@cache
def _load_shipped(name: str) -> Catalogue:
    text = _catalogue_text(_shipped_folder(), name)
    return parse_catalogue(text, name=name, reference=None if name == REFERENCE else _load_shipped(REFERENCE))


def load_catalogue(name: str, *, notes: str | None = None, folder: Traversable | None = None) -> Catalogue:
    """
    The catalogue of a language.

    name : short name of the language ("en", "fr").
    notes : how to name notes, one of the language's ways (French: "letters" or "solfege"); None for its custom.
    folder : where to look first for a catalogue of that name, before the shipped ones.

    Raises `SettingsError`: no such language, no such way to name notes, or a catalogue that does not hold.

    >>> load_catalogue("en").say("breath.blow")
    'blow'
    """
    if folder is not None and name in catalogue_names(folder):
        text = _catalogue_text(folder, name)
        catalogue = parse_catalogue(text, name=name, reference=_load_shipped(REFERENCE))
    elif name in catalogue_names():
        catalogue = _load_shipped(name)
    elif folder is None and (added := added_text("languages", name)) is not None:
        catalogue = parse_catalogue(added, name=name, reference=_load_shipped(REFERENCE))
    else:
        known = sorted({*catalogue_names(), *(catalogue_names(folder) if folder else added_names("languages"))})
        raise SettingsError("wording.unknown_language", name=name, known=known)
    return catalogue if notes is None else catalogue.with_notes(notes)


# what the studio says: a folder for each language, a file for each screen
STUDIO = "studio"


def studio_screens() -> tuple[str, ...]:
    """Names of the screens that have words."""
    return tuple(_file_names(_shipped_folder() / STUDIO / REFERENCE))


@cache
def _studio_messages(name: str) -> Mapping[str, Message]:
    """The studio's messages in a shipped language, by ``screen.key``."""
    grammar, folder = _load_shipped(name).grammar, _shipped_folder() / STUDIO / name
    said: dict[str, Message] = {}
    for screen in _file_names(folder):
        file = f"{STUDIO}/{name}/{screen}.toml"
        table = read_toml((folder / f"{screen}.toml").read_text(encoding="utf-8"), dict[str, Any], file=file)
        for key, value in _flat(table, f"{screen}."):
            said[key] = parse_message(value, key=key, plural=grammar.plural, typeset=grammar.typeset)
    if name == REFERENCE:
        return said
    wanted = _studio_messages(REFERENCE)
    own = {key: _hold_message(key, said[key], message) for key, message in wanted.items() if key in said}
    return {**wanted, **own}


def load_studio_catalogue(name: str, *, notes: str | None = None) -> Catalogue:
    """
    The catalogue of a language with what the studio says too; in English where a language has no words for that.

    >>> load_studio_catalogue("fr").say("studio.undo")
    'Défaire'
    """
    catalogue = load_catalogue(name, notes=notes)
    spoken = _studio_messages(name if (_shipped_folder() / STUDIO / name).is_dir() else REFERENCE)
    return replace(catalogue, messages={**catalogue.messages, **spoken})
