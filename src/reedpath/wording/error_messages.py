"""Errors and places in the language of a catalogue, from the files in ``errors``, one folder for each language.

They have the keys and the gaps of the English ones (`reedpath.errors`), which are told where a language has none.
Read only when there is an error to tell.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cache

from reedpath.data import shipped_folder
from reedpath.errors import Clause, Place, ReedpathError, Term
from reedpath.errors.english import (
    ErrorMessage,
    Value,
    english_message,
    fill_gaps,
    in_english,
    parse_messages,
    place_pieces,
)
from reedpath.wording.catalogue import Catalogue
from reedpath.wording.grammar import NARROW_SPACE


@cache
def _own_messages(language: str, room: str) -> Mapping[str, ErrorMessage]:
    path = shipped_folder("reedpath.wording") / "errors" / language / f"{room}.toml"
    return parse_messages(path.read_text(encoding="utf-8")) if path.is_file() else {}


def _message(key: str, catalogue: Catalogue) -> ErrorMessage:
    room, _, name = key.partition(".")
    own = _own_messages(catalogue.name, room).get(name)
    if own is None:
        return english_message(key)
    return ErrorMessage(catalogue.grammar.typeset(own.says), catalogue.grammar.typeset(own.hint))


def _filled(text: str, values: Mapping[str, Value], catalogue: Catalogue) -> str:
    return fill_gaps(text, values, lambda value: _value_words(value, catalogue))


def _value_words(value: Value, catalogue: Catalogue) -> str:
    """What closes a gap: terms and places in words, numbers as the language writes them, foreign text as it is."""
    if isinstance(value, Term):
        return _message(f"word.{value}", catalogue).says
    if isinstance(value, Clause):
        return _filled(_message(value.key, catalogue).says, value.values, catalogue)
    if isinstance(value, Place):
        return place_words(value, catalogue)
    if isinstance(value, str) or catalogue.grammar.decimal == ".":
        return in_english(value)
    if isinstance(value, float):
        return catalogue.number(value)
    if isinstance(value, int | Fraction):
        return in_english(value).replace(",", NARROW_SPACE).replace("-", "−")
    return ", ".join(_value_words(one, catalogue) for one in value) or _message("word.none", catalogue).says


def place_words(place: Place, catalogue: Catalogue) -> str:
    """
    A place of a source or a file, the widest thing first.

    >>> from reedpath.wording import load_catalogue
    >>> place_words(Place(bar=3, line=7), load_catalogue("fr"))
    'mesure 3, ligne 7'
    """
    pieces = place_pieces(place)
    return ", ".join(_filled(_message(key, catalogue).says, values, catalogue) for key, values in pieces)


def error_words(error: ReedpathError, catalogue: Catalogue) -> str:
    """
    What is wrong, after the place where it is.

    >>> from reedpath.errors import ReadError
    >>> from reedpath.wording import load_catalogue
    >>> error_words(ReadError("readers.empty", where=Place(line=3)), load_catalogue("en"))
    'line 3: the source is empty'
    """
    says = _filled(_message(error.key, catalogue).says, error.values, catalogue)
    where = place_words(error.where, catalogue)
    return fill_gaps(_message("place.before", catalogue).says, {"place": where, "says": says}, str) if where else says


def error_hint(error: ReedpathError, catalogue: Catalogue) -> str | None:
    """What to do about it, None where there is no word on that."""
    return _filled(_message(error.key, catalogue).hint, error.values, catalogue) or None
